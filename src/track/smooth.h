/* smooth.h - a rim freed of its scatter: robust local parabolas. */
#ifndef SW_TRACK_SMOOTH_H
#define SW_TRACK_SMOOTH_H

#include "track/track.h"

/* Fills the points' across and rim_random_mm, rim_noise_mm, and the track's scatter_mm and rim_freedom of a rim. baseline:
 * its running median, destroyed. work holds 3 track->count + 4 numbers. */
void sw_rim_smooth(sw_track *track, int rim, double *baseline, double *work);

#endif
