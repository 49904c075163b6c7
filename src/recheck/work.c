#include "recheck/work.h"

#include <math.h>
#include <stdio.h>

#include "recheck/closed.h"

/* Nothing should be missing where the plan takes nothing and nothing nearby either, mm. */
static const double PLANNED_MARGIN_MM = 20;
/* A bevel that ends at the top edge takes a little of that, too, mm: a hand's doing, no more than what rounds a rim. */
static const double BEVEL_SLIP_MM = 0.2;
/* Sanding takes 20 mm off an edge at the very most (the deepest cut a plan may have), and a tile does not grow; beyond
 * this and the ± these are not the same tiles, or a card of another size. */
static const double SHRUNK_MOST_MM = 40, GROWN_MOST_MM = 2;
/* Where an inspection does not say how well an edge was read, mm (standard uncertainty). */
static const double SHAPE_UNKNOWN_MM = 0.1;

/* An edge at the table's rim has no gap whose light could shift it; what floor and shade do to it, mm (95 %). */
static const double RIM_LIGHT_U95_MM = 0.04;

/* ---- what is known of one place ---- */

double sw_work_planned_at(const sw_work *w, int side, double at_mm)
{
    const sw_edge_plan *plan = w->plan[side];
    for (size_t i = 0; plan && i + 1 < plan->true_up_count; i++) {
        const sw_removal *a = &plan->true_up[i], *b = a + 1;
        if (at_mm >= a->at_mm && at_mm <= b->at_mm && b->at_mm > a->at_mm)
            return a->remove_mm + (b->remove_mm - a->remove_mm) * (at_mm - a->at_mm) / (b->at_mm - a->at_mm);
    }
    return plan && plan->true_up_count == 1 ? plan->true_up[0].remove_mm : 0;
}

double sw_work_planned(const sw_work *w, int side, double at_mm)
{
    double most = fmax(sw_work_planned_at(w, side, at_mm - PLANNED_MARGIN_MM),
                       sw_work_planned_at(w, side, at_mm + PLANNED_MARGIN_MM));
    const sw_edge_plan *plan = w->plan[side];
    for (size_t i = 0; plan && i < plan->true_up_count; i++)
        if (fabs(plan->true_up[i].at_mm - at_mm) <= PLANNED_MARGIN_MM)
            most = fmax(most, plan->true_up[i].remove_mm);
    return fmax(w->bevelled[side] ? fmax(most, BEVEL_SLIP_MM) : most, sw_work_planned_at(w, side, at_mm));
}

/* From the north or west end of a side of a tile with this half side. */
static double end_distance(int side, double u_mm, double half_mm)
{
    double at = half_mm + (side == SW_NORTH || side == SW_EAST ? u_mm : -u_mm);
    return fmin(fmax(at, 0), 2 * half_mm);
}

double sw_work_at(const sw_work *w, int side, double u_mm)
{
    return end_distance(side, u_mm, w->was.half_mm);
}

/* What a closed seam adds in the two photos. */
static void closed_at(const sw_work *w, int side, double u_mm, double *was_mm, double *is_mm)
{
    int turned = (int)sw_side_turned((sw_side)side, w->turns);
    *was_mm = sw_closed_u_mm(w->c->before, w->seam_was[side], sw_work_at(w, side, u_mm));
    *is_mm = sw_closed_u_mm(w->c->after, w->seam_is[side], end_distance(turned, u_mm, w->is.half_mm));
}

double sw_work_shape(const sw_work *w, int side, double u_mm)
{
    double was, is;
    closed_at(w, side, u_mm, &was, &is);
    return hypot(w->shape_mm[side], hypot(was, is));
}

bool sw_work_told(const sw_work *w, int side, double u_mm)
{
    double was, is;
    closed_at(w, side, u_mm, &was, &is);
    return fmax(was, is) < SW_CLOSED_UNTOLD_MM;
}

double sw_work_missing(const sw_work *w, int side, double u_mm, sw_outline_known *known)
{
    sw_outline_known is;
    double before = sw_outline_at(&w->was, (sw_side)side, u_mm, known);
    double after = sw_outline_at(&w->is, sw_side_turned((sw_side)side, w->turns), u_mm, &is);
    *known = is < *known ? is : *known;
    return before + w->was.half_mm - (after + w->is.half_mm) * (1 + w->longer);
}

