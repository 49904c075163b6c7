/* read_derive.c - what an inspection.json may leave out, from what it holds. */
#include "report/inspection/read.h"

#include <math.h>

/* A turn of a hundredth leaves a hundredth of the error each round: this many leave less than the file's own rounding.
 */
enum { ROUNDS = 4 };

/* Outward normal of a side of a square turned by t; the way along it from its north or west end. */
static sw_point outward(int side, double t)
{
    double a = t + (side == SW_EAST ? 0 : side == SW_NORTH ? M_PI / 2 : side == SW_WEST ? M_PI : -M_PI / 2);
    return (sw_point){cos(a), sin(a)};
}

static sw_point along(int side, double t)
{
    int level = side == SW_NORTH || side == SW_SOUTH;
    return level ? (sw_point){cos(t), sin(t)} : (sw_point){sin(t), -cos(t)};
}

/* The corner at an edge's north or west end. */
static int start_corner(int side)
{
    return side == SW_NORTH || side == SW_WEST ? SW_NW : side == SW_EAST ? SW_NE : SW_SW;
}

static int end_corner(int side)
{
    return side == SW_NORTH ? SW_NE : side == SW_WEST ? SW_SW : SW_SE;
}

/* How proud the edge is at its place nearest to an end; 0 when nothing was seen. */
static double proud_at_end(const sw_edge *edge, int end)
{
    for (size_t k = 0; k < edge->point_count; k++) {
        const sw_rim_point *p = &edge->points[end ? edge->point_count - 1 - k : k];
        if (p->state == SW_STATION_OK || p->state == SW_STATION_END)
            return p->proud_mm;
    }
    return 0;
}

/* Distance of an edge's end from the square's middle, across the edge, less what the edge is proud there: half the
 * square's side, if the square is the right one. */
static double reach(const sw_tile *tile, int side, int end)
{
    sw_point n = outward(side, tile->turn_rad), p = tile->corners[end ? end_corner(side) : start_corner(side)].mm;
    return n.x * (p.x - tile->centre_mm.x) + n.y * (p.y - tile->centre_mm.y) - proud_at_end(&tile->edges[side], end);
}

void sw_read_derive_square(sw_tile *tile)
{
    const sw_corner *c = tile->corners;
    sw_point ns = {c[SW_NE].mm.x - c[SW_NW].mm.x + c[SW_SE].mm.x - c[SW_SW].mm.x,
                   c[SW_NE].mm.y - c[SW_NW].mm.y + c[SW_SE].mm.y - c[SW_SW].mm.y};
    tile->centre_mm = (sw_point){0, 0};
    for (int i = 0; i < 4; i++) {
        tile->centre_mm.x += c[i].mm.x / 4;
        tile->centre_mm.y += c[i].mm.y / 4;
    }
    tile->turn_rad = atan2(ns.y, ns.x);
    tile->side_mm = 0;
    /* Eight reaches, four unknowns, all small: rounds of least squares, each in closed form as the four sides are
     * square to each other. */
    for (int round = 0; round < ROUNDS; round++) {
        double mean[4], turn = 0;
        tile->side_mm = 0;
        for (int s = 0; s < 4; s++) {
            double from = reach(tile, s, 0), to = reach(tile, s, 1);
            int counter = s == SW_NORTH || s == SW_EAST; /* a square turned counter-clockwise has this end outward */
            mean[s] = (from + to) / 2;
            turn += (counter ? to - from : from - to) / 4;
            tile->side_mm += mean[s] / 2;
        }
        for (int s = 0; s < 4; s++) {
            sw_point n = outward(s, tile->turn_rad);
            tile->centre_mm.x += n.x * mean[s] / 2;
            tile->centre_mm.y += n.y * mean[s] / 2;
        }
        tile->turn_rad += turn / tile->side_mm; /* a side that rises counter-clockwise wants the square turned so */
    }
}

void sw_read_derive_places(sw_tile *tile)
{
    for (int s = 0; s < 4; s++) {
        sw_point n = outward(s, tile->turn_rad), u = along(s, tile->turn_rad),
                 start = tile->corners[start_corner(s)].mm;
        double from = u.x * (start.x - tile->centre_mm.x) + u.y * (start.y - tile->centre_mm.y);
        for (size_t i = 0; i < tile->edges[s].point_count; i++) {
            sw_rim_point *p = &tile->edges[s].points[i];
            double far = tile->side_mm / 2 + p->proud_mm, at = from + p->at_mm; /* NaN where it was not seen */
            p->mm = (sw_point){tile->centre_mm.x + n.x * far + u.x * at, tile->centre_mm.y + n.y * far + u.y * at};
        }
    }
}

static sw_point middle(sw_point a, sw_point b)
{
    return (sw_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
}

void sw_read_derive_ends(const sw_inspection *ins, sw_seam *seam)
{
    const sw_corner *a = ins->tiles[seam->first].corners, *b = ins->tiles[seam->second].corners;
    seam->start_mm = middle(a[seam->upright ? SW_NE : SW_SW].mm, b[SW_NW].mm);
    seam->end_mm = middle(a[SW_SE].mm, b[seam->upright ? SW_SW : SW_NE].mm);
}
