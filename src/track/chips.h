/* chips.h - short bites out of a rim: how long and how deep a chip is at least and at most. */
#ifndef SW_TRACK_CHIPS_H
#define SW_TRACK_CHIPS_H

#include "seamwright/status.h"
#include "track/track.h"

/* Sets the chips of a rim apart (its points' `chip`, and track->chips). baseline gets what they are measured from, the
 * rim's running median without them; it and work hold track->count numbers. SW_NOT_FOUND: too few places to tell. */
sw_status sw_chips_find(sw_track *track, int rim, double *baseline, double *work);

#endif
