/* strokes.h - line-like places of the reduced picture, in mm, with the direction of their brightness gradient. */
#ifndef SW_TABLE_STROKES_H
#define SW_TABLE_STROKES_H

#include "photo/small.h"
#include "seamwright/scale.h"

typedef struct sw_stroke {
    float x, y;   /* mm */
    float gx, gy; /* unit direction of the gradient, in mm axes */
    float weight; /* 0 to 1 */
} sw_stroke;

typedef struct sw_strokes {
    sw_stroke *items;
    size_t count;
    double bin_mm; /* size of a reduced pixel on the table */
} sw_strokes;

/* All places with a clear brightness step that do not belong to the reference squares. Free with sw_strokes_free. */
sw_status sw_strokes_find(const sw_small *small, const sw_scale *scale, sw_strokes *strokes, sw_error *err);
void sw_strokes_free(sw_strokes *strokes);

/* Directions that the tiles' sides may have, radians from the x axis (a quarter turn more is the same): those along
 * which the strokes near the squares gather in the sharpest lines, the best first. Returns how many; angles holds
 * SW_DIRECTIONS. */
enum { SW_DIRECTIONS = 4 };
int sw_strokes_directions(const sw_strokes *strokes, const sw_scale *scale, double *angles);

#endif
