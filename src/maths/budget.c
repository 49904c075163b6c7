#include "maths/budget.h"

#include <math.h>

#include "maths/stats.h"

/* Degrees of freedom this close below a whole number, relatively, are that number: 1 / (1 / v) must not lose one. */
static const double WHOLE_ROUNDING = 1e-12;

/* A component's standard uncertainty in the result's unit, |c| u; NaN when the component makes no sense. */
static double part_of(const sw_component *c)
{
    double part = fabs(c->sensitivity) * c->u;
    if (!isfinite(part) || c->u < 0.0)
        return NAN;
    return part == 0.0 || c->degrees_of_freedom > 0.0 ? part : NAN;
}

static void expand(double u, double v, sw_budget *budget)
{
    double whole = floor(v * (1.0 + WHOLE_ROUNDING));
    double k95 = sw_coverage_factor(0.95, whole), k99 = sw_coverage_factor(0.99, whole);
    *budget = (sw_budget){u, v, k95, k99, k95 * u, k99 * u};
}

sw_status sw_budget_combine(const sw_component *components, size_t count, sw_budget *budget)
{
    *budget = (sw_budget){0};
    double u = 0.0;
    for (size_t i = 0; i < count; i++)
        u = hypot(u, part_of(&components[i]));
    if (!isfinite(u))
        return SW_BAD_INPUT;
    /* JCGM 100 G.2b divided through by u^4: 1 / v = sum (part / u)^4 / v_i; 0 when every u is exact. */
    double inverse = 0.0;
    for (size_t i = 0; i < count; i++) {
        double share = part_of(&components[i]) / u;
        if (share > 0.0)
            inverse += share * share * share * share / components[i].degrees_of_freedom;
    }
    expand(u, 1.0 / inverse, budget);
    return SW_OK;
}
