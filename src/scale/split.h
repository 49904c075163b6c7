/* split.h - what of the scale's uncertainty is edge spread, lens, size and perspective. */
#ifndef SW_SCALE_SPLIT_H
#define SW_SCALE_SPLIT_H

#include "seamwright/budget.h"
#include "seamwright/scale.h"

/* Numbers that are taken out one after the other: the edge spread, those of the lens, the size. Directions: one for each
 * alternative, and one along which the edge spread alone moves. */
enum { SW_SPLIT_AXES = SW_LENS_NUMBERS + 2, SW_SPLIT_DIRECTIONS = SW_SCALE_ALTERNATIVES + 1 };

typedef struct sw_scale_split {
    int count; /* directions: alternatives of the scale it was made for, and one */
    int axis_count;
    sw_part part[SW_SPLIT_AXES];
    double axis[SW_SPLIT_AXES][SW_SPLIT_DIRECTIONS];
} sw_scale_split;

void sw_scale_split_make(const sw_scale *scale, sw_scale_split *split);

/* change[i]: how much a figure changes from the scale to its alternative i. Adds the figure's variance, part by part,
 * to variance[SW_PART_SPREAD, SW_PART_LENS, SW_PART_FIT and SW_PART_PERSPECTIVE]; together that is the sum of squares
 * of the changes, to rounding. */
void sw_scale_split_add(const sw_scale_split *split, const double *change, double variance[SW_PART_COUNT]);

#endif
