/* stats.h - robust statistics. All reorder the array they are given unless it is const. A NaN among the values makes the
 * result NaN: leave out what was not measured before asking. */
#ifndef SW_MATHS_STATS_H
#define SW_MATHS_STATS_H

#include <stddef.h>

/* Median (mean of the middle two); NaN for count 0. O(n). */
double sw_median(double *values, size_t count);

/* 1.4826 * median of |v - centre|: the standard deviation a normal sample with this spread would have. NaN for count 0. */
double sw_mad_sigma(double *values, size_t count, double centre);

/* Degrees of freedom of that, for each value: its efficiency on normal samples (Rousseeuw and Croux 1993; from memory:
 * 36.7 %). */
#define SW_MAD_FREEDOM 0.367

/* The q quantile (0 to 1), linear between order statistics (type 7 of Hyndman and Fan 1996); NaN for count 0. */
double sw_quantile(double *values, size_t count, double q);

/* Two-sided coverage factor of Student's t (JCGM 100 table G.2): the share `level` (0.95, 0.99) of the distribution lies
 * within +-k. Degrees of freedom need not be whole; INFINITY gives the normal distribution's k. Under one degree of freedom
 * k is infinite (nothing can be said); NaN for NaN or a level outside 0 to 1. */
double sw_coverage_factor(double level, double degrees_of_freedom);

/* The same for 95 %; 1.96 for large degrees of freedom. */
double sw_coverage_factor_95(double degrees_of_freedom);

#endif
