/* bundle.h - one fit of everything the reference squares tell: homography, each loose square's place, the spread of dark
 * edges, and, without a lens profile, the lens's k1 and k2. */
#ifndef SW_SCALE_BUNDLE_H
#define SW_SCALE_BUNDLE_H

#include "scale/squares.h"
#include "seamwright/scale.h"
#include "seamwright/table.h"

/* One reference square as read from the photo: its outer rim and, for a frame, its inner one. */
typedef struct sw_sighting {
    sw_quad quad;
    sw_rim_square rims[2];
    int rim_count;  /* 1 plain, 2 frame */
    int light;      /* 1: a light square on darker ground, a cut card */
    double rise_mm; /* how far the top it lies on stands above the mm frame's plane */
} sw_sighting;

/* Fits scale->to_plane and all that goes with it. scale->lens and scale->reference must be set; with lens source
 * SW_LENS_ESTIMATED its k1 and k2 are fitted too. Squares' mm corners are filled. The mm frame is that of the first square
 * (x along its north side to the east); sw_scale_turn puts it where it is wanted. */
sw_status sw_bundle_fit(const sw_sighting *sightings, int count, sw_scale *scale, sw_error *err);

/* Moves the mm frame: new mm = turn (old mm - origin), counter-clockwise by -angle_rad, so that a direction at angle_rad
 * becomes the x axis. Alternatives and squares move along. */
void sw_scale_turn(sw_scale *scale, sw_point origin, double angle_rad);

/* The camera's foot point and height over the table, mm, from the scale's homography. Returns -1 when it makes no sense. */
int sw_camera_place(const sw_scale *scale, double camera[3]);
/* The same from a homography mm -> normal plane alone. */
int sw_plane_camera(const double to_plane[3][3], double camera[3]);

/* The squares lie on cards thickness_mm above the tile tops, so nearer to the camera: makes the mm frame that of the tops.
 * thickness_u_mm is the standard uncertainty of the thickness; it goes to reference_u_rel. */
void sw_scale_lower(sw_scale *scale, double thickness_mm, double thickness_u_mm);

/* The same mm frame on the level plane rise_mm above the scale's own (below: negative), for tiles whose tops stand
 * there: x and y keep their meaning, only what a pixel shows is higher up, so nearer to the camera's foot by the share
 * rise / camera height. Alternatives move with their own cameras. Returns -1, out being a copy, when the camera is not
 * well above that plane. */
int sw_scale_lift(const sw_scale *scale, double rise_mm, sw_scale *out);

/* A point through a plane-to-plane map. */
static inline sw_point sw_plane_apply(const double m[3][3], sw_point p)
{
    double w = m[2][0] * p.x + m[2][1] * p.y + m[2][2];
    return (sw_point){(m[0][0] * p.x + m[0][1] * p.y + m[0][2]) / w, (m[1][0] * p.x + m[1][1] * p.y + m[1][2]) / w};
}

/* The map that takes the corners (NW NE SE SW) of a square of these half sides round (0, 0), y up, to the given places; h[2][2] is 1.
 * Returns -1 when the places are no quadrilateral. */
int sw_plane_of_square(double half_x, double half_y, const sw_point *corners, double h[3][3]);

/* Inverse of a 3 x 3 matrix; -1 when it is singular. */
int sw_invert3(const double m[3][3], double out[3][3]);

/* Finds and fits the reference squares of a photo. lens NULL: no profile, estimate. thickness_mm of the cards, NaN: unknown. */
sw_status sw_scale_find(const sw_photo *photo, const sw_small *small, const sw_lens *lens,
                        const sw_reference *reference, double thickness_mm, sw_scale *scale, sw_error *err);

/* sw_scale_find when it is known on which level each square lies: square_rise_mm, SW_SQUARES_MAX of them, in the order of a
 * first find's scale->squares; the mm frame's plane is the one of rise 0. NULL: all on that plane. */
sw_status sw_scale_find_on(const sw_photo *photo, const sw_small *small, const sw_lens *lens,
                           const sw_reference *reference, double thickness_mm, const double *square_rise_mm,
                           sw_scale *scale, sw_error *err);

/* The photo as its scale says it is to be read: linear light by the tone curve that was found. *seen shares everything with
 * photo but, where the curve is not plain sRGB, `linear`: free that when it is not photo's. */
sw_status sw_scale_light(const sw_photo *photo, double contrast, sw_photo *seen, sw_error *err);

#endif
