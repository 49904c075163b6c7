/* edges.c - what came off every edge. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "inspection/names.h"
#include "recheck/sure.h"
#include "recheck/work.h"

/* Where so much is missing on the mean from a tile's unplanned places, as a multiple of what the two photos' errors
 * explain, the plan was not followed there, and its untouched places hold nothing. */
static const double ASTRAY_MOST = 2;
/* An edge's last mm, which a crossing seam disturbs, are known by a line from further in only: 0.1 mm (standard
 * uncertainty) at the worst corner of made photos. */
static const double END_U_MM = 0.1;
/* Where the deepest planned place lies in them, it is looked at this far further in at most, mm. */
static const double SEEN_NEAR_MM = 15;

/* sure_mm: more than errors make of it anywhere in the table, in 95 % of tables. */
typedef struct taken {
    double mm, u95_mm, sure_mm;
    sw_outline_known known;
} taken;

static taken taken_at(const sw_work *w, int side, double u_mm)
{
    taken t;
    double half = w->was.half_mm, middle = sw_fit_middle(&w->fit, side, u_mm, half);
    double moved = sw_fit_middle(&w->larger, side, u_mm, half) - middle + w->scale_mm;
    t.mm = sw_work_missing(w, side, u_mm, &t.known) - middle;
    double shape = sw_work_shape(w, side, u_mm);
    double u = hypot(hypot(moved, shape), hypot(w->shift_mm[side], w->shift_mm[(side + 2) % 4]));
    u = hypot(u, t.known == SW_OUTLINE_END ? END_U_MM : 0);
    t.u95_mm = hypot(2 * u, sw_fit_range(&w->fit, side, u_mm, half));
    t.sure_mm = w->c->sure_anywhere / 2 * t.u95_mm;
    return t;
}

/* Off this place and the one straight across the tile, which u runs past the other way. */
static void take_together(const sw_work *w, int side, double u_mm, sw_edge_change *e)
{
    sw_outline_known known[2];
    int across = (side + 2) % 4;
    double at = sw_work_at(w, side, u_mm), opposite_at = sw_work_at(w, across, -u_mm);
    double most = sw_work_planned(w, side, at) + sw_work_planned(w, across, opposite_at);
    e->together_mm = sw_work_missing(w, side, u_mm, &known[0]) + sw_work_missing(w, across, -u_mm, &known[1]);
    e->together_u95_mm =
        2 * hypot(hypot(2 * w->scale_mm, hypot(sw_work_shape(w, side, u_mm), sw_work_shape(w, across, -u_mm))),
                  hypot(w->shift_mm[side], w->shift_mm[across]));
    if (known[0] == SW_OUTLINE_END || known[1] == SW_OUTLINE_END)
        e->together_u95_mm = hypot(e->together_u95_mm, 2 * M_SQRT2 * END_U_MM);
    e->together_planned_mm = sw_work_planned_at(w, side, at) + sw_work_planned_at(w, across, opposite_at);
    if (!w->c->plan || !isfinite(e->together_mm))
        return;
    bool told = sw_work_told(w, side, u_mm) && sw_work_told(w, across, -u_mm);
    e->together_over = told && e->together_mm - most > w->c->sure_anywhere / 2 * e->together_u95_mm;
    e->not_enough |= told && !w->c->out->stop && e->planned &&
                     e->together_planned_mm - e->together_mm > w->c->sure_of_planned / 2 * e->together_u95_mm;
}

/* ---- one edge ---- */

static void look_along(const sw_work *w, int side, sw_edge_change *e)
{
    double best = -INFINITY, worst = -INFINITY;
    for (int k = -w->was.reach; k <= w->was.reach; k++) {
        double u = k * SW_OUTLINE_PITCH_MM, at = sw_work_at(w, side, u);
        taken t = taken_at(w, side, u);
        if (!isfinite(t.mm) || t.known < SW_OUTLINE_BRIDGED || !sw_work_told(w, side, u))
            continue;
        if (!e->planned && t.mm > best) {
            best = e->taken_mm = t.mm;
            e->taken_u95_mm = t.u95_mm;
            e->taken_at_mm = at;
            e->sure = t.mm > t.sure_mm;
        }
        /* The margin of a planned stretch is no place to tell too much from: a hand does not stop sharp. */
        double over = t.mm - sw_work_planned(w, side, at);
        if (w->c->plan && over - t.sure_mm > worst) {
            worst = over - t.sure_mm;
            e->most_over_mm = fmax(0, over);
            e->most_over_u95_mm = t.u95_mm;
            e->most_over_at_mm = at;
            e->too_much = worst > 0;
        }
    }
}

