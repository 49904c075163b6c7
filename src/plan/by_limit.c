/* by_limit.c - how good is good enough: what other limits would cost. */
#include <math.h>
#include <stdlib.h>

#include "plan/making.h"
#include "push/lp.h"

/* Limits that people who build such tables talk about, mm. Common practice, no source. */
static const double LIMITS_MM[] = {0.3, 0.5, 0.8, 1.0, 1.5, 2.0};
enum { LIMITS = sizeof LIMITS_MM / sizeof *LIMITS_MM };

/* A bevelled seam has one face that leans, at least. */
static sw_limit_cost cost_of(const sw_making *m, const sw_closing *closing, double limit_mm)
{
    sw_limit_cost cost = {.limit_mm = limit_mm};
    for (size_t j = 0; j < m->e.count; j++)
        cost.bevels += closing->bevel[j];
    for (size_t c = 0; c < closing->up.count; c++) {
        cost.true_ups += closing->up.cuts[c].deepest_mm >= SW_LEAST_REMOVAL_MM;
        cost.removed_mm2 += closing->up.cuts[c].area_mm2;
    }
    return cost;
}

sw_status sw_plan_by_limit(sw_making *m, sw_error *err)
{
    sw_plan *plan = m->plan;
    sw_status status = SW_OK;
    plan->by_limit = calloc(LIMITS, sizeof *plan->by_limit);
    if (!plan->by_limit)
        return sw_plan_no_memory(err);
    for (int k = LIMITS - 1; k >= 0 && !status; k--) {
        sw_closing closing = {0};
        sw_gaping gaping = {m->all, &m->e, m->hold_mm, m->standoff_mm, m->cutter};
        bool own = fabs(LIMITS_MM[k] - m->tolerance_mm) < 1e-9;
        status = own ? SW_OK : sw_closing_find(&gaping, LIMITS_MM[k], SW_ROUGHLY, &closing, err);
        if (!status)
            plan->by_limit[k] = cost_of(m, own ? &m->closing : &closing, LIMITS_MM[k]);
        sw_closing_free(&closing);
    }
    plan->by_limit_count = status ? 0 : LIMITS;
    return status;
}
