/* line.h - straight lines in the plane. */
#ifndef SW_MATHS_LINE_H
#define SW_MATHS_LINE_H

#include <stddef.h>

#include "seamwright/photo.h"

/* A line: the points p with nx (p.x - x) + ny (p.y - y) = 0; (nx, ny) is a unit normal, (x, y) a point on it (the points'
 * weighted mean for a fitted line). Its direction is (-ny, nx). */
typedef struct sw_line {
    double x, y, nx, ny;
} sw_line;

/* Least squares of the distances (orthogonal fit; Pearson 1901). weights may be NULL (all 1). rms, the root mean square
 * distance, may be NULL. SW_BAD_INPUT for fewer than two points, no weight, or points that all coincide. Points of weight
 * 0 are not looked at; a NaN or infinity elsewhere, or a negative weight, is SW_BAD_INPUT, too. The normal is turned so that the line's
 * direction points east (x grows), or north for an upright line. */
sw_status sw_line_fit(const sw_point *points, const double *weights, size_t count, sw_line *line, double *rms);

/* Signed distance of p from the line, along (nx, ny). */
double sw_line_distance(const sw_line *line, sw_point p);

/* Where two lines cross. SW_NOT_FOUND when they are parallel to within 1e-9 rad or not numbers. */
sw_status sw_line_cross(const sw_line *a, const sw_line *b, sw_point *at);

#endif
