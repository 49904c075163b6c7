#include "inspection/tiles_size.h"

#include <math.h>
#include <stdlib.h>

/* Tiles that measure further than this off the size told are not of that size. */
static const double SIZE_OFF = 0.015;

static int by_length(const void *a, const void *b)
{
    double x = (*(const sw_edge *const *)a)->length_mm, y = (*(const sw_edge *const *)b)->length_mm;
    return (x > y) - (x < y);
}

double sw_tiles_size(const sw_inspection *ins, double *u95_mm)
{
    enum { SIDES = 4 };
    const sw_edge **edges = malloc((ins->tile_count * SIDES + 1) * sizeof *edges);
    size_t n = 0;
    double size = NAN, u95 = NAN;
    for (size_t i = 0; edges && i < ins->tile_count; i++)
        for (int k = 0; k < SIDES; k++)
            if (isfinite(ins->tiles[i].edges[k].length_mm))
                edges[n++] = &ins->tiles[i].edges[k];
    if (n) {
        qsort(edges, n, sizeof *edges, by_length);
        size = edges[n / 2]->length_mm;
        u95 = edges[n / 2]->length_u95_mm;
    }
    free(edges);
    if (u95_mm)
        *u95_mm = u95;
    return size;
}

double sw_tiles_size_off(const sw_inspection *ins)
{
    double told = ins->table.tile_mm, u95, size = sw_tiles_size(ins, &u95), off = size / told - 1;
    return ins->table.tile_given && fabs(off) > fmax(SIZE_OFF, u95 / told) ? off : 0;
}
