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
static const double RIM_NEAR_U_MM = 0.03, RIM_FAR_U_MM = 0.07;

/* Places of a straight piece of a rim, along and across its edge. */
typedef struct piece {
    bool level;
    double from, to; /* along */
    double n, a, c, aa, ac;
} piece;

static void add_place(piece *p, sw_point mm)
{
    double along = p->level ? mm.x : mm.y, across = p->level ? mm.y : mm.x;
    if (!(along > p->from && along < p->to) || !isfinite(across))
        return;
    p->n++;
    p->a += along;
    p->c += across;
    p->aa += along * along;
    p->ac += along * across;
}

/* Its middle and its slope; false where too little of it was seen. */
static bool piece_middle(const piece *p, sw_point *middle, double *slope)
{
    double spread = p->aa - p->a * p->a / p->n;
    if (p->n < PLACES_LEAST || !(spread > 0))
        return false;
    *middle = p->level ? (sw_point){p->a / p->n, p->c / p->n} : (sw_point){p->c / p->n, p->a / p->n};
    *slope = (p->ac - p->a * p->c / p->n) / spread;
    return true;
}

static void add_seen(const sw_track *t, int rim, piece *p)
{
    for (int i = 0; i < t->count; i++)
        if (t->points[i].seen && !t->points[i].chip[rim])
            add_place(p, sw_track_mm(t, i, rim));
}

/* The near rim where a step hides the gap behind it. */
static void add_hidden(const sw_trace *t, const sw_scale *top, int rim, piece *p)
{
    bool high = (rim == SW_SECOND) != t->reversed;
    for (int i = 0; i < t->count && high != (t->tangent >= 0); i++) {
        const sw_trace_place *at = &t->places[i];
        double px = high ? at->rim_high_px : at->rim_low_px;
        if (at->hidden)
            add_place(p, sw_scale_to_mm(top, sw_trace_pixel(t, at, px)));
    }
}

/* + where the camera looks outwards over the edge: its rim then ends in the dark. */
static double outwards(const double camera[3], int side, sw_point mm)
{
    return side == SW_NORTH   ? mm.y - camera[1]
           : side == SW_SOUTH ? camera[1] - mm.y
           : side == SW_EAST  ? mm.x - camera[0]
                              : camera[0] - mm.x;
}

static void add_edge(const sw_track *t, const sw_trace *trace, int rim, const double camera[3], int tile, int side,
                     sw_view *v)
{
    bool level = side == SW_NORTH || side == SW_SOUTH;
    int column = tile % v->columns, row = tile / v->columns;
    double begin = END_MM + (level ? column : -(row + 1)) * v->tile_mm, each = (v->tile_mm - 2 * END_MM) / SW_RIM_KNOTS;
    sw_scale top;
    if (sw_scale_lift(&v->scale, &t->tops[rim], &top))
        return;
    for (int knot = 0; knot < SW_RIM_KNOTS; knot++) {
        piece p = {.level = level, .from = begin + knot * each, .to = begin + (knot + 1) * each};
        sw_rim_sight s = {.tile = tile, .side = side, .knot = knot};
        sw_point mm;
        add_seen(t, rim, &p);
        bool seen = piece_middle(&p, &mm, &s.slope);
        if (!seen)
            add_hidden(trace, &top, rim, &p);
        if (!seen && !piece_middle(&p, &mm, &s.slope))
            continue;
        s.px = sw_scale_to_px(&top, mm);
        s.u_mm = sqrt(SW_RIM_KNOTS) * (seen && outwards(camera, side, mm) > 0 ? RIM_NEAR_U_MM : RIM_FAR_U_MM);
        v->rims[v->rim_count++] = s;
    }
}

sw_status sw_view_make(const sw_tracks *tracks, const sw_traces *traces, const sw_scale *scale, double tile_mm,
                       sw_view *v)
{
    double camera[3];
    const int rows = tracks->rows;
    *v = (sw_view){.columns = tracks->columns, .rows = rows, .tile_mm = tile_mm, .scale = *scale};
    v->rims = calloc((size_t)v->columns * (size_t)rows * 4 * SW_RIM_KNOTS, sizeof *v->rims);
    if (!v->rims)
        return SW_NO_MEMORY;
    if (sw_camera_place(scale, camera))
        return SW_OK;
    for (int c = 0; c < v->columns; c++)
        for (int r = 0; r < rows; r++)
            for (int far = 0; far < 2; far++) {
                int upright = (c + far) * rows + r, level = c * (rows + 1) + r + far, tile = r * v->columns + c;
                add_edge(&tracks->upright[upright], &traces->upright[upright], !far, camera, tile,
                         far ? SW_EAST : SW_WEST, v);
                add_edge(&tracks->level[level], &traces->level[level], !far, camera, tile, far ? SW_SOUTH : SW_NORTH,
                         v);
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
