/* strokes.h - line-like places of the reduced picture, in mm, with the direction of their brightness gradient. */
#ifndef SW_STROKES_H
#define SW_STROKES_H

#include "seamwright/scale.h"
#include "small.h"

typedef struct sw_stroke {
    float x, y;      /* mm */
    float gx, gy;    /* unit direction of the gradient, in mm axes */
    float weight;    /* 0 to 1 */
} sw_stroke;

typedef struct sw_strokes {
    sw_stroke *items;
    size_t count;
    double bin_mm; /* size of a reduced pixel on the table */
} sw_strokes;

/* All places with a clear brightness step that do not belong to the reference squares. Free with sw_strokes_free. */
sw_status sw_strokes_find(const sw_small *small, const sw_scale *scale, sw_strokes *strokes, sw_error *err);
void sw_strokes_free(sw_strokes *strokes);

/* Direction of the tiles' sides, radians from the x axis, in (-pi/4, pi/4]: the one along which strokes gather in the
 * sharpest lines near the squares. */
double sw_strokes_direction(const sw_strokes *strokes, const sw_scale *scale);

#endif
