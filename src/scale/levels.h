/* levels.h - what the photo's levels tell of programs that changed them: paper that is not evenly white, levels that are missing. */
#ifndef SW_SCALE_LEVELS_H
#define SW_SCALE_LEVELS_H

#include "scale/bundle.h"

/* How much lighter a frame card's paper is near its black than in its middle, logarithm, median over the cards (0: no frame was read). Paper is
 * even; local tone mapping lightens what lies beside something dark. */
double sw_paper_unevenness(const sw_photo *photo, const sw_sighting *sightings, int count);

/* How much the whole photo's histogram over 256 levels jumps from level to level, share of the photo, the dozen largest jumps left out: 0.01 to
 * 0.06 in clean photos, 2 at most. Levels of which many are missing were rounded coarsely. 0 for photos of more than 8 bits. */
double sw_levels_jaggedness(const sw_photo *photo);

#endif
