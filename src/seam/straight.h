/* straight.h - the lens, from the tiles' own edges. */
#ifndef SW_SEAM_STRAIGHT_H
#define SW_SEAM_STRAIGHT_H

#include "seam/measure.h"
#include "table/grid.h"

/* Without a lens profile the squares alone leave the lens open between and beyond them. Tiles' edges are straight to first order,
 * and where two face each other a lens bends both the same way, a bow of the tiles bends them opposite ways: so the middle line of
 * every seam, and every rim, is taken to be straight to within the bow that the gaps themselves show. Moves the scale (homography
 * and lens) and its alternatives to what squares and edges say together; the grid's places move along. */
sw_status sw_straighten(const sw_traces *traces, sw_scale *scale, sw_grid *grid, sw_error *err);

#endif
