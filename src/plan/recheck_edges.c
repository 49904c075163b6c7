/* recheck_edges.c - what came off every edge. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "outline_at.h"
#include "recheck_fit.h"
#include "recheck_parts.h"

/* Nothing should be missing where the plan takes nothing and nothing nearby either: a hand does not stop sharp. */
static const double PLANNED_MARGIN_MM = 20, PLANNED_LEAST_MM = 0.02;
/* Sanding takes 20 mm off an edge at the very most (the deepest cut a plan may have), and a tile does not grow; beyond
 * this and the ± these are not the same tiles, or a card of another size. */
static const double SHRUNK_MOST_MM = 40, GROWN_MOST_MM = 2;
/* Where so much is missing on the mean from a tile's unplanned places, as a multiple of what the two photos' errors
 * explain, the plan was not followed there, and its untouched places hold nothing. */
static const double ASTRAY_MOST = 2;
/* Where an inspection does not say how straight an edge was read, mm (standard uncertainty). */
static const double SHAPE_UNKNOWN_MM = 0.1;

/* One tile in the making. */
typedef struct work {
    const sw_comparing *c;
    int tile; /* index into the earlier tiles */
    const sw_tile *before, *after;
    int turns; /* of the later one */
    sw_outline was, is;
    const sw_edge_plan *plan[4]; /* NULL: nothing planned */
    double shape_mm[4];          /* standard uncertainties: of the outline's shape along a side, */
    double shift_mm[4];          /* of the whole side (light in its seam), */
    double scale_mm;             /* and of the tile's half side (the two scales) */
    sw_fit fit, larger;          /* larger: if the later scale were off by one standard uncertainty */
} work;

/* ---- what is known of one place ---- */

static double planned_at(const work *w, int side, double at_mm)
{
    const sw_edge_plan *plan = w->plan[side];
    for (size_t i = 0; plan && i + 1 < plan->true_up_count; i++) {
        const sw_removal *a = &plan->true_up[i], *b = a + 1;
        if (at_mm >= a->at_mm && at_mm <= b->at_mm && b->at_mm > a->at_mm)
            return a->remove_mm + (b->remove_mm - a->remove_mm) * (at_mm - a->at_mm) / (b->at_mm - a->at_mm);
    }
    return plan && plan->true_up_count == 1 ? plan->true_up[0].remove_mm : 0;
}

/* Most planned within the margin of a place. */
static double planned_near(const work *w, int side, double at_mm)
{
    double most = fmax(planned_at(w, side, at_mm - PLANNED_MARGIN_MM), planned_at(w, side, at_mm + PLANNED_MARGIN_MM));
    const sw_edge_plan *plan = w->plan[side];
    for (size_t i = 0; plan && i < plan->true_up_count; i++)
        if (fabs(plan->true_up[i].at_mm - at_mm) <= PLANNED_MARGIN_MM)
            most = fmax(most, plan->true_up[i].remove_mm);
    return fmax(most, planned_at(w, side, at_mm));
}

/* A place's distance from the edge's north or west end; u runs clockwise round the tile. */
static double at_of(const work *w, int side, double u_mm)
{
    double at = w->was.half_mm + (side == SW_NORTH || side == SW_EAST ? u_mm : -u_mm);
    return fmin(fmax(at, 0), 2 * w->was.half_mm);
}

/* Before less after, each from its own middle; NaN where one of them was not seen. */
static double missing_at(const work *w, int side, double u_mm, sw_outline_known *known)
{
    sw_outline_known is;
    double before = sw_outline_at(&w->was, (sw_side)side, u_mm, known);
    double after = sw_outline_at(&w->is, sw_side_turned((sw_side)side, w->turns), u_mm, &is);
    *known = is < *known ? is : *known;
    return before + w->was.half_mm - after - w->is.half_mm;
}

typedef struct taken {
    double mm, u95_mm;
    sw_outline_known known;
} taken;

static taken taken_at(const work *w, int side, double u_mm)
{
    taken t;
    double half = w->was.half_mm, middle = sw_fit_middle(&w->fit, side, u_mm, half);
    double moved = sw_fit_middle(&w->larger, side, u_mm, half) - middle + w->scale_mm;
    double u = hypot(hypot(moved, w->shape_mm[side]), hypot(w->shift_mm[side], w->shift_mm[(side + 2) % 4]));
    t.mm = missing_at(w, side, u_mm, &t.known) - middle;
    t.u95_mm = hypot(2 * u, sw_fit_range(&w->fit, side, u_mm, half));
    return t;
}

/* Off this place and the one straight across the tile, which u runs past the other way. */
static void take_together(const work *w, int side, double u_mm, sw_edge_change *e)
{
    sw_outline_known known[2];
    int across = (side + 2) % 4;
    double near = planned_near(w, side, at_of(w, side, u_mm)), far = planned_near(w, across, at_of(w, across, -u_mm));
    e->together_mm = missing_at(w, side, u_mm, &known[0]) + missing_at(w, across, -u_mm, &known[1]);
    e->together_u95_mm = 2 * hypot(hypot(2 * w->scale_mm, hypot(w->shape_mm[side], w->shape_mm[across])),
                                   hypot(w->shift_mm[side], w->shift_mm[across]));
    e->together_planned_mm = near + far;
    if (!w->c->plan || !isfinite(e->together_mm))
        return;
    e->together_over = e->together_mm - e->together_planned_mm > e->together_u95_mm;
    e->not_enough |= e->planned && e->together_planned_mm - e->together_mm > e->together_u95_mm;
}

