/* crossing.h - brightness along a stretch of a pixel row or column that crosses an edge, sharpening undone. */
#ifndef SW_PHOTO_CROSSING_H
#define SW_PHOTO_CROSSING_H

#include <stdbool.h>

#include "seamwright/photo.h"

enum { SW_CROSSING_MAX = 160, SW_SOFTEN_REACH = 14 };

/* Symmetric filter that undoes the sharpening; tap[0] is the middle one. */
typedef struct sw_soften {
    int reach; /* last tap that counts; 0: nothing to undo */
    double tap[SW_SOFTEN_REACH + 1];
} sw_soften;

/* amount 0 or more (0: no sharpening), radius_px of the Gaussian as it appears along the crossing. */
sw_soften sw_soften_make(double amount, double radius_px);

/* Linear light (0 to 1) at count places from `start` on, along row `line` (along_row) or column `line`, sharpening
 * undone. Places outside the photo repeat its rim. count <= SW_CROSSING_MAX. Returns how many of the places lay outside. */
int sw_crossing_read(const sw_photo *photo, const sw_soften *soften, bool along_row, int line, int start, int count,
                     double *out);

/* The same in stored values (0 to (1 << bits) - 1), sharpening not undone. */
int sw_crossing_stored(const sw_photo *photo, bool along_row, int line, int start, int count, double *out);

/* Stored value, not necessarily whole, to linear light; values below 0 or over the top are cut. */
static inline double sw_linear_of(const sw_photo *photo, double stored)
{
    int top = (1 << photo->bits) - 1;
    if (stored <= 0)
        return photo->linear[0];
    if (stored >= top)
        return photo->linear[top];
    int at = (int)stored;
    double part = stored - at;
    return photo->linear[at] + part * (photo->linear[at + 1] - photo->linear[at]);
}

#endif
