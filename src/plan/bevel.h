/* bevel.h - which seams need a bevel: the tops cannot come nearer than the bases let them. */
#ifndef SW_PLAN_BEVEL_H
#define SW_PLAN_BEVEL_H

#include <stdbool.h>

#include "plan/trueup.h"
#include "push/openings.h"

/* standoff_mm: of each joint, how far its bases hold the tops apart. With the cuts of `up` made, finds the joints whose
 * standoff must go, wholly, for every seam to come within tolerance by the lower end of its interval; needs[j] is true for
 * these. The least sum of standoff x length is taken away. */
sw_status sw_bevels_find(const sw_openings *openings, const sw_true_up *up, const double *standoff_mm,
                         double tolerance_mm, bool *needs, sw_error *err);

#endif
