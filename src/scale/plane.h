/* plane.h - maps from plane to plane (homographies). */
#ifndef SW_SCALE_PLANE_H
#define SW_SCALE_PLANE_H

#include "seamwright/photo.h"

/* A point through a plane-to-plane map. */
static inline sw_point sw_plane_apply(const double m[3][3], sw_point p)
{
    double w = m[2][0] * p.x + m[2][1] * p.y + m[2][2];
    return (sw_point){(m[0][0] * p.x + m[0][1] * p.y + m[0][2]) / w, (m[1][0] * p.x + m[1][1] * p.y + m[1][2]) / w};
}

/* The map that takes the corners (NW NE SE SW) of a square of these half sides round (0, 0), y up, to the given places; h[2][2] is 1.
 * SW_BAD_INPUT when the places are no quadrilateral. */
sw_status sw_plane_of_square(double half_x, double half_y, const sw_point *corners, double h[3][3]);

/* Inverse of a 3 x 3 matrix; SW_BAD_INPUT when it is singular. */
sw_status sw_invert3(const double m[3][3], double out[3][3]);

/* The camera's foot point and height over the plane, mm, from the map mm -> normal plane. SW_BAD_INPUT when it makes
 * no sense. */
sw_status sw_plane_camera(const double to_plane[3][3], double camera[3]);

/* What the map mm -> normal plane of a calibrated camera must satisfy (its first two columns are two sides of a rotation), in standard
 * deviations sd: two numbers. */
void sw_plane_rigid(const double h[3][3], double sd, double *out);

#endif
