#include "tops/view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scale/frame.h"

/* Rims near a corner are disturbed by the crossing seam; the rest of an edge is divided into knots, each the middle of a straight
 * piece. mm. */
static const double END_MM = 12;
/* A knot rests on at least so many places. */
enum { PLACES_LEAST = 8 };
/* How well one photo tells a whole rim, mm: one that ends in the dark of a gap, and one below which the camera sees the
 * wall (variety study: rims of one photo). A photo's rim errs all along alike. */
static const double RIM_NEAR_U_MM = 0.04, RIM_FAR_U_MM = 0.1;

/* A straight piece of a rim, from one place of the mm frame to another: its middle and its slope. */
static bool piece_middle(const sw_track *t, int rim, bool level, double from, double to, sw_point *middle,
                         double *slope)
{
    double n = 0, a = 0, c = 0, aa = 0, ac = 0;
    for (int i = 0; i < t->count; i++) {
        const sw_track_point *p = &t->points[i];
        if (!p->seen || p->chip[rim] || !isfinite(p->across[rim]))
            continue;
        sw_point mm = sw_track_mm(t, i, rim);
        double along = level ? mm.x : mm.y, across = level ? mm.y : mm.x;
        if (!(along > from && along < to))
            continue;
        n++;
        a += along;
        c += across;
        aa += along * along;
        ac += along * across;
    }
    double spread = aa - a * a / n;
    if (n < PLACES_LEAST || !(spread > 0))
        return false;
    *middle = level ? (sw_point){a / n, c / n} : (sw_point){c / n, a / n};
    *slope = (ac - a * c / n) / spread;
    return true;
}

/* Where the sight line through a place of a top meets the mm frame's plane. */
static sw_point on_plane(const double camera[3], const sw_top *top, sw_point mm)
{
    double k = camera[2] / (camera[2] - sw_top_rise(top, mm));
    return (sw_point){camera[0] + k * (mm.x - camera[0]), camera[1] + k * (mm.y - camera[1])};
}

/* + where the camera looks outwards over the edge: its rim then ends in the dark. */
static double outwards(const double camera[3], int side, sw_point mm)
{
    return side == SW_NORTH   ? mm.y - camera[1]
           : side == SW_SOUTH ? camera[1] - mm.y
           : side == SW_EAST  ? mm.x - camera[0]
                              : camera[0] - mm.x;
}

static void add_edge(const sw_track *t, int rim, const double camera[3], int column, int row, int side, sw_view *v)
{
    bool level = side == SW_NORTH || side == SW_SOUTH;
    double begin = END_MM + (level ? column : -(row + 1)) * v->tile_mm,
           piece = (v->tile_mm - 2 * END_MM) / SW_RIM_KNOTS;
    for (int knot = 0; knot < SW_RIM_KNOTS; knot++) {
        sw_point mm;
        sw_rim_sight s = {.tile = row * v->columns + column, .side = side, .knot = knot};
        if (!piece_middle(t, rim, level, begin + knot * piece, begin + (knot + 1) * piece, &mm, &s.slope))
            continue;
        s.px = sw_scale_to_px(&v->scale, on_plane(camera, &t->tops[rim], mm));
        s.u_mm = sqrt(SW_RIM_KNOTS) * (outwards(camera, side, mm) > 0 ? RIM_NEAR_U_MM : RIM_FAR_U_MM);
        v->rims[v->rim_count++] = s;
    }
}

sw_status sw_view_make(const sw_tracks *tracks, const sw_scale *scale, double tile_mm, sw_view *v)
{
    double camera[3];
    *v = (sw_view){.columns = tracks->columns, .rows = tracks->rows, .tile_mm = tile_mm, .scale = *scale};
    v->rims = calloc((size_t)v->columns * (size_t)v->rows * 4 * SW_RIM_KNOTS, sizeof *v->rims);
    if (!v->rims)
        return SW_NO_MEMORY;
    if (sw_camera_place(scale, camera))
        return SW_OK;
    for (int c = 0; c < v->columns; c++)
        for (int r = 0; r < v->rows; r++) {
            add_edge(sw_level_track(tracks, c, r), SW_SECOND, camera, c, r, SW_NORTH, v);
            add_edge(sw_level_track(tracks, c, r + 1), SW_FIRST, camera, c, r, SW_SOUTH, v);
            add_edge(sw_upright_track(tracks, c, r), SW_SECOND, camera, c, r, SW_WEST, v);
            add_edge(sw_upright_track(tracks, c + 1, r), SW_FIRST, camera, c, r, SW_EAST, v);
        }
    return SW_OK;
}

sw_status sw_view_copy(const sw_view *from, sw_view *to)
{
    *to = *from;
    to->rims = malloc((from->rim_count + 1) * sizeof *to->rims);
    if (!to->rims)
        return SW_NO_MEMORY;
    memcpy(to->rims, from->rims, from->rim_count * sizeof *to->rims);
    return SW_OK;
}

void sw_view_free(sw_view *v)
{
    free(v->rims);
    memset(v, 0, sizeof *v);
}

/* (x, y) goes to (-y, x - width): north becomes west, an upright edge's south end the east end. */
static void quarter(sw_view *v)
{
    for (size_t i = 0; i < v->rim_count; i++) {
        sw_rim_sight *s = &v->rims[i];
        int column = s->tile % v->columns, row = s->tile / v->columns;
        s->tile = (v->columns - 1 - column) * v->rows + row;
        if (s->side == SW_EAST || s->side == SW_WEST)
            s->knot = SW_RIM_KNOTS - 1 - s->knot;
        s->side = (s->side + 3) % 4;
        s->slope = -s->slope;
    }
    sw_scale_turn(&v->scale, (sw_point){v->columns * v->tile_mm, 0}, -M_PI / 2);
    int columns = v->columns;
    v->columns = v->rows;
    v->rows = columns;
}

void sw_view_turn(sw_view *view, int quarter_turns)
{
    for (int q = 0; q < quarter_turns; q++)
        quarter(view);
}