/* ---- one edge ---- */

static void look_along(const work *w, int side, sw_edge_change *e)
{
    double best = -INFINITY, worst = -INFINITY;
    for (int k = -w->was.reach; k <= w->was.reach; k++) {
        double u = k * SW_OUTLINE_PITCH_MM, at = at_of(w, side, u);
        taken t = taken_at(w, side, u);
        if (!isfinite(t.mm))
            continue;
        if (!e->planned && t.mm > best) {
            best = e->taken_mm = t.mm;
            e->taken_u95_mm = t.u95_mm;
            e->taken_at_mm = at;
        }
        /* The margin of a planned stretch is no place to tell too much from: a hand does not stop sharp. */
        double over = t.mm - planned_near(w, side, at);
        if (w->c->plan && over - t.u95_mm > worst) {
            worst = over - t.u95_mm;
            e->most_over_mm = fmax(0, over);
            e->most_over_u95_mm = t.u95_mm;
            e->most_over_at_mm = at;
            e->too_much = worst > 0;
        }
    }
}

/* Where a plan goes deepest; NULL when it takes nothing off the top edge (a bevel only). */
static const sw_removal *deepest_of(const sw_edge_plan *plan)
{
    const sw_removal *deepest = NULL;
    for (size_t i = 0; i < plan->true_up_count; i++)
        if (plan->true_up[i].remove_mm > (deepest ? deepest->remove_mm : PLANNED_LEAST_MM))
            deepest = &plan->true_up[i];
    return deepest;
}

static void look_at_deepest(const work *w, int side, sw_edge_change *e)
{
    const sw_removal *deepest = deepest_of(w->plan[side]);
    e->planned_mm = deepest->remove_mm;
    e->planned_at_mm = deepest->at_mm;
    double u = sw_outline_u(&w->was, (sw_side)side, e->planned_at_mm);
    taken t = taken_at(w, side, fmin(fmax(u, -w->was.half_mm), w->was.half_mm));
    e->taken_mm = t.mm;
    e->taken_u95_mm = t.u95_mm;
    e->taken_at_mm = e->planned_at_mm;
    e->not_enough = e->planned_mm - t.mm > t.u95_mm;
}

/* How much there is to say of an edge. */
typedef enum worth { NOTHING, IN_PAIR, SOMETHING } worth;

/* IN_PAIR: something came off it and the opposite edge together, but nothing tells how much of it here. */
static worth compare_edge(const sw_comparing *c, const work *w, int side, int measured, sw_edge_change *e)
{
    *e = (sw_edge_change){.tile = w->tile, .side = (sw_side)side, .planned = w->plan[side] != NULL};
    e->planned_at_mm = e->taken_mm = e->taken_u95_mm = e->taken_at_mm = NAN;
    e->together_mm = e->together_u95_mm = e->most_over_at_mm = NAN;
    if (!measured)
        return e->planned ? SOMETHING : NOTHING;
    if (e->planned)
        look_at_deepest(w, side, e);
    look_along(w, side, e);
    if (isfinite(e->taken_at_mm))
        take_together(w, side, sw_outline_u(&w->was, (sw_side)side, e->taken_at_mm), e);
    if (e->planned || e->taken_mm > e->taken_u95_mm || e->too_much || e->together_over)
        return SOMETHING;
    return !c->plan && e->together_mm > e->together_u95_mm ? IN_PAIR : NOTHING;
}

/* Of a pair that nothing tells apart the north or east edge stands for both; where one edge is known, what came off
 * both is no news of the other. */
