/* tone.h - how well the photo's tone curve is known where the tops lie, and what that makes of narrow gaps. */
#ifndef SW_SCALE_TONE_H
#define SW_SCALE_TONE_H

#include "seamwright/scale.h"

/* Of a gap narrower than the blur only the light that is missing shows, as a share of the tops' light: width times the slope of the logarithm of light over
 * stored values, at the tops' level. Standard uncertainty of that slope, share of it, as far as the cards' black tells; 0 where it is as print is. top: the tops' light, linear, by the curve of the scale. */
double sw_tone_u_rel(const sw_scale *scale, double top);

#endif
