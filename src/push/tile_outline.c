#include "push/tile_outline.h"

#include <stdlib.h>

/* The place where a tile of the first inspection lies, and how it is turned there; -1 when it does not. */
static int place_of(const sw_layout *layout, int tile, int *turns)
{
    *turns = 0;
    if (!layout)
        return tile;
    for (int p = 0; p < layout->columns * layout->rows; p++)
        if (layout->places[p].tile == tile) {
            *turns = layout->places[p].turns;
            return p;
        }
    return -1;
}

sw_status sw_tile_outline(const sw_inspection *inspections, size_t count, const sw_layout *layouts, int tile,
                          sw_outline *mean, sw_error *err)
{
    sw_outline *all = calloc(count, sizeof *all);
    int *turns = calloc(count, sizeof *turns);
    size_t n = 0;
    sw_status status =
        all && turns ? SW_OK : sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    for (size_t k = 0; k < count && !status; k++) {
        int place = place_of(layouts ? &layouts[k] : NULL, tile, &turns[n]);
        if (place >= 0)
            status = sw_outline_make(&inspections[k].tiles[place], &all[n++], err);
    }
    if (!status)
        status = sw_outline_mean(all, turns, n, mean, err);
    for (size_t k = 0; k < n; k++)
        sw_outline_free(&all[k]);
    free(all);
    free(turns);
    return status;
}
