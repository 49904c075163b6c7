#include "lean/standoff.h"

#include <math.h>
#include <stdbool.h>

#include "maths/guard.h"

/* A standoff smaller than this is a tight seam, mm: hands and dust leave as much. Common practice, no source. */
static const double STANDOFF_LEAST_MM = 0.1;

double sw_standoff_left(const sw_openings *e, const sw_settled *pushed, size_t joint)
{
    const sw_joint *j = &e->joints[joint];
    double least = INFINITY;
    for (size_t i = 0; i < j->point_count; i++)
        least = fmin(least, sw_joint_gap(j, &j->points[i], e->centres, pushed->motions));
    return e->least_mm[joint] - fmax(0, least);
}

void sw_standoffs(const sw_openings *e, const sw_settled *pushed, double *standoff_mm, double *u95_mm)
{
    for (size_t j = 0; j < e->count; j++) {
        double left = sw_standoff_left(e, pushed, j);
        bool sure = e->seen[j] > 0 && left - SW_GUARD * e->least_u95_mm[j] >= STANDOFF_LEAST_MM;
        standoff_mm[j] = sure ? left : 0;
        u95_mm[j] = e->least_u95_mm[j];
    }
}
