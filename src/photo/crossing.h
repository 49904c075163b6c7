/* crossing.h - brightness along a stretch of a pixel row or column that crosses an edge.
 *
 * Edges are read where the pixels are, not interpolated: an edge that runs more upright than level is crossed along pixel
 * rows, the others along columns. Nothing is blurred a second time; a crossing that is slanted by an angle t against the
 * edge's normal only sees every width, blur and sharpening radius 1 / cos t longer.
 *
 * Phones sharpen the stored values v by v + a (v - G v), G a Gaussian of radius r. Along a straight edge G is one-dimensional,
 * so the sharpening is undone along the crossing, in stored values, before the tone curve is: the inverse filter
 * 1 / (1 + a - a G^) has gains between 1 / (1 + a) and 1, so it damps noise and is short.
 */
#ifndef SW_PHOTO_CROSSING_H
#define SW_PHOTO_CROSSING_H

#include "seamwright/photo.h"

enum { SW_CROSSING_MAX = 160, SW_SOFTEN_REACH = 14 };

/* Symmetric filter that undoes the sharpening; tap[0] is the middle one. */
typedef struct sw_soften {
    int reach; /* last tap that counts; 0: nothing to undo */
    double tap[SW_SOFTEN_REACH + 1];
} sw_soften;

/* amount 0 or more (0: no sharpening), radius_px of the Gaussian as it appears along the crossing. */
sw_soften sw_soften_make(double amount, double radius_px);

/* Linear light (0 to 1) at count places from `start` on, along row `line` (along_row 1) or column `line` (0), sharpening
 * undone. Places outside the photo repeat its rim. count <= SW_CROSSING_MAX. Returns how many of the places lay outside. */
int sw_crossing_read(const sw_photo *photo, const sw_soften *soften, int along_row, int line, int start, int count,
                     double *out);

/* The same in stored values (0 to (1 << bits) - 1), sharpening not undone. */
int sw_crossing_stored(const sw_photo *photo, int along_row, int line, int start, int count, double *out);

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
