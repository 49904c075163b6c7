/* tick.h - thin dark strokes that reach the rim, in a band of light. */
#ifndef SW_MARK_TICK_H
#define SW_MARK_TICK_H

#include "mark/band.h"

/* Strokes up to so much off the right angle to the rim, mm along per mm in (35 degrees): more is no half-way mark. */
#define SW_TICK_SLANT 0.7
/* What is needed to either side of a stroke, mm. */
#define SW_TICK_BESIDE_MM 2.6

/* along = at_mm + slope depth. */
typedef struct sw_tick {
    double at_mm, slope;
    double u_mm; /* standard uncertainty of at_mm, from the stroke's own places */
    double turn; /* by how much it may turn between where it is seen and the rim, mm/mm, standard uncertainty */
    double start_mm, length_mm; /* depth where it begins to be seen, and how far it then runs (in depth) */
    double width_mm;            /* of the stroke itself, blur taken off */
    double dark;                /* share of the light that it takes at its darkest, as the photo shows it */
    double significance;        /* in standard deviations of the band's own texture */
} sw_tick;

enum { SW_TICKS_MOST = 4 };

/* All strokes of a band that meet the rim within reach_mm of the half, at most SW_TICKS_MOST. blur_mm: the photo's
 * blur, one standard deviation. SW_NO_MEMORY. */
sw_status sw_ticks_find(const sw_band *band, double reach_mm, double blur_mm, sw_tick strokes[SW_TICKS_MOST],
                        int *count);

/* Fits one stroke from a rough line (at_mm, slope) and the rows in which it was seen; the rest is filled. SW_NOT_FOUND
 * when what is there is no stroke. */
sw_status sw_tick_fit(const sw_band *band, double blur_mm, int from_row, int to_row, sw_tick *stroke);

#endif
