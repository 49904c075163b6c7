/* problem.h - what the solver's parts share. */
#ifndef SW_SCALE_CALIBRATE_PROBLEM_H
#define SW_SCALE_CALIBRATE_PROBLEM_H

#include <math.h>

#include "scale/calibrate/calibrate.h"
#include "scale/calibrate/model.h"

/* Levenberg-Marquardt from OpenCV's start settles in five to fifteen rounds. */
enum { MAX_ROUNDS = 100 };
/* Corners are not better than this, whatever their own misfit says: JPEG and the sensor's grid. px */
static const double CORNER_FLOOR_PX = 0.005;

typedef struct sw_prior {
    double centre, sigma; /* sigma 0: none */
} sw_prior;

/* The parameters: the camera's numbers that are fitted, then each view's pose. */
typedef struct sw_problem {
    sw_view *views;
    size_t count;
    int width_px, height_px;
    const sw_solve_options *options;
    double camera[SW_CAMERA_NUMBERS]; /* values of what is not fitted */
    int slot[SW_CAMERA_NUMBERS];      /* column, or -1: not fitted */
    sw_prior priors[SW_CAMERA_NUMBERS];
    size_t free_count, columns, corners, views_out, rows;
    double scatter; /* the corners' u_px are multiplied with it */
    double tight;   /* the priors' weights are multiplied with it */
} sw_problem;

static inline double sw_weight_of(const sw_problem *p, const sw_sight *s)
{
    return p->options->keep_all ? 1 / p->scatter : 1 / (p->scatter * hypot(s->u_px, CORNER_FLOOR_PX));
}

static inline void sw_unpack_camera(const sw_problem *p, const double *parameters, double camera[SW_CAMERA_NUMBERS])
{
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++)
        camera[i] = p->slot[i] >= 0 ? parameters[p->slot[i]] : p->camera[i];
}

/* First values of the parameters, from OpenCV; camera gets its numbers, too. */
sw_status sw_solve_start(sw_problem *p, double *parameters, sw_error *err);

/* Mirrors the views whose mirrored slant fits better, with the camera as it stands. Returns how many. */
int sw_mirror_views(const sw_problem *p, double *parameters);

#endif