/* The place nearest to u, towards the middle, that was seen well and tells something; u itself when none is near. */
static double seen_near(const sw_work *w, int side, double u_mm)
{
    double u = fmin(fmax(u_mm, -w->was.half_mm), w->was.half_mm), inward = u > 0 ? -1 : 1;
    for (double step = 0; step <= SEEN_NEAR_MM; step++) {
        sw_outline_known known;
        if (isfinite(sw_work_missing(w, side, u + inward * step, &known)) && known >= SW_OUTLINE_BRIDGED &&
            sw_work_told(w, side, u + inward * step))
            return u + inward * step;
    }
    return u;
}

static void look_at_deepest(const sw_work *w, int side, sw_edge_change *e)
{
    const sw_removal *deepest = sw_work_deepest(w->plan[side]);
    e->planned_mm = deepest->remove_mm;
    e->planned_at_mm = deepest->at_mm;
    double u = seen_near(w, side, sw_outline_u(&w->was, (sw_side)side, e->planned_at_mm));
    taken t = taken_at(w, side, u);
    e->taken_mm = t.mm;
    e->taken_u95_mm = t.u95_mm;
    e->taken_at_mm = sw_work_at(w, side, u);
    e->sure = t.mm > t.u95_mm; /* the plan chose the place, and no other is looked at */
    e->not_enough = sw_work_told(w, side, u) && !w->c->out->stop &&
                    sw_work_planned_at(w, side, e->taken_at_mm) - t.mm > w->c->sure_of_planned / 2 * t.u95_mm;
}

/* How much there is to say of an edge. */
typedef enum worth { NOTHING, IN_PAIR, SOMETHING } worth;

/* IN_PAIR: something came off it and the opposite edge together, but nothing tells how much of it here. */
static worth compare_edge(const sw_comparing *c, const sw_work *w, int side, sw_edge_change *e)
{
    *e = (sw_edge_change){.tile = w->tile, .side = (sw_side)side, .planned = w->plan[side] != NULL};
    e->planned_at_mm = e->taken_mm = e->taken_u95_mm = e->taken_at_mm = NAN;
    e->together_mm = e->together_u95_mm = e->most_over_at_mm = NAN;
    if (!w->measured)
        return e->planned ? SOMETHING : NOTHING;
    if (e->planned)
        look_at_deepest(w, side, e);
    look_along(w, side, e);
    if (isfinite(e->taken_at_mm))
        take_together(w, side, sw_outline_u(&w->was, (sw_side)side, e->taken_at_mm), e);
    if (e->planned || e->too_much || e->together_over || (!c->plan && e->sure))
        return SOMETHING;
    return !c->plan && e->together_mm > c->sure_anywhere / 2 * e->together_u95_mm ? IN_PAIR : NOTHING;
}

/* Of a pair that nothing tells apart the north or east edge stands for both; where one edge is known, what came off
 * both is no news of the other. */
static void compare_edges(sw_comparing *c, const sw_work *w)
{
    sw_edge_change edges[4];
    worth is[4];
    for (int s = 0; s < 4; s++)
        is[s] = compare_edge(c, w, s, &edges[s]);
    for (int s = 0; s < 2; s++) {
        worth *a = &is[s], *b = &is[s + 2];
        if (*a == IN_PAIR && *b != SOMETHING && !c->unsplit++) {
            c->unsplit_tile = w->tile;
            c->unsplit_side = (sw_side)s;
        }
        if (*b == IN_PAIR && *a != NOTHING)
            *b = NOTHING;
        if (*a == IN_PAIR && *b == SOMETHING)
            *a = NOTHING;
    }
    for (int s = 0; s < 4; s++)
        if (is[s] != NOTHING)
            c->out->edges[c->out->edge_count++] = edges[s];
}

