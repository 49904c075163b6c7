/* closing.c - cuts that hold whichever way the tiles come to lie.
 *
 * The least cuts for a limit suppose that tiles are laid as the cuts need it. Hands do not: they push, and where four tiles
 * meet, an angle too much opens one of the four seams or another. So in turn: the least cuts, with a limit of its own for
 * every seam; what ordinary pushes make of them (forecast.h); and where a seam's forecast with its guard band is over, its
 * own limit becomes tighter by most of that. In the end edges are given up that can be, and it is all looked at once more.
 */
#include "plan/closing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/guard.h"
#include "push/lp.h"

/* A seam's own limit comes down by this share of what its forecast is over: all of it would overshoot, as what one seam
 * loses helps its neighbours. */
static const double TIGHTEN = 0.8;
/* Forecasts are wanted so much better than needed, mm, that rounding and the last edges given up do not undo them. */
static const double SPARE_MM = 0.015;
/* No seam's own limit is less than this share of what is wanted: tighter, and whole edges would go for a hope. */
static const double LIMIT_LEAST = 0.2;
/* Nor by more than this share of the limit at once. */
static const double STEP_MOST = 0.3;
/* And by this share those of the seams about it, where other ways to lie are to blame, or the seam itself may not be worked
 * at, or that was in vain. */
static const double TIGHTEN_ABOUT = 0.3;
/* Tightening a seam's limit was in vain when its forecast came down by less than this share of what it was over. */
static const double GAIN = 0.1;
enum { VAIN_MOST = 2, EASINGS = 2 };
enum { ROUNDS = 8, ROUNDS_ROUGH = 1, ROUNDS_FEW = 3 };

typedef struct closer {
    const sw_gaping *g;
    sw_effort effort;
    double limit_mm, *own_mm;     /* wanted; of each joint */
    double *before_mm, *trial_mm; /* the own limits of the round before, and some on trial */
    double *last_mm; /* of each joint: what its forecast was over in the last round; infinite when it was not */
    int *vain;       /* of each joint: how often tightening did nothing */
    bool *may;
    sw_closing *out;
} closer;

void sw_closing_free(sw_closing *closing)
{
    sw_true_up_free(&closing->up);
    free(closing->bevel);
    free(closing->forecast);
    *closing = (sw_closing){0};
}

static bool is_over(const closer *c, size_t j)
{
    const sw_seam *seam = &c->g->ins->seams[j];
    return sw_verdict_of(seam->max_mm, seam->max_u95_mm, c->limit_mm) == SW_OVER;
}

static sw_status look_ahead(closer *c, const sw_true_up *up, sw_error *err)
{
    sw_done done = {up, c->out->bevel, c->g->hold_mm, c->g->standoff_mm, c->effort == SW_ROUGHLY};
    return sw_forecast_make(c->g->e, &done, c->limit_mm, c->out->forecast, err);
}

/* How far a seam's forecast lies beyond what is wanted of it; not over 0: nothing more is. */
static double excess(const closer *c, size_t j)
{
    const sw_forecast *f = &c->out->forecast[j];
    return isfinite(f->mm) ? f->mm + SW_GUARD * f->u95_mm + SPARE_MM - c->limit_mm : 0;
}

/* Whether it can be. */
static bool tighter(closer *c, size_t j, double least_mm, double by_mm)
{
    double own = fmax(fmax(LIMIT_LEAST * c->limit_mm, least_mm), c->own_mm[j] - fmin(by_mm, STEP_MOST * c->limit_mm));
    bool changed = own < c->own_mm[j];
    c->own_mm[j] = fmin(own, c->own_mm[j]);
    return changed;
}

/* What a seam comes to at its best, whichever way the tiles lie. */
static double best_of(const closer *c, size_t j)
{
    const sw_forecast *f = &c->out->forecast[j];
    return isfinite(f->mm) ? f->mm - f->push_mm : 0;
}

static bool is_cut(const sw_true_up *up, size_t j)
{
    return up->cuts[2 * j].area_mm2 > 0 || up->cuts[2 * j + 1].area_mm2 > 0;
}

/* The angles about a crossing open whichever of its seams they like: what opens one seam is mended at those that share a
 * tile with it. A wedge costs least to take off where it opens as far as it may, so at first only seams that are not cut
 * lose of their limits, down to what they come to at their best. */
