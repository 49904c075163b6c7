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
        if (plan->purpose == SW_PLAN_LAYOUT)
            seam->max_after_mm = seen ? m->after.max_mm[j] : NAN;
        seam->standoff_mm = m->standoff_mm[j];
        if (seen)
            find_touches(m, &m->e.joints[j], seam);
    }
    return SW_OK;
}

bool sw_plan_is_over(const sw_plan *plan, const sw_seam_plan *seam, double mm)
{
    double u95 = isfinite(seam->max_now_u95_mm) ? seam->max_now_u95_mm : 0;
    return mm > plan->tolerance_mm + fmax(u95, SW_LEAST_REMOVAL_MM);
}

/* Every seam was seen, and comes within the tolerance as far as can be told. */
bool sw_plan_fits(const sw_plan *plan)
{
    if (plan->purpose == SW_PLAN_ANY)
        return plan->fits_every_way;
    for (size_t j = 0; j < plan->seam_count; j++)
        if (!isfinite(plan->seams[j].max_after_mm) ||
            sw_plan_is_over(plan, &plan->seams[j], plan->seams[j].max_after_mm))
            return false;
    return true;
}
