/* pushed.h - a layout after an ordinary push (press.h), in whatever of its ways the tiles come to lie.
 *
 * Slips along seams count for nothing, so each row and column moves freely along itself, and how far bases hold two
 * tops apart is simply added to that joint's gaps; it changes neither turns nor other joints. So one push of the tops
 * serves for all leans.
 */
#ifndef SW_ARRANGE_PUSHED_H
#define SW_ARRANGE_PUSHED_H

#include "arrange/puzzle.h"

/* Free with sw_pushed_free. */
typedef struct sw_pushed {
    double *max_mm; /* of each meeting: widest gap between the tops, of all ways to push; NaN when hardly seen */
    double *inward_mm, *mean_mm; /* the same of the ordinary push alone, and its mean gap */
    size_t count;
} sw_pushed;

void sw_pushed_free(sw_pushed *pushed);
/* SW_NO_MEMORY, SW_BROKEN; SW_NOT_FOUND: they cannot be pushed. *pushed is zeroed on failure. */
sw_status sw_pushed_make(const sw_puzzle *puzzle, const sw_place *places, const sw_outline *outlines, double pitch_mm,
                         sw_pushed *pushed, sw_error *err);

#endif
