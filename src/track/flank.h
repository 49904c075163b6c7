/* flank.h - places beside a chip, or beside the crossing seam where a step hides it, that are read unlike the rest of their seam. */
#ifndef SW_TRACK_FLANK_H
#define SW_TRACK_FLANK_H

#include "track/track.h"

/* Raises the points' model_mm and systematic_mm so that they hold both their own gap and that of the seam farther on. The track is of a seam,
 * smoothed, with its chips. */
void sw_flank_widen(sw_track *track);

#endif
