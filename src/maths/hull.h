/* hull.h - convex hull, and its width: the distance of the two closest parallel lines that hold all points. */
#ifndef SW_MATHS_HULL_H
#define SW_MATHS_HULL_H

#include <stddef.h>

#include "seamwright/photo.h"

/* Width of the hull of the points (minimum-zone straightness, ISO 12780-1), mm or whatever unit the points have.
 * direction (may be NULL) gets the unit direction of the two lines. Returns 0 for fewer than three points or all on one
 * line, NaN when memory is out. Points with a NaN or infinite coordinate are left out. When the width is 0 the direction
 * is that of the line through the points, or (0, 0) when there is only one place. O(n log n). The width is always reached
 * with one line along a side of the hull (Houle and Toussaint 1988). */
double sw_hull_width(const sw_point *points, size_t count, sw_point *direction);

/* The hull itself, counter-clockwise, no three points in line; out holds count points and may be points itself. Points
 * with a NaN or infinite coordinate are left out. Returns how many. */
size_t sw_hull(const sw_point *points, size_t count, sw_point *out);

#endif
