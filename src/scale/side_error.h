/* side_error.h - what the points of one side of a square are wrong by together. */
#ifndef SW_SCALE_SIDE_ERROR_H
#define SW_SCALE_SIDE_ERROR_H

#include "scale/squares.h"

/* Shapes that a side's common error takes: offset, slope, bow. */
enum { SW_SIDE_SHAPES = 3, SW_SIDES_MOST = SW_SQUARES_MAX * 2 * 4 };

typedef struct sw_side_error {
    int first, count;                             /* its residuals */
    double shape[SW_SIDE_SHAPES][SW_SIDE_POINTS]; /* orthonormal, over residuals in standard deviations */
    double keep[SW_SIDE_SHAPES];                  /* share of a shape that is left when it is weighed */
} sw_side_error;

typedef struct sw_side_errors {
    int count;
    sw_side_error side[SW_SIDES_MOST];
} sw_side_errors;

/* One side more: `count` residuals from `first` on, of points at these places along it (any unit), each with this standard deviation
 * of its own, px. */
void sw_side_errors_add(sw_side_errors *errors, int first, int count, const double *along, const double *sd_px);

/* Residuals in standard deviations become independent ones of variance 1: what a side's common error explains counts for less. */
void sw_side_errors_weigh(const sw_side_errors *errors, double *residuals);

/* Mean square of the shapes in weighed residuals, `fitted` numbers having been fitted to them: 1 when sides are wrong by as much as
 * is expected; 1 as well where too few are left to tell. */
double sw_side_errors_misfit(const sw_side_errors *errors, const double *residuals, int fitted);

/* By how much a covariance grows where the squares leave over `misfit` times what they should: noise averages over all sides; what else is
 * wrong is so for whole squares, of which there are few. */
double sw_misfit_inflation(double misfit);

#endif
