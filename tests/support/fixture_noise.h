/* fixture_noise.h - more photos of the made-up table, each with errors of known size. */
#ifndef SW_SUPPORT_FIXTURE_NOISE_H
#define SW_SUPPORT_FIXTURE_NOISE_H

#include "support/fixture.h"

/* Standard deviations of what a photo gets wrong, and what is stated. Each photo draws its own error for each seam's
 * gap (the same all along it), for each corner angle (a hundredth of it, degrees), length and straightness. */
typedef struct fixture_noise {
    double drawn_mm;             /* of each photo's own error */
    double random_mm, common_mm; /* stated: random part, common part */
} fixture_noise;

/* The fixture's inspection as photo number `shot` shows it. file becomes its name. Means and tapers are those of its
 * stations. */
void fixture_shot(int shot, const char *file, const fixture_noise *noise, sw_inspection *inspection);

/* Adds to all gaps of a seam. */
void fixture_widen(sw_seam *seam, double by_mm);

/* The seam of this name; ends the test program when there is none. */
sw_seam *fixture_seam(const sw_inspection *inspection, const char *name);

#endif
