/* pointed.h - a card whose corners somebody pointed at. */
#ifndef SW_SCALE_POINTED_H
#define SW_SCALE_POINTED_H

#include "scale/squares.h"

/* Moves the corners, which may be off by SW_POINTED_OFF_SHARE of a side, to within a few pixels: onto the four straight edges that step
 * most from dark inside to light outside or, of a plain square, the other way round (*light). Corners NW NE SE SW, sensor px; size_px
 * follows. False: there are no such edges. */
bool sw_quad_pull_in(const sw_photo *photo, bool frame, sw_quad *quad, bool *light);

#endif
