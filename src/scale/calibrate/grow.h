/* grow.h - a checkerboard's crossings, one found from the other. */
#ifndef SW_SCALE_CALIBRATE_GROW_H
#define SW_SCALE_CALIBRATE_GROW_H

#include <stdbool.h>

#include "scale/calibrate/look.h"
#include "scale/calibrate/saddle.h"

/* Half the window's side in steps. Small while the guess is a pixel off and the lens not known, for its bend grows with
 * the square of the window; once the lens is known, as large as can be without the next crossing, whose blur and
 * sharpening reach 0.1 to 0.2 steps. Practice photos, RMS distance from the true camera: lens unknown, 0.35: 0.0178 px,
 * 0.65: 0.0198, 0.8: 0.0221 (on the pixel grid); lens known, 0.35: 0.0085, 0.5: 0.0077, 0.65: 0.0073. OpenCV's
 * cornerSubPix on the same corners: 0.033 to 0.036 in stored values, 0.020 at best (linear light, blurred by 2 px). */
static const double SW_REACH_FIRST = 0.35, SW_REACH_LAST = 0.65;
/* What half a turn may leave, over the contrast: sharp photos leave 0.02 to 0.05, noise at night 0.1; a finger or the
 * board's rim in the window leaves 0.3. */
static const double SW_MISFIT_MOST = 0.2;

typedef struct sw_cell {
    bool found;
    unsigned tried; /* bit w: looked for in vain from its neighbours in way w */
    sw_saddle saddle;
    sw_point across, down;
} sw_cell;

/* Room for the board to grow both ways from wherever its seed lies. */
typedef struct sw_field {
    const sw_photo *photo;
    int side;       /* cells each way */
    sw_cell *cells; /* row after row, the caller's */
} sw_field;

/* The cell's crossing, or NULL outside the field and where none is known. */
const sw_cell *sw_field_known(const sw_field *f, int column, int row);

/* Grows a board from every spot that is not on one already, and keeps the one that covers most of the photo (or what f
 * held before, if that is larger). found: how many crossings f holds now. SW_NO_MEMORY. */
sw_status sw_field_grow(sw_field *f, const sw_spots *spots, int *found);

#endif
