/* chi.h - the chi-square distribution. */
#ifndef SW_MATHS_CHI_H
#define SW_MATHS_CHI_H

/* Probability that a chi-square variable with `freedom` degrees of freedom (over 0, need not be whole) is at most x. */
double sw_chi_square_share(double x, double freedom);

/* The x that it stays under with probability `share` (0 to 1, ends left out). NaN for arguments out of range. */
double sw_chi_square_quantile(double share, double freedom);

#endif
