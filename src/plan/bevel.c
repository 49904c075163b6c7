/* bevel.c - a linear programme again: motions, how much of each standoff is taken away, and an excess that always
 * allows a solution.
 *
 *     gap + off + J motion >= standoff - bevelled      gap + off + J motion <= tolerance + guard + excess
 */
#include "plan/bevel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/guard.h"
#include "push/motion.h"

/* Dearer than any bevel, mm2 a mm. */
static const double EXCESS_COST = 1e6;
/* A standoff of which less than this has to go is left as it is, mm. */
static const double LEAST_BEVEL_MM = 0.05;

static double length_of(const sw_joint *joint)
{
    return joint->point_count ? fmax(1, joint->points[joint->point_count - 1].at_mm - joint->points[0].at_mm) : 1;
}

static void add_joint(sw_lp *lp, const sw_openings *e, const sw_true_up *up, int j, int motion, int bevel, int excess,
                      double standoff, double tolerance)
{
    const sw_joint *joint = &e->joints[j];
    sw_lp_term terms[7];
    for (size_t i = 0; i < joint->point_count; i++) {
        const sw_joint_point *p = &joint->points[i];
        int count = sw_motion_terms(joint, p->at_mm, e->centres, motion, terms);
        double gap = p->gap_mm + sw_true_up_off(up, j, p->at_mm);
        terms[count] = (sw_lp_term){bevel, 1};
        if (p->apart)
            sw_lp_row(lp, standoff - gap, INFINITY, terms, (size_t)count + 1);
        terms[count] = (sw_lp_term){excess, -1};
        if (p->limits)
            sw_lp_row(lp, -INFINITY, tolerance + SW_GUARD * p->u95_mm - gap, terms, (size_t)count + 1);
    }
}

sw_status sw_bevels_find(const sw_openings *e, const sw_true_up *up, const double *standoff_mm, double tolerance_mm,
                         bool *needs, sw_error *err)
{
    sw_lp *lp = sw_lp_new();
    memset(needs, 0, e->count * sizeof *needs);
    if (!lp)
        return sw_plan_no_memory(err);
    int motion = sw_motion_columns(lp, e->tiles), first = 0;
    for (size_t j = 0; j < e->count; j++) {
        int bevel = sw_lp_column(lp, 0, standoff_mm[j], length_of(&e->joints[j]));
        first = j ? first : bevel;
        sw_lp_column(lp, 0, INFINITY, EXCESS_COST);
    }
    for (size_t j = 0; j < e->count; j++)
        add_joint(lp, e, up, (int)j, motion, first + 2 * (int)j, first + 2 * (int)j + 1, standoff_mm[j], tolerance_mm);
    sw_status status = sw_lp_solve(lp, err);
    for (size_t j = 0; !status && j < e->count; j++)
        needs[j] = sw_lp_value(lp, first + 2 * (int)j) > LEAST_BEVEL_MM;
    sw_lp_free(&lp);
    return status;
}