/* ---- one tile ---- */

static size_t gather_places(const sw_work *w, bool planned, sw_fit_place *places)
{
    size_t count = 0;
    for (int s = 0; s < 4; s++)
        for (int k = -w->was.reach; k <= w->was.reach; k += 2) {
            sw_outline_known known;
            double u = k * SW_OUTLINE_PITCH_MM, missing = sw_work_missing(w, s, u, &known);
            bool free = !planned || w->plan[s]; /* a block that sands a stretch touches the rest of the edge, too */
            if (known >= SW_OUTLINE_BRIDGED && isfinite(missing))
                places[count++] = (sw_fit_place){s, u, missing, sw_work_shape(w, s, u), free};
        }
    return count;
}

/* Fits as it is, and as it would be if the later scale were off. */
static sw_status fit_places(sw_work *w, sw_fit_place *places, size_t count, sw_error *err)
{
    sw_status status = sw_fit_outline(places, count, w->was.half_mm, &w->fit, err);
    for (size_t i = 0; i < count; i++)
        places[i].missing_mm -= w->scale_mm;
    return status ? status : sw_fit_outline(places, count, w->was.half_mm, &w->larger, err);
}

static sw_status fit_tile(sw_comparing *c, sw_work *w, sw_error *err)
{
    sw_fit_place *places = calloc(4 * (2 * (size_t)w->was.reach + 1), sizeof *places);
    if (!places)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    double noise = 2 * w->scale_mm;
    for (int s = 0; s < 4; s++)
        noise += hypot(w->shape_mm[s], w->shift_mm[s]) / 4;
    sw_status status = fit_places(w, places, gather_places(w, c->plan != NULL, places), err);
    if (!status && w->fit.astray_mm > ASTRAY_MOST * noise) {
        c->astray++;
        status = fit_places(w, places, gather_places(w, false, places), err);
    }
    free(places);
    return status;
}

static sw_status compare_tile(sw_comparing *c, sw_work *w, sw_error *err)
{
    sw_status status = w->measured ? fit_tile(c, w, err) : SW_OK;
    if (status && status != SW_NOT_FOUND)
        return status;
    w->measured = w->measured && !status;
    if (!w->measured && !c->unseen++)
        snprintf(c->unseen_name, sizeof c->unseen_name, "%.7s", w->before->name);
    compare_edges(c, w);
    return SW_OK;
}

/* How sure is sure, with so many places and so many planned edges looked at. */
static void set_bounds(sw_comparing *c, const sw_work *works, size_t count)
{
    size_t tiles = 0, planned = 0;
    double length_mm = 0;
    for (size_t i = 0; i < count; i++) {
        tiles += works[i].measured;
        length_mm += works[i].measured ? 8 * works[i].was.half_mm : 0;
        for (int s = 0; s < 4; s++)
            planned += works[i].plan[s] != NULL;
    }
    /* Half of the 5 % is for what is too much, half for what is not enough: twice as many chances. Planned edges are
     * looked at alone and with the opposite one. */
    c->sure_anywhere = sw_sure_along(2 * length_mm, 2 * 4 * tiles, SW_TOGETHER_MM);
    c->sure_of_planned = sw_sure_of(2 * 2 * planned);
}

sw_status sw_recheck_edges(sw_comparing *c, sw_error *err)
{
    size_t count = c->out->place_count, begun = 0;
    c->out->edges = calloc(4 * count + 1, sizeof *c->out->edges);
    sw_work *works = calloc(count + 1, sizeof *works);
    sw_status status = c->out->edges && works
                           ? SW_OK
                           : sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    while (!status && begun < count) {
        status = sw_work_begin(c, (int)begun, &works[begun], err);
        begun++;
    }
    if (!status && c->plan)
        status = sw_ruler_take(works, count, err);
    set_bounds(c, works, begun);
    for (size_t i = 0; !status && i < count; i++)
        status = compare_tile(c, &works[i], err);
    for (size_t i = 0; i < begun; i++)
        sw_work_end(&works[i]);
    free(works);
    return status;
}
