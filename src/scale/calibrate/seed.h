/* seed.h - the lines through one crossing of a checkerboard, read from the photo alone. */
#ifndef SW_SCALE_CALIBRATE_SEED_H
#define SW_SCALE_CALIBRATE_SEED_H

#include "scale/calibrate/saddle.h"

/* Given a point near a crossing and a length that a square's side is several times of: the steps along the two lines to
 * the next crossings. SW_NOT_FOUND when this is no crossing or the next ones cannot be seen. */
sw_status sw_seed_search(const sw_photo *photo, sw_point px, double unit_px, sw_saddle_guess *guess);

#endif
