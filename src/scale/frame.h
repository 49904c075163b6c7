/* frame.h - a fitted scale's mm frame: turned, lowered, lifted; and the camera that it speaks of. */
#ifndef SW_SCALE_FRAME_H
#define SW_SCALE_FRAME_H

#include <stdbool.h>

#include "maths/point.h"
#include "seamwright/scale.h"

/* Moves the mm frame: new mm = turn (old mm - origin), counter-clockwise by -angle_rad, so that a direction at angle_rad
 * becomes the x axis. Alternatives and squares move along. */
void sw_scale_turn(sw_scale *scale, sw_point origin, double angle_rad);

/* The camera's foot point and height over the table, mm, from the scale's homography. SW_BAD_INPUT when it makes no sense. */
sw_status sw_camera_place(const sw_scale *scale, double camera[3]);

/* The squares lie on cards thickness_mm above the tile tops, so nearer to the camera: makes the mm frame that of the tops.
 * thickness_u_mm is the standard uncertainty of the thickness; it goes to reference_u_rel. */
void sw_scale_lower(sw_scale *scale, double thickness_mm, double thickness_u_mm);

/* The same mm frame on the level plane rise_mm above the scale's own (below: negative), for tiles whose tops stand
 * there: x and y keep their meaning, only what a pixel shows is higher up, so nearer to the camera's foot by the share
 * rise / camera height. Alternatives move with their own cameras. SW_BAD_INPUT, out being a copy, when the camera is not
 * well above that plane. */
sw_status sw_scale_lift(const sw_scale *scale, double rise_mm, sw_scale *out);

/* A square's middle, mm. */
static inline sw_point sw_square_middle(const sw_square *square)
{
    return sw_between(square->corners_mm[0], square->corners_mm[2], 0.5);
}

/* Whether a place of the table lies on a square's card, white_mm beyond the square, or on any card of the scale. */
bool sw_square_covers(const sw_square *square, sw_point mm, double white_mm);
bool sw_scale_covers(const sw_scale *scale, sw_point mm, double white_mm);

#endif
