/* openings.h - an inspection's seams as joints: what was seen, thinned to what can matter, and carried on to the seam's
 * ends. */
#ifndef SW_PUSH_OPENINGS_H
#define SW_PUSH_OPENINGS_H

#include "push/settle.h"
#include "seamwright/report.h"

/* Joint k is the inspection's seam k. Free with sw_openings_free. */
typedef struct sw_openings {
    sw_joint *joints;
    size_t count;
    sw_point *centres; /* of the tiles */
    size_t tiles;
    double *least_mm, *least_u95_mm; /* of each joint: its least gap, and the ± there; NaN when not seen */
    double *seen;                    /* share of each joint that was seen, 0 to 1 */
} sw_openings;

void sw_openings_free(sw_openings *openings);

/* In every bin of a few mm the narrowest and the widest station are kept: the one keeps the tiles apart, the other
 * limits. Chips limit nothing and keep nothing apart.
 * The last few mm of a seam, which the crossing seam disturbs, are carried on from a line through the last stations
 * that were read well. A seam that was not seen gets two points, one at each end, with gap 0 that keep its tiles from
 * coming nearer than they lie now. */
sw_status sw_openings_make(const sw_inspection *inspection, sw_openings *openings, sw_error *err);

/* Which edge of a seam: side of its first (rim 0) or second tile (rim 1). */
sw_side sw_joint_side(const sw_seam *seam, int rim);

#endif
