#include "support/made/judge_corners.h"

#include <math.h>

/* Corners that overlap by less are let be, mm. */
static const double LITTLE_MM = 0.002;

judge_corners judge_corners_of(const made_table *table)
{
    judge_corners all = {0};
    for (int r = 0; r + 1 < table->rows; r++)
        for (int c = 0; c + 1 < table->columns && all.count + 2 <= JUDGE_CORNERS; c++) {
            int nw = r * table->columns + c, sw = nw + table->columns;
            all.list[all.count++] = (judge_corner){nw, sw + 1, 1, JUDGE_NO_WAY};
            all.list[all.count++] = (judge_corner){nw + 1, sw, -1, JUDGE_NO_WAY};
        }
    return all;
}

static void meet(const made_table *table, const judge_corner *k, sw_point *p, sw_point *q)
{
    *p = made_corner(&table->tiles[k->upper], k->east > 0 ? SW_SE : SW_SW);
    *q = made_corner(&table->tiles[k->lower], k->east > 0 ? SW_NW : SW_NE);
}

int judge_corners_choose(const made_table *table, judge_corners *corners)
{
    int chosen = 0;
    for (int i = 0; i < corners->count; i++) {
        judge_corner *k = &corners->list[i];
        sw_point p, q;
        meet(table, k, &p, &q);
        double by_x = (p.x - q.x) * k->east, by_y = q.y - p.y;
        if (k->way != JUDGE_NO_WAY || fmin(by_x, by_y) <= LITTLE_MM)
            continue;
        k->way = by_x < by_y ? JUDGE_BY_X : JUDGE_BY_Y;
        chosen++;
    }
    return chosen;
}

double judge_corner_reach(const made_table *table, const judge_corner *k, double slope[6])
{
    const made_tile *a = &table->tiles[k->upper], *b = &table->tiles[k->lower];
    sw_point p, q;
    meet(table, k, &p, &q);
    int by_x = k->way == JUDGE_BY_X;
    double sign = by_x ? k->east : -1;
    slope[0] = by_x ? sign : 0;
    slope[1] = by_x ? 0 : sign;
    slope[2] = sign * (by_x ? a->y_mm - p.y : p.x - a->x_mm);
    slope[3] = -slope[0];
    slope[4] = -slope[1];
    slope[5] = -sign * (by_x ? b->y_mm - q.y : q.x - b->x_mm);
    return by_x ? (p.x - q.x) * k->east : q.y - p.y;
}

sw_side judge_corner_edge(const judge_corner *k, int lower, int *last)
{
    int east = k->east > 0;
    if (k->way == JUDGE_BY_X) {
        *last = !lower;
        return east != lower ? SW_EAST : SW_WEST;
    }
    *last = east != lower;
    return lower ? SW_NORTH : SW_SOUTH;
}
