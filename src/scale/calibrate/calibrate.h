/* calibrate.h - the solver behind sw_lens_calibrate: corner lists in, lens out. No pictures, no files. */
#ifndef SW_SCALE_CALIBRATE_CALIBRATE_H
#define SW_SCALE_CALIBRATE_CALIBRATE_H

#include "scale/calibrate/view.h"

/* What is fitted; what is not keeps the value named. */
typedef struct sw_solve_options {
    bool fy;         /* fy apart from fx; else fy = fx (square pixels) */
    bool tangential; /* p1, p2; else 0 */
    bool k3;         /* else 0 */
    bool shape;      /* the board's stretch and bend; else as it should be */
    bool priors;     /* hold each number loosely to what lenses and boards are like */
    bool keep_all;   /* leave no corner out, and weigh all alike */
} sw_solve_options;

typedef struct sw_solution {
    double stretch, u_stretch;   /* the board's height over its width, against what it should be; 1 when not fitted */
    double curve[3], u_curve[3]; /* the board's bend: curvature xx, xy, yy in 1/m; 0 when not fitted */
    double scatter;              /* what the corners' u_px had to be multiplied with to explain the residuals */
    size_t corners;              /* used */
    size_t left_out;
} sw_solution;

/* Fits the lens to the views of one flat board: least squares of the distances in the photo. Fills lens (source, size,
 * fx to k3, residual_px, covariance scaled by the residual, photos) and, when not NULL, solution. SW_BAD_INPUT when the
 * views do not determine the lens at all. On failure *lens is zeroed. */
sw_status sw_calibrate_solve(sw_view *views, size_t count, int width_px, int height_px, const sw_solve_options *options,
                             sw_lens *lens, sw_solution *solution, sw_error *err);

#endif
