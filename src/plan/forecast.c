#include "plan/forecast.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/guard.h"
#include "push/lp.h"
#include "push/press.h"

/* A copy of the joints as they are when all is done. */
typedef struct carried {
    sw_joint *joints;
    sw_joint_point *points; /* of all */
} carried;

double sw_hold_seen(const sw_openings *e, size_t joint)
{
    return isfinite(e->least_mm[joint]) ? fmax(0, e->least_mm[joint]) : 0;
}

static void set_floors(const sw_openings *e, const sw_done *done, const double *apart_mm, carried *c)
{
    for (size_t j = 0; j < e->count; j++)
        c->joints[j].floor_mm = done->bevel && done->bevel[j] ? 0 : apart_mm[j];
}

/* False when memory is out. */
static bool carry_out(const sw_openings *e, const sw_done *done, carried *c)
{
    size_t points = 0, n = 0;
    for (size_t j = 0; j < e->count; j++)
        points += e->joints[j].point_count;
    c->joints = calloc(e->count + 1, sizeof *c->joints);
    c->points = calloc(points + 1, sizeof *c->points);
    if (!c->joints || !c->points)
        return false;
    for (size_t j = 0; j < e->count; j++) {
        const sw_joint *from = &e->joints[j];
        c->joints[j] = *from;
        c->joints[j].points = c->points + n;
        for (size_t i = 0; i < from->point_count; i++) {
            c->points[n] = from->points[i];
            c->points[n++].gap_mm += done->up ? sw_true_up_off(done->up, (int)j, from->points[i].at_mm) : 0;
        }
    }
    return true;
}

static void carried_free(carried *c)
{
    free(c->joints);
    free(c->points);
}

/* The ± of the gap at the widest place: pushed, that is the gap read there less the gap read where the tiles touch, so it
 * has the errors of two places. */
static double u95_at_widest(const sw_openings *e, const carried *c, const sw_settled *pushed, size_t j)
{
    const sw_joint *joint = &c->joints[j];
    double widest = -INFINITY, u95 = 0;
    for (size_t i = 0; i < joint->point_count; i++) {
        if (!joint->points[i].limits)
            continue;
        double gap = sw_joint_gap(joint, &joint->points[i], e->centres, pushed->motions);
        if (gap > widest) {
            widest = gap;
            u95 = joint->points[i].u95_mm;
        }
    }
    return M_SQRT2 * u95;
}

static void judge(const sw_openings *e, const carried *c, const sw_settled *ways, int count, const sw_settled *least,
                  double tolerance_mm, sw_forecast *forecast)
{
    for (size_t j = 0; j < e->count; j++) {
        sw_forecast *f = &forecast[j];
        *f = (sw_forecast){.mm = NAN, .u95_mm = NAN, .best_mm = NAN, .verdict = SW_TOO_CLOSE};
        if (!(e->seen[j] > 0))
            continue;
        double most = ways[0].max_mm[j], fewest = fmin(most, least->max_mm[j]);
        for (int w = 1; w < count; w++) {
            most = fmax(most, ways[w].max_mm[j]);
            fewest = fmin(fewest, ways[w].max_mm[j]);
        }
        f->mm = (most + fewest) / 2;
        f->push_mm = (most - fewest) / 2;
        f->best_mm = fmin(f->mm, least->max_mm[j]);
        /* What a seam comes to may well be the end of its range: the guard band of a verdict has to hold all of it. */
        f->u95_mm = hypot(u95_at_widest(e, c, &ways[0], j), f->push_mm / SW_GUARD);
        f->verdict = sw_verdict_of(f->mm, f->u95_mm, tolerance_mm);
    }
}

sw_status sw_forecast_make(const sw_openings *e, const sw_done *done, double tolerance_mm, sw_forecast *forecast,
                           sw_error *err)
{
    carried c = {0};
    sw_settled ways[SW_PRESS_WAYS] = {{0}}, least = {0};
    int count = done->rough ? SW_PRESS_UNEVEN : SW_PRESS_WAYS;
    sw_status status = carry_out(e, done, &c) ? SW_OK : sw_plan_no_memory(err);
    if (!status) {
        set_floors(e, done, done->hold_mm, &c);
        status = sw_press(e->centres, e->tiles, c.joints, e->count, (size_t)count, ways, err);
    }
    if (!status) {
        set_floors(e, done, done->standoff_mm, &c);
        status = sw_press(e->centres, e->tiles, c.joints, e->count, 1, &least, err);
    }
    if (!status)
        judge(e, &c, ways, count, &least, tolerance_mm, forecast);
    for (int w = 0; w < SW_PRESS_WAYS; w++)
        sw_settled_free(&ways[w]);
    sw_settled_free(&least);
    carried_free(&c);
    return status;
}

sw_status sw_forecast_widest(const sw_openings *e, const sw_done *done, double *max_mm, sw_error *err)
{
    carried c = {0};
    sw_settled pushed = {0};
    sw_status status = carry_out(e, done, &c) ? SW_OK : sw_plan_no_memory(err);
    if (!status) {
        set_floors(e, done, done->hold_mm, &c);
        status = sw_press(e->centres, e->tiles, c.joints, e->count, 1, &pushed, err);
    }
    for (size_t j = 0; !status && j < e->count; j++)
        max_mm[j] = e->seen[j] > 0 ? pushed.max_mm[j] : NAN;
    sw_settled_free(&pushed);
    carried_free(&c);
    return status;
}
