/* darkness.h - how dark a line of the table is. */
#ifndef SW_TABLE_DARKNESS_H
#define SW_TABLE_DARKNESS_H

#include "seamwright/scale.h"

/* Share of the light beside a line that is missing where it is darkest, the median of its places: 0 where there is no line, towards 1 for
 * an open gap. at: across, mm, known to SW_SLIP_MM; it runs between `from` and `to`, mm. Places on cards or outside the photo are left
 * out; 0 where none is left. */
double sw_darkness(const sw_photo *photo, const sw_scale *scale, bool upright, double at, double from, double to);

#endif