static bool tighten_about(closer *c, const sw_true_up *up, size_t j, bool uncut, double by_mm)
{
    const sw_joint *joints = c->g->e->joints, *here = &joints[j];
    bool any = false;
    for (size_t k = 0; k < c->g->e->count; k++) {
        bool about = joints[k].first == here->first || joints[k].first == here->second ||
                     joints[k].second == here->first || joints[k].second == here->second;
        if (about && (!uncut || !is_cut(up, k)))
            any |= tighter(c, k, uncut ? best_of(c, k) : 0, by_mm);
    }
    return any;
}

/* Whether any seam's limit changed. Where sanding can do no more, or the last times did nothing for a seam, a tighter
 * limit would only cost. */
static bool tighten(closer *c, const sw_true_up *up)
{
    bool any = false;
    for (size_t j = 0; j < c->g->e->count; j++) {
        double over = excess(c, j);
        c->vain[j] += over > (1 - GAIN) * c->last_mm[j];
        c->last_mm[j] = over <= 0 ? INFINITY : over;
        if (over <= 0 || up->excess_mm[j] > SW_HOPELESS_MM || c->vain[j] > VAIN_MOST)
            continue;
        bool ways = c->vain[j] || !c->may[j] || c->out->forecast[j].push_mm > over / 2;
        if (ways && !c->vain[j] && tighten_about(c, up, j, true, TIGHTEN_ABOUT * over)) {
            any = true;
            continue;
        }
        any |= tighter(c, j, 0, TIGHTEN * over);
        if (ways)
            any |= tighten_about(c, up, j, false, TIGHTEN_ABOUT * over);
    }
    if (any)
        sw_cutter_limits(c->g->cutter, c->own_mm);
    return any;
}

static bool any_excess(const closer *c)
{
    for (size_t j = 0; j < c->g->e->count; j++)
        if (excess(c, j) > 0)
            return true;
    return false;
}

static sw_status try_limits(closer *c, const double *own_mm, sw_error *err)
{
    sw_cutter_limits(c->g->cutter, own_mm);
    sw_status status = sw_cutter_least(c->g->cutter, err);
    return status ? status : look_ahead(c, sw_cutter_cuts(c->g->cutter), err);
}

/* The last step may have been too large: half-way limits are tried between those that do and those before, which did
 * not. */
static sw_status ease(closer *c, sw_error *err)
{
    size_t count = c->g->e->count;
    sw_status status = SW_OK;
    bool done = true;
    for (int k = 0; k < EASINGS && !status; k++) {
        for (size_t j = 0; j < count; j++)
            c->trial_mm[j] = (c->own_mm[j] + c->before_mm[j]) / 2;
        status = try_limits(c, c->trial_mm, err);
        done = !status && !any_excess(c);
        memcpy(done ? c->own_mm : c->before_mm, c->trial_mm, count * sizeof *c->own_mm);
    }
    return status || done ? status : try_limits(c, c->own_mm, err);
}

/* Least cuts again and again, each time for tighter limits. */
static sw_status close_in(closer *c, sw_error *err)
{
    sw_status status = SW_OK;
    int rounds = c->effort == SW_FULLY ? ROUNDS : ROUNDS_ROUGH;
    const sw_true_up *up = sw_cutter_cuts(c->g->cutter);
    for (int round = 0; !status; round++) {
        status = sw_cutter_least(c->g->cutter, err);
        if (!status)
            status = look_ahead(c, up, err);
        if (!status && c->effort == SW_FULLY && round && !any_excess(c))
            return ease(c, err);
        memcpy(c->before_mm, c->own_mm, c->g->e->count * sizeof *c->own_mm);
        if (status || round == rounds || !tighten(c, up))
            break;
    }
    return status;
}

static bool is_worked_at(const closer *c, const sw_true_up *up, size_t j)
{
    return c->out->bevel[j] || is_cut(up, j);
}

/* The seam too close to call at which least comes off; -1 when no more seams are worked at than are over. */
static int one_too_many(const closer *c, const sw_true_up *up)
{
    size_t over = 0, lines = 0;
    double least = INFINITY;
    int spare = -1;
    for (size_t j = 0; j < c->g->e->count; j++) {
        double area = up->cuts[2 * j].area_mm2 + up->cuts[2 * j + 1].area_mm2;
        over += is_over(c, j);
        lines += is_worked_at(c, up, j);
        if (!is_over(c, j) && area > 0 && area < least) {
            least = area;
            spare = (int)j;
        }
    }
    return lines > over ? spare : -1;
}

