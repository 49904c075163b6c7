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

/* A tile's top: a plane over the mm frame's. */
typedef struct sw_top {
    double rise_mm;     /* how far it stands above the mm frame's plane at `at` (below: negative) */
    double east, north; /* its slopes, mm a mm */
    sw_point at;
} sw_top;

/* How far a top stands above the mm frame's plane at a place. */
static inline double sw_top_rise(const sw_top *top, sw_point mm)
{
    return top->rise_mm + top->east * (mm.x - top->at.x) + top->north * (mm.y - top->at.y);
}

/* Whether a top lies in the mm frame's plane. */
static inline bool sw_top_in_plane(const sw_top *top)
{
    return top->rise_mm == 0 && top->east == 0 && top->north == 0;
}

/* The same mm frame on a top: x and y keep their meaning, only what a pixel shows is higher up, so nearer to the camera's foot by
 * the share rise / camera height. Alternatives move with their own cameras. SW_BAD_INPUT, out being a copy, when the camera is not
 * well above it. */
sw_status sw_scale_lift(const sw_scale *scale, const sw_top *top, sw_scale *out);

/* A square's middle, mm. */
static inline sw_point sw_square_middle(const sw_square *square)
{
    return sw_between(square->corners_mm[0], square->corners_mm[2], 0.5);
}

/* All cards that lie on the table, those that are left out last. */
static inline int sw_scale_cards(const sw_scale *scale)
{
    return scale->square_count + scale->left_out_count;
}
static inline const sw_square *sw_scale_card(const sw_scale *scale, int i)
{
    return i < scale->square_count ? &scale->squares[i] : &scale->left_out[i - scale->square_count].square;
}

/* Whether a place of the table lies on a square's card, white_mm beyond the square, or on any card of the scale. */
bool sw_square_covers(const sw_square *square, sw_point mm, double white_mm);
bool sw_scale_covers(const sw_scale *scale, sw_point mm, double white_mm);

#endif