const sw_removal *sw_work_deepest(const sw_edge_plan *plan)
{
    const sw_removal *deepest = NULL;
    for (size_t i = 0; i < plan->true_up_count; i++)
        if (plan->true_up[i].remove_mm > (deepest ? deepest->remove_mm : SW_PLANNED_LEAST_MM))
            deepest = &plan->true_up[i];
    return deepest;
}

/* ---- the whole tile ---- */

static double half_of(double a, double b, double instead)
{
    double both = hypot(a, b) / 2;
    return isfinite(both) ? both : instead;
}

/* ± of the light in the seam that an edge lies at. */
static double light_u95(const sw_seam *seam)
{
    return !seam ? RIM_LIGHT_U95_MM : isfinite(seam->mean_u95_mm) ? seam->mean_u95_mm : 2 * SHAPE_UNKNOWN_MM;
}

static void rate(sw_work *w)
{
    double relative = 0;
    int known = 0;
    for (int s = 0; s < 4; s++) {
        sw_side turned = sw_side_turned((sw_side)s, w->turns);
        const sw_edge *a = &w->before->edges[s], *b = &w->after->edges[turned];
        /* A minimum zone goes wrong by what both of its sides go wrong by together. */
        w->shape_mm[s] = half_of(a->straightness_u95_mm, b->straightness_u95_mm, SHAPE_UNKNOWN_MM) / M_SQRT2;
        w->seam_was[s] = sw_seam_at(w->c->before, w->tile, (sw_side)s);
        w->seam_is[s] = sw_seam_at(w->c->after, w->place, turned);
        w->shift_mm[s] = half_of(light_u95(w->seam_was[s]), light_u95(w->seam_is[s]), 0);
        double length = half_of(a->length_u95_mm / a->length_mm, b->length_u95_mm / b->length_mm, NAN);
        if (isfinite(length)) {
            relative += length;
            known++;
        }
    }
    w->scale_mm = known ? relative / known * w->was.half_mm : SHAPE_UNKNOWN_MM;
}

static sw_status check_size(sw_comparing *c, const sw_work *w, sw_error *err)
{
    double smaller = 2 * (w->was.half_mm - w->is.half_mm), u95 = 4 * w->scale_mm;
    if (-smaller > GROWN_MOST_MM + u95 || smaller > SHRUNK_MOST_MM + u95)
        return sw_fail(
            err, SW_BAD_INPUT,
            "tile %s is %.1f mm %s in the later inspection than in the earlier one, which sanding does not explain; "
            "name two inspections of the same tiles, the earlier one first, each made with its own card's size",
            w->before->name, fabs(smaller), smaller > 0 ? "smaller" : "larger");
    c->grown += -smaller > u95;
    return SW_OK;
}

sw_status sw_work_begin(sw_comparing *c, int place, sw_work *w, sw_error *err)
{
    *w = (sw_work){.c = c, .place = place, .tile = c->places[place].tile, .turns = c->places[place].turns};
    w->before = &c->before->tiles[w->tile];
    w->after = &c->after->tiles[place];
    for (size_t i = 0; c->plan && i < c->plan->edge_count; i++) {
        const sw_edge_plan *edge = &c->plan->edges[i];
        if (edge->tile == w->tile && sw_work_deepest(edge))
            w->plan[edge->side] = edge;
        if (edge->tile == w->tile)
            w->bevelled[edge->side] = edge->bevel_mm > 0;
    }
    sw_status status = sw_outline_make(w->before, &w->was, err);
    if (!status)
        status = sw_outline_make(w->after, &w->is, err);
    w->measured = !status && isfinite(w->was.half_mm) && isfinite(w->is.half_mm);
    if (!w->measured)
        return status;
    rate(w);
    return check_size(c, w, err);
}

void sw_work_end(sw_work *w)
{
    sw_outline_free(&w->was);
    sw_outline_free(&w->is);
}
