/* result.h - a solved fit's tops, with their uncertainties. */
#ifndef SW_TOPS_RESULT_H
#define SW_TOPS_RESULT_H

#include "tops/fit.h"

/* Variance of a top's number. */
double sw_fitting_variance(const sw_fitting *fitting, int tile, int number);

/* How unlikely it is that all tops that something was told of lie in one level plane: chi-square and its degrees of freedom. SW_NO_MEMORY,
 * SW_NOT_FOUND. */
sw_status sw_fitting_unevenness(const sw_fitting *fitting, double *chi, double *freedom);

/* wider: factor on all standard uncertainties. */
void sw_fitting_fill(sw_fitting *fitting, double wider, sw_tops *tops);

#endif
