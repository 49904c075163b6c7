/* widest_gap.h - the widest gap that is looked for. */
#ifndef SW_SEAM_WIDEST_GAP_H
#define SW_SEAM_WIDEST_GAP_H

/* The path of a seam is found by the light that is missing against both sides, which are looked for up to this far off
 * the darkest place, mm. */
#define SW_FOLLOWED_GAP_MM 6.0
/* Widest slot that is read, mm. */
#define SW_WIDEST_GAP_MM 8.0

#endif
