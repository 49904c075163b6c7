/* model.h - what the solver fits: parameters, and where they put a corner in the photo. */
#ifndef SW_SCALE_CALIBRATE_MODEL_H
#define SW_SCALE_CALIBRATE_MODEL_H

#include "scale/calibrate/calibrate.h"

/* The camera's numbers, then six a view: rotation vector, shift. */
typedef enum sw_camera_number {
    SW_F = SW_LENS_FX,            /* fx, px */
    SW_RATIO = SW_LENS_FY,        /* fy / fx; the other numbers of the lens stand at their own places */
    SW_STRETCH = SW_LENS_NUMBERS, /* the board's height over its width, against what it should be */
    SW_CURVE_XX, /* how the board is bent: z_mm = (xx x^2 + 2 xy x y + yy y^2) / 2000, x and y in mm, so in 1/m */
    SW_CURVE_XY,
    SW_CURVE_YY,
    SW_CAMERA_NUMBERS
} sw_camera_number;

enum { SW_POSE_NUMBERS = 6 };

/* The camera's numbers as a lens (residual and covariance untouched). */
void sw_model_to_lens(const double camera[SW_CAMERA_NUMBERS], sw_lens *lens);

/* A view's rotation, and its derivatives by the rotation vector. */
typedef struct sw_rotation {
    double r[3][3];
    double dr[3][3][3]; /* dr[i] = dR / d turn[i] */
} sw_rotation;

void sw_rotation_from(const double turn[3], sw_rotation *rotation);

/* The turn that shows a flat board mirrored in its slant: what looks the same from far away. */
void sw_mirror_turn(const double turn[3], const double shift_mm[3], double mirrored[3]);

/* Where a corner appears, and its derivatives (x and y) by the camera's numbers and the pose; derivatives are filled
 * when with_slopes. */
typedef struct sw_projected {
    sw_point px;
    double by_camera[2][SW_CAMERA_NUMBERS];
    double by_pose[2][SW_POSE_NUMBERS];
} sw_projected;

/* stretched: whether the board's stretch applies (it does not where its sides are not known). SW_NOT_FOUND when the
 * corner lies behind the camera, or beyond where the lens is one-to-one. */
sw_status sw_model_project(const double camera[SW_CAMERA_NUMBERS], const sw_rotation *rotation,
                           const double shift_mm[3], sw_point board_mm, bool stretched, bool with_slopes,
                           sw_projected *out);

#endif
