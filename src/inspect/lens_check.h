/* lens_check.h - whether a photo contradicts the lens profile it was given. */
#ifndef SW_INSPECT_LENS_CHECK_H
#define SW_INSPECT_LENS_CHECK_H

#include <stdbool.h>

#include "seam/straight.h"

/* How far the scale by a profile is from the one that the same cards, seams and edges give without: the sum of squares of what it takes, in
 * standard deviations, of both scales' uncertainties to explain the difference over a table of width x height mm from the scale's origin
 * to the south-east. 0 where that cannot be said. `own` is a scale without a profile; it becomes what edges make of it (sw_straighten). */
sw_status sw_lens_contradiction(const sw_scale *scale, sw_scale *own, const sw_traces *traces, const sw_grid *grid,
                                double width_mm, double height_mm, double *squares, sw_error *err);

/* Beyond the first, angles and lengths must hold the other scale's, too; beyond the second it is said. */
#define SW_LENS_OTHER_SQUARES 5.0
#define SW_LENS_DOUBTFUL_SQUARES 60.0

/* Whether that is enough to refuse the profile: right ones give under 5 on made photos, k1 off by 0.01 gives 15 with four cards. Tops that
 * are not level and rims misread pull the own lens, too (hundreds), but then the cards fit no worse by the profile than without. A single
 * card cannot show that, so the difference must be larger. */
bool sw_lens_contradicted(const sw_scale *scale, const sw_scale *own, double squares);

#endif
