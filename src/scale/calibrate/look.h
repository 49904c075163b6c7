/* look.h - where in a photo a checkerboard's crossings may be: places to begin from, in no order on a board.
 */
#ifndef SW_SCALE_CALIBRATE_LOOK_H
#define SW_SCALE_CALIBRATE_LOOK_H

#include <stddef.h>

#include "seamwright/photo.h"

/* Free points with free(). unit_px is a length that a square's side is several times of. */
typedef struct sw_spots {
    sw_point *points;
    size_t count;
    double unit_px;
} sw_spots;

/* The places that look most like crossings, best first. Takes milliseconds. count may be 0. */
sw_status sw_look_for_saddles(const sw_photo *photo, sw_spots *spots, sw_error *err);

/* The same from OpenCV's checkerboard finder, which sees more in blur and noise, and takes seconds when there is
 * nothing to see. least: crossings each way to ask for; try: 0 for the first, coarse look, and so on until SW_NOT_FOUND
 * is final. */
enum { SW_LOOKS = 2 };
sw_status sw_look_with_opencv(const sw_photo *photo, int least, int try, sw_spots *spots, sw_error *err);

#endif
