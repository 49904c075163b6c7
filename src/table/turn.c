#include "table/turn.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* |cos| for strokes of a side that may still stand turned by two degrees and be ragged. */
static const double NEARLY_TURNED = 0.97;

/* Sums of a straight line through the strokes of one side. */
typedef struct slope_sums {
    double n, s, a, ss, sa; /* s along the side, a across */
} slope_sums;

static void add_slope(slope_sums *sums, double along, double across, double w)
{
    sums->n += w;
    sums->s += w * along;
    sums->a += w * across;
    sums->ss += w * along * along;
    sums->sa += w * along * across;
}

/* Which of the lines v[0..n] (rising or falling) a coordinate belongs to: nearest line within reach, else -1. */
static int nearest_line(const double *v, int n, double at, double reach)
{
    for (int i = 0; i <= n; i++)
        if (fabs(v[i] - at) < reach)
            return i;
    return -1;
}

static int cell_of(const double *v, int n, double at)
{
    for (int i = 0; i < n; i++)
        if ((at - v[i]) * (at - v[i + 1]) < 0)
            return i;
    return -1;
}

double sw_leftover_turn(const sw_strokes *strokes, const sw_block *b, double reach)
{
    enum { SIDES = (SW_GRID_MOST + 1) * SW_GRID_MOST };
    slope_sums *sums = calloc((size_t)SIDES * 2, sizeof *sums);
    double turn = 0, weight = 0;
    if (!sums)
        return 0;
    for (size_t k = 0; k < strokes->count; k++) {
        const sw_stroke *p = &strokes->items[k];
        bool upright = fabsf(p->gx) > NEARLY_TURNED;
        if (!upright && fabsf(p->gy) <= NEARLY_TURNED)
            continue;
        int line = upright ? nearest_line(b->x, b->columns, p->x, reach) : nearest_line(b->y, b->rows, p->y, reach);
        int cell = upright ? cell_of(b->y, b->rows, p->y) : cell_of(b->x, b->columns, p->x);
        if (line < 0 || cell < 0)
            continue;
        slope_sums *to = &sums[(upright ? 0 : SIDES) + line * SW_GRID_MOST + cell];
        add_slope(to, upright ? p->y : p->x, upright ? p->x : p->y, p->weight);
    }
    for (int k = 0; k < 2 * SIDES; k++) {
        const slope_sums *t = &sums[k];
        double ss = t->n > 10 ? t->ss - t->s * t->s / t->n : 0;
        if (ss <= 0)
            continue;
        double slope = (t->sa - t->s * t->a / t->n) / ss;
        turn += (k < SIDES ? -slope : slope) * ss;
        weight += ss;
    }
    free(sums);
    return weight > 0 ? turn / weight : 0;
}