static void compare_edges(sw_comparing *c, const work *w, int measured)
{
    sw_edge_change edges[4];
    worth is[4];
    for (int s = 0; s < 4; s++)
        is[s] = compare_edge(c, w, s, measured, &edges[s]);
    for (int s = 0; s < 2; s++) {
        worth *a = &is[s], *b = &is[s + 2];
        if (*a == IN_PAIR && *b != SOMETHING && !c->unsplit++) {
            sw_recheck_name(c->before, w->tile, (sw_side)s, c->unsplit_name[0]);
            snprintf(c->unsplit_name[1], sizeof c->unsplit_name[1], "%s", sw_side_name((sw_side)(s + 2)));
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

static double half_of(double a, double b, double instead)
{
    double both = hypot(a, b) / 2;
    return isfinite(both) ? both : instead;
}

/* ± of the light in the seam that an edge lies at; 0 at the table's rim. */
static double light_u95(const sw_inspection *ins, int tile, sw_side side)
{
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        int at = (s->first == tile && side == (s->upright ? SW_EAST : SW_SOUTH)) ||
                 (s->second == tile && side == (s->upright ? SW_WEST : SW_NORTH));
        if (at)
            return isfinite(s->mean_u95_mm) ? s->mean_u95_mm : 2 * SHAPE_UNKNOWN_MM;
    }
    return 0;
}

static void rate(work *w, int place)
{
    double relative = 0;
    int known = 0;
    for (int s = 0; s < 4; s++) {
        sw_side turned = sw_side_turned((sw_side)s, w->turns);
        const sw_edge *a = &w->before->edges[s], *b = &w->after->edges[turned];
        /* A minimum zone goes wrong by what both of its sides go wrong by together. */
        w->shape_mm[s] = half_of(a->straightness_u95_mm, b->straightness_u95_mm, SHAPE_UNKNOWN_MM) / M_SQRT2;
        w->shift_mm[s] =
            half_of(light_u95(w->c->before, w->tile, (sw_side)s), light_u95(w->c->after, place, turned), 0);
        double length = half_of(a->length_u95_mm / a->length_mm, b->length_u95_mm / b->length_mm, NAN);
        if (isfinite(length)) {
            relative += length;
            known++;
        }
    }
    w->scale_mm = known ? relative / known * w->was.half_mm : SHAPE_UNKNOWN_MM;
}

static size_t gather_places(const work *w, int planned, sw_fit_place *places)
{
    size_t count = 0;
    for (int s = 0; s < 4; s++)
        for (int k = -w->was.reach; k <= w->was.reach; k += 2) {
            sw_outline_known known;
            double u = k * SW_OUTLINE_PITCH_MM, missing = missing_at(w, s, u, &known);
            int free = !planned || planned_near(w, s, at_of(w, s, u)) > PLANNED_LEAST_MM;
            if (known >= SW_OUTLINE_BRIDGED && isfinite(missing))
                places[count++] = (sw_fit_place){s, u, missing, free};
        }
    return count;
}

/* Fits as it is, and as it would be if the later scale were off. */
static sw_status fit_places(work *w, sw_fit_place *places, size_t count, sw_error *err)
{
    sw_status status = sw_fit_outline(places, count, w->was.half_mm, w->shape_mm, &w->fit, err);
    for (size_t i = 0; i < count; i++)
        places[i].missing_mm -= w->scale_mm;
    return status ? status : sw_fit_outline(places, count, w->was.half_mm, w->shape_mm, &w->larger, err);
}

static sw_status fit_tile(sw_comparing *c, work *w, sw_error *err)
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
        status = fit_places(w, places, gather_places(w, 0, places), err);
    }
    free(places);
    return status;
}

static sw_status check_size(sw_comparing *c, const work *w, sw_error *err)
{
    double smaller = 2 * (w->was.half_mm - w->is.half_mm), u95 = 4 * w->scale_mm;
    if (-smaller > GROWN_MOST_MM + u95 || smaller > SHRUNK_MOST_MM + u95)
        return sw_fail(err, SW_BAD_INPUT,
                       "tile %s is %.1f mm %s in the later inspection than in the earlier one, which sanding does not "
                       "explain; name two inspections of the same tiles, the earlier one first, each made with its own "
                       "card's size",
                       w->before->name, fabs(smaller), smaller > 0 ? "smaller" : "larger");
    c->grown += -smaller > u95;
    return SW_OK;
}

static sw_status compare_tile(sw_comparing *c, work *w, int place, sw_error *err)
{
    sw_status status = sw_outline_make(w->before, &w->was, err);
    if (!status)
        status = sw_outline_make(w->after, &w->is, err);
    if (status)
        return status;
    int measured = isfinite(w->was.half_mm) && isfinite(w->is.half_mm);
    if (measured) {
        rate(w, place);
        status = check_size(c, w, err);
        if (!status)
            status = fit_tile(c, w, err);
        measured = !status;
    }
    if (status && status != SW_NOT_FOUND)
        return status;
    if (!measured && !c->unseen++)
        snprintf(c->unseen_name, sizeof c->unseen_name, "%.7s", w->before->name);
    compare_edges(c, w, measured);
    return SW_OK;
}

sw_status sw_recheck_edges(sw_comparing *c, sw_error *err)
{
    c->out->edges = calloc(4 * c->before->tile_count + 1, sizeof *c->out->edges);
    sw_status status = c->out->edges ? SW_OK : sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs");
    for (size_t p = 0; !status && p < c->out->place_count; p++) {
        work w = {.c = c, .tile = c->places[p].tile, .turns = c->places[p].turns};
        w.before = &c->before->tiles[w.tile];
        w.after = &c->after->tiles[p];
        for (size_t i = 0; c->plan && i < c->plan->edge_count; i++)
            if (c->plan->edges[i].tile == w.tile && deepest_of(&c->plan->edges[i]))
                w.plan[c->plan->edges[i].side] = &c->plan->edges[i];
        status = compare_tile(c, &w, (int)p, err);
        sw_outline_free(&w.was);
        sw_outline_free(&w.is);
    }
    return status;
}
