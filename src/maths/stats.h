/* stats.h - robust statistics. All reorder the array they are given unless it is const. */
#ifndef SW_STATS_H
#define SW_STATS_H

#include <stddef.h>

/* Median (mean of the middle two); NaN for count 0. O(n). */
double sw_median(double *values, size_t count);

/* 1.4826 * median of |v - centre|: the standard deviation a normal sample with this spread would have. NaN for count 0. */
double sw_mad_sigma(double *values, size_t count, double centre);

/* The q quantile (0 to 1), linear between order statistics (type 7 of Hyndman and Fan 1996); NaN for count 0. */
double sw_quantile(double *values, size_t count, double q);

double sw_mean(const double *values, size_t count);
/* Sample standard deviation (n - 1); 0 for count < 2. */
double sw_deviation(const double *values, size_t count);

/* Two-sided 95 % coverage factor of Student's t for the given degrees of freedom (JCGM 100 table G.2); 1.96 for large. */
double sw_coverage_factor_95(double degrees_of_freedom);

#endif
