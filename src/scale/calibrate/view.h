/* view.h - a board's corners as photos show them. */
#ifndef SW_SCALE_CALIBRATE_VIEW_H
#define SW_SCALE_CALIBRATE_VIEW_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/scale.h"

/* One corner of the board as one photo shows it. */
typedef struct sw_sight {
    sw_point board_mm; /* on the board's plane, x along its columns, y along its rows */
    sw_point px;
    double u_px;   /* standard uncertainty per axis as far as known; relative size is what counts */
    bool left_out; /* set by the solver: too far off to be the corner it is taken for */
} sw_sight;

/* All corners of one photo. The solver does not own the sights. */
typedef struct sw_view {
    sw_sight *sights;
    size_t count;
    bool sides_known;   /* x and y of board_mm are the board's own; else they may be swapped */
    double turn[3];     /* set by the solver: rotation vector, board to camera (rad) */
    double shift_mm[3]; /* set by the solver: the board's origin seen from the camera, z forwards */
    double residual_px; /* set by the solver: RMS distance over the corners kept */
} sw_view;

/* How many corners are not left out. */
static inline size_t sw_view_kept(const sw_view *view)
{
    size_t kept = 0;
    for (size_t i = 0; i < view->count; i++)
        kept += !view->sights[i].left_out;
    return kept;
}

#endif
