/* tops.h - the planes of all tiles' tops, and how well they are known. */
#ifndef SW_TABLE_TOPS_H
#define SW_TABLE_TOPS_H

#include <stdbool.h>

#include "scale/frame.h"
#include "seamwright/defaults_and_ranges.h"

enum { SW_TOPS_MOST = SW_TABLE_MOST };

typedef enum sw_tops_source {
    SW_TOPS_UNKNOWN = 0, /* nothing says how the tops stand: taken as level, within step_u_mm */
    SW_TOPS_GIVEN,
    SW_TOPS_MEASURED
} sw_tops_source;

/* Tiles by [column][row]. Slopes are those of the mm frame. */
typedef struct sw_tops {
    sw_tops_source source;
    int columns, rows;
    sw_top top[SW_TOPS_MOST][SW_TOPS_MOST];
    bool told
        [SW_TOPS_MOST]
        [SW_TOPS_MOST]; /* something tells of this one; else it is taken to stand at the plane, within height_u_mm */
    bool several;       /* measured from several photos: one more would tell little more */
    bool uneven;        /* measured: one level does not fit them, or several photos told */
    double spread_mm,
        slope_spread; /* standard deviations of heights and slopes, as the tops that tell show them; 0: not known */
    double height_u_mm[SW_TOPS_MOST][SW_TOPS_MOST]; /* standard uncertainty of a top's height against the others */
    double slope_u[SW_TOPS_MOST][SW_TOPS_MOST];     /* of its slope, any direction */
    double step_u_upright_mm[SW_TOPS_MOST + 1][SW_TOPS_MOST], step_u_level_mm[SW_TOPS_MOST][SW_TOPS_MOST + 1]; /* of the
        step at a line of the grid, at its middle and ends */
} sw_tops;

#endif
