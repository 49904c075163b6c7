/* common.h - one tile against a common square.
 *
 * In the frame of the tile's own best square let q(s, u) be how far its edge s lies from the middle, at u along it
 * (outline_at.h). A square of side S, shifted by d and turned by t, lies at S / 2 + n_s . d + t u there. Sanding can
 * bring the edge down to it; a place may lie below it by half the tolerance, for two such places that meet make the
 * tolerance:
 *
 *     0 <= S / 2 + n_s . d + t u - (q - off) <= tolerance / 2
 */
#ifndef SW_PLAN_COMMON_H
#define SW_PLAN_COMMON_H

#include "plan/trueup.h"
#include "push/outline_at.h"

/* The largest square that no place of the tile falls short of by more than half the tolerance. NaN in *side_mm when too
 * little of the tile was seen. */
sw_status sw_common_largest(const sw_outline *outline, double tolerance_mm, double *side_mm, sw_error *err);

/* The least that must come off the four edges for the tile to fit the square of that side. cuts: four, with knots and
 * lengths set; remove_mm, area and deepest are filled. below_mm, when not NULL, gets for every side and sample of the
 * outline how far the edge then lies below the square (NaN where nothing is known): below_mm[side * (2 reach + 1) + k].
 * SW_NOT_FOUND: not with cuts of at most deepest_mm. */
sw_status sw_common_cuts(const sw_outline *outline, double side_mm, double tolerance_mm, double deepest_mm,
                         sw_cut cuts[4], double *below_mm, sw_error *err);

#endif