/* Nobody is asked to work at more seams than are over. */
static sw_status trim(closer *c, sw_error *err)
{
    const sw_true_up *up = sw_cutter_cuts(c->g->cutter);
    sw_status status = sw_cutter_trim(c->g->cutter, err);
    int spare;
    while (!status && (spare = one_too_many(c, up)) >= 0) {
        c->may[spare] = false;
        sw_cutter_forbid(c->g->cutter, (size_t)spare);
        status = sw_cutter_least(c->g->cutter, err);
        if (!status)
            status = sw_cutter_trim(c->g->cutter, err);
    }
    return status;
}

/* On as few edges as do, each with something worth doing. */
static sw_status on_few_edges(closer *c, sw_error *err)
{
    const sw_true_up *up = sw_cutter_cuts(c->g->cutter);
    sw_status status = sw_cutter_few(c->g->cutter, err);
    if (status == SW_NOT_FOUND) { /* the solver's rounding: what it found last is no answer to the same again */
        sw_cutter_allow(c->g->cutter, c->may);
        status = sw_cutter_least(c->g->cutter, err);
    }
    for (int round = 0; !status; round++) {
        status = trim(c, err);
        if (!status)
            status = look_ahead(c, up, err);
        if (status || round == ROUNDS_FEW || !tighten(c, up))
            break;
        status = sw_cutter_least(c->g->cutter, err);
    }
    return status;
}

/* Where bases hold a seam open that is over, they go. */
static void choose_bevels(closer *c)
{
    for (size_t j = 0; j < c->g->e->count; j++) {
        c->out->bevel[j] = is_over(c, j) && c->g->standoff_mm[j] > 0;
        c->g->e->joints[j].floor_mm = c->out->bevel[j] ? 0 : c->g->hold_mm[j];
    }
}

/* Whether anything must come off: a seam is over, and pushing with the faces squared does not promise to close it. */
static bool must_cut(const closer *c)
{
    bool any = false;
    for (size_t j = 0; j < c->g->e->count; j++)
        any |= is_over(c, j) && c->out->forecast[j].verdict != SW_WITHIN;
    return any;
}

static void start_limits(closer *c)
{
    for (size_t j = 0; j < c->g->e->count; j++) {
        const sw_joint *joint = &c->g->e->joints[j];
        const sw_seam *seam = &c->g->ins->seams[j];
        double u95 = 0;
        for (size_t i = 0; i < joint->point_count; i++)
            u95 = fmax(u95, joint->points[i].u95_mm);
        c->own_mm[j] = fmax(LIMIT_LEAST * c->limit_mm, c->limit_mm - SW_GUARD * M_SQRT2 * u95);
        c->may[j] = sw_verdict_of(seam->max_mm, seam->max_u95_mm, c->limit_mm) != SW_WITHIN;
        c->last_mm[j] = INFINITY;
    }
}

static sw_status cut(closer *c, sw_error *err)
{
    start_limits(c);
    sw_cutter_allow(c->g->cutter, c->may);
    sw_cutter_limits(c->g->cutter, c->own_mm);
    sw_status status = close_in(c, err);
    if (!status && c->effort == SW_FULLY)
        status = on_few_edges(c, err);
    return status;
}

sw_status sw_closing_find(const sw_gaping *g, double limit_mm, sw_effort effort, sw_closing *out, sw_error *err)
{
    size_t n = g->e->count + 1;
    *out = (sw_closing){.bevel = calloc(n, sizeof(bool)), .forecast = calloc(n, sizeof *out->forecast)};
    closer c = {.g = g,
                .effort = effort,
                .limit_mm = limit_mm,
                .own_mm = calloc(n, sizeof(double)),
                .before_mm = calloc(n, sizeof(double)),
                .trial_mm = calloc(n, sizeof(double)),
                .last_mm = calloc(n, sizeof(double)),
                .vain = calloc(n, sizeof(int)),
                .may = calloc(n, sizeof(bool)),
                .out = out};
    sw_status status =
        out->bevel && out->forecast && c.own_mm && c.before_mm && c.trial_mm && c.last_mm && c.vain && c.may
            ? SW_OK
            : sw_plan_no_memory(err);
    if (!status) {
        choose_bevels(&c);
        status = look_ahead(&c, NULL, err);
    }
    if (!status && must_cut(&c))
        status = cut(&c, err);
    else
        sw_cutter_nothing(g->cutter);
    if (!status)
        status = sw_cutter_copy(g->cutter, &out->up, err);
    free(c.own_mm);
    free(c.before_mm);
    free(c.trial_mm);
    free(c.last_mm);
    free(c.vain);
    free(c.may);
    if (status)
        sw_closing_free(out);
    return status;
}
