#include <math.h>
#include <stddef.h>

#include "plan_parts.h"

/* Seams are planned right up to the tolerance; the rounding of a linear programme and of plan.json (0.0001 mm) must not
 * turn the verdict. A photo tells 0.02 mm at best. */
static const double ROUNDING_MM = 0.001;

const char *sw_plan_for_name(sw_plan_for purpose)
{
    return purpose == SW_PLAN_ANY ? "any" : "layout";
}

const char *sw_lean_name(sw_lean_known lean)
{
    return lean == SW_LEAN_KNOWN ? "known" : lean == SW_LEAN_OPEN ? "open" : NULL;
}

int sw_plan_fits(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->seam_count; i++)
        if (!(plan->seams[i].max_after_mm <= plan->tolerance_mm + ROUNDING_MM)) /* NaN, not seen: nobody knows */
            return 0;
    return plan->purpose != SW_PLAN_ANY || plan->fits_every_way;
}
