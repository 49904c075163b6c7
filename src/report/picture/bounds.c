#include <math.h>

#include "report/picture/picture.h"

static void take_in(sw_bounds *around, sw_point mm)
{
    if (!isfinite(mm.x) || !isfinite(mm.y))
        return;
    around->west_mm = fmin(around->west_mm, mm.x);
    around->east_mm = fmax(around->east_mm, mm.x);
    around->south_mm = fmin(around->south_mm, mm.y);
    around->north_mm = fmax(around->north_mm, mm.y);
}

sw_status sw_bounds_of(const sw_inspection *inspection, const char *path, sw_bounds *bounds, sw_error *err)
{
    *bounds = (sw_bounds){INFINITY, -INFINITY, INFINITY, -INFINITY};
    for (size_t i = 0; i < inspection->tile_count; i++)
        for (int k = 0; k < 4; k++)
            take_in(bounds, inspection->tiles[i].corners[k].mm);
    for (size_t i = 0; i < inspection->seam_count; i++) {
        take_in(bounds, inspection->seams[i].start_mm);
        take_in(bounds, inspection->seams[i].end_mm);
    }
    if (!isfinite(bounds->east_mm - bounds->west_mm) || !(inspection->table.tile_mm > 0))
        return sw_fail(err, SW_BAD_INPUT, "%s: there is no table to draw; inspect a photo first", path);
    return SW_OK;
}
