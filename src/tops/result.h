/* result.h - a solved fit's tops, with their uncertainties. */
#ifndef SW_TOPS_RESULT_H
#define SW_TOPS_RESULT_H

#include "tops/fit.h"

/* Variance of a top's number. */
double sw_fitting_variance(const sw_fitting *fitting, int tile, int number);

/* wider: factor on all standard uncertainties. */
void sw_fitting_fill(sw_fitting *fitting, double wider, sw_tops *tops);

#endif
