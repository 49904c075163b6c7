/* saddle.h - where exactly two lines of a checkerboard cross. */
#ifndef SW_SCALE_CALIBRATE_SADDLE_H
#define SW_SCALE_CALIBRATE_SADDLE_H

#include "seamwright/photo.h"
#include "seamwright/scale.h"

/* Where to look: a guess, and the steps to the next crossings across and down the board, px. */
typedef struct sw_saddle_guess {
    sw_point px, across, down;
} sw_saddle_guess;

typedef struct sw_saddle {
    sw_point px;
    double u_px; /* standard uncertainty per axis (root of the mean variance of the two), from the misfit seen */
    double
        contrast;  /* mean linear light of the two squares ++ and -- (along across and down) less that of the others */
    double misfit; /* RMS of what half a turn leaves, over |contrast| */
} sw_saddle;

/* Finds the point about which the picture is its own image under half a turn. reach is the window's half side as a
 * share of the steps (under 0.7, so that no other crossing enters). lens may be NULL; when given, the half turn is made
 * on the undistorted plane, where the board's lines are straight. SW_NOT_FOUND when there is no such point near the
 * guess. */
sw_status sw_saddle_find(const sw_photo *photo, const sw_lens *lens, const sw_saddle_guess *guess, double reach,
                         sw_saddle *saddle);

#endif
