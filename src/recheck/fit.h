/* fit.h - a tile's outline after sanding, laid on its outline before.
 *
 * Side s of the tile reaches h_s(u) from the tile's middle (u as in outline_at.h). The later outline lies in a frame of
 * its own: shifted by d and turned clockwise by phi against the earlier one. What came off is
 *
 *     r_s(u) = before_s(u) - after_s(u) - n_s . d + phi u,        n_s the outward normal of side s.
 *
 * d and phi are not known. r is not below 0, and 0 where nobody should have sanded.
 */
#ifndef SW_RECHECK_FIT_H
#define SW_RECHECK_FIT_H

#include <stdbool.h>

#include "push/outline_at.h"
#include "seamwright/status.h"

/* What is known of one place before it is fitted. */
typedef struct sw_fit_place {
    int side;
    double u_mm;
    double missing_mm; /* before less after, each from its own middle */
    double shape_mm;   /* its standard uncertainty against its neighbours' */
    bool free;         /* something may have come off here; else nothing should have */
} sw_fit_place;

/* What the outlines allow: at u = -half (end 0) and +half (end 1) of each side, the middle of all n . d - phi u that
 * fit, and half their range. Between the ends both are linear (the range at most). */
typedef struct sw_fit {
    double middle_mm[4][2], range_mm[4][2];
    double astray_mm; /* mean of what is missing, or too much, by the best motion at places that are not free; 0 when
                         none */
} sw_fit;

/* Over this length the errors of an outline's places go together, mm: light in the gaps moves them slowly, noise faster
 * (22 mm, SW_INDEPENDENT_MM). Found on made photos. */
static const double SW_TOGETHER_MM = 60;

/* SW_NOT_FOUND when the places are too few to hold the outline. */
sw_status sw_fit_outline(const sw_fit_place *places, size_t count, double half_mm, sw_fit *fit, sw_error *err);

/* By the best motion, how unlikely what would have had to grow is: minus the log-likelihood. Every place should be free.
 * SW_NOT_FOUND as above. */
sw_status sw_fit_grown(const sw_fit_place *places, size_t count, double half_mm, double *cost, sw_error *err);

/* middle and range at u. */
double sw_fit_middle(const sw_fit *fit, int side, double u_mm, double half_mm);
double sw_fit_range(const sw_fit *fit, int side, double u_mm, double half_mm);

#endif
