/* seams.c - every seam now, pushed, and after the plan; where tiles touch. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "plan/making.h"
#include "push/lp.h"

/* Tiles touch where pushing leaves less than this, mm; touching places nearer to each other than TOUCH_APART_MM are
 * one. */
static const double TOUCH_MM = 0.015, TOUCH_APART_MM = 40;
enum { TOUCHES = sizeof(((sw_seam_plan *)0)->touch_mm) / sizeof(double) };

static void find_touches(const sw_making *m, const sw_joint *joint, sw_seam_plan *seam)
{
    double last = -INFINITY;
    for (size_t i = 0; i < joint->point_count && seam->touch_count < TOUCHES; i++) {
        const sw_joint_point *p = &joint->points[i];
        if (sw_joint_gap(joint, p, m->e.centres, m->pushed.motions) > TOUCH_MM)
            continue;
        if (p->at_mm - last >= TOUCH_APART_MM)
            seam->touch_mm[seam->touch_count++] = p->at_mm;
        last = p->at_mm;
    }
}

/* For any layout: both tiles on the common square, each edge read to its own ±. */
static void take_forecast(const sw_making *m, size_t j, sw_seam_plan *seam)
{
    const sw_forecast *f = m->closing.forecast ? &m->closing.forecast[j] : NULL;
    if (f) {
        seam->max_after_mm = seam->forecast_mm = f->mm;
        seam->forecast_u95_mm = f->u95_mm;
        seam->best_mm = f->best_mm;
        seam->forecast = f->verdict;
        return;
    }
    seam->forecast_mm = seam->best_mm = seam->max_after_mm;
    seam->forecast_u95_mm = m->all->seams[j].max_u95_mm;
    seam->forecast = sw_verdict_of(seam->forecast_mm, seam->forecast_u95_mm, m->tolerance_mm);
}

sw_status sw_plan_seams(sw_making *m, sw_error *err)
{
    sw_plan *plan = m->plan;
    if (!plan->seams)
        plan->seams = calloc(m->e.count + 1, sizeof *plan->seams);
    if (!plan->seams)
        return sw_plan_no_memory(err);
    plan->seam_count = m->e.count;
    for (size_t j = 0; j < m->e.count; j++) {
        const sw_seam *from = &m->all->seams[j];
        sw_seam_plan *seam = &plan->seams[j];
        bool seen = m->e.seen[j] > 0;
        snprintf(seam->name, sizeof seam->name, "%s", from->name);
        seam->max_now_mm = from->max_mm;
        seam->max_now_u95_mm = from->max_u95_mm;
        seam->max_pushed_mm = seen ? m->pushed.max_mm[j] : NAN;
        take_forecast(m, j, seam);
        seam->standoff_mm = m->standoff_mm[j];
        if (seen)
            find_touches(m, &m->e.joints[j], seam);
    }
    return SW_OK;
}

bool sw_plan_fits(const sw_plan *plan)
{
    for (size_t j = 0; j < plan->seam_count; j++)
        if (plan->seams[j].forecast != SW_WITHIN)
            return false;
    return plan->purpose != SW_PLAN_ANY || plan->fits_every_way;
}
