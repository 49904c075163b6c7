#include "push/same_tiles.h"

#include <math.h>

/* Tiles of one set differ by cutting and by the scale of two photos, not by more than this share. */
static const double SIZE_SHARE = 0.02;

sw_status sw_same_tiles(const sw_inspection *inspections, size_t count, const sw_layout *layouts, sw_error *err)
{
    const sw_inspection *first = inspections;
    if (count < 1 || (count > 1 && !layouts))
        return sw_fail(err, SW_BAD_INPUT, "several inspections need to be told how the tiles lay in each");
    for (size_t k = 0; k < count; k++) {
        const sw_inspection *ins = &inspections[k];
        const sw_table *table = &ins->table;
        int columns = layouts ? layouts[k].columns : table->columns, rows = layouts ? layouts[k].rows : table->rows;
        if (ins->tile_count != first->tile_count || (size_t)table->columns * (size_t)table->rows != ins->tile_count)
            return sw_fail(err, SW_BAD_INPUT,
                           "inspection %zu (%s) shows %zu tiles, the first %zu; all must show the same tiles", k + 1,
                           ins->file, ins->tile_count, first->tile_count);
        if (columns != table->columns || rows != table->rows)
            return sw_fail(err, SW_BAD_INPUT,
                           "inspection %zu (%s) shows %d x %d tiles, its layout has %d x %d; correct --layout", k + 1,
                           ins->file, table->columns, table->rows, columns, rows);
        if (fabs(table->tile_mm - first->table.tile_mm) > SIZE_SHARE * first->table.tile_mm)
            return sw_fail(
                err, SW_BAD_INPUT,
                "inspection %zu (%s) shows tiles of %.0f mm, the first of %.0f mm; all must show the same tiles", k + 1,
                ins->file, table->tile_mm, first->table.tile_mm);
    }
    return SW_OK;
}
