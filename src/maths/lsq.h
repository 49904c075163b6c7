/* lsq.h - least squares. */
#ifndef SW_MATHS_LSQ_H
#define SW_MATHS_LSQ_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"

/* Linear least squares by Householder QR on column-scaled data: minimises sum w (y - X b)^2. x is row after row,
 * rows x columns; weights may be NULL. On success b (columns) is filled, covariance (columns x columns, may be NULL) is
 * (X'WX)^-1 times the residual variance, or just (X'WX)^-1 when weights are given as 1/u^2 and not scale_by_residual;
 * residual_sd (may be NULL) is sqrt(sum w r^2 / (rows - columns)).
 * A row of weight 0 counts as not there; with no row to spare residual_sd, and a covariance scaled by it, are NaN.
 * SW_BAD_INPUT when rows < columns, the columns depend on each other, or something is NaN, infinite or of negative
 * weight. */
sw_status sw_lsq_linear(const double *x, const double *y, const double *weights, size_t rows, size_t columns,
                        bool scale_by_residual, double *b, double *covariance, double *residual_sd);

/* Solves A x = b for symmetric positive definite A (n x n, row after row; destroyed) by Cholesky; b becomes x. Only the
 * lower triangle of A is read, here and below. SW_BAD_INPUT when A is not positive definite. */
sw_status sw_cholesky_solve(double *a, double *b, size_t n);

/* Lower triangular root L of a covariance (n x n, row after row; L L' = covariance), in place, zeros above the diagonal. A direction
 * without variance gets a column of zeros, so a covariance that is only semi-definite has a root too. */
void sw_covariance_root(double *covariance, size_t n);

/* Inverts a symmetric positive definite matrix in place. SW_BAD_INPUT when it is not positive definite. */
sw_status sw_cholesky_invert(double *a, size_t n);

/* What a non-linear problem is: fills residual (rows) for the parameters, and jacobian (rows x columns, row after row) when
 * it is not NULL. Any status but SW_OK where the parameters make no sense (the step is then shortened). */
typedef sw_status (*sw_lsq_model)(void *context, const double *parameters, double *residual, double *jacobian);

/* Levenberg-Marquardt (Marquardt 1963, More 1978). The jacobian is taken by central differences when numeric (the model
 * is then called with jacobian NULL only). On success the parameters are the minimum, covariance (may be NULL) is
 * (J'J)^-1, not scaled, cost (may be NULL) is the sum of squared residuals. A round is one jacobian. Differences reach
 * 1.5e-8 to 6e-6 times max(|p|, 1) to either side of a parameter p: choose units in which that is little.
 * SW_NOT_FOUND when the rounds ran out while the cost still fell by more than 1e-8 of itself, with parameters, covariance
 * and cost the best so far; SW_BAD_INPUT when no progress is possible, singular, rows < columns, the model refuses the
 * start. Whatever it returns, the parameters are the best so far and cost is theirs (infinite where there is none). */
sw_status sw_lsq_fit(sw_lsq_model model, void *context, size_t rows, size_t columns, bool numeric, int max_rounds,
                     double *parameters, double *covariance, double *cost);

#endif
