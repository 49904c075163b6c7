/* maths_check.h - what the tests of src/maths share: agreement counted in digits, and repeatable chance. */
#ifndef SW_SUPPORT_MATHS_CHECK_H
#define SW_SUPPORT_MATHS_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

/* Relative digits two numbers share, as NIST counts them (log relative error); absolute digits where want is 0. 16 for
 * equal numbers, below 0 for nonsense. */
static inline double digits_of(double got, double want)
{
    if (got == want)
        return 16.0;
    double off = fabs(got - want) / (want == 0.0 ? 1.0 : fabs(want));
    return isnan(off) ? -1.0 : fmin(16.0, -log10(off));
}

static inline void expect_digits(const char *what, double got, double want, double least)
{
    double digits = digits_of(got, want);
    if (!(digits >= least))
        fail_msg("%s: got %.17g, want %.17g: %.1f digits, want %.1f", what, got, want, digits, least);
}

/* The same, and tells how many digits it came to. */
static inline void certify(const char *what, double got, double want, double least)
{
    expect_digits(what, got, want, least);
    print_message("  %-24s %22.15g  %4.1f digits\n", what, got, digits_of(got, want));
}

static inline void expect_near(const char *what, double got, double want, double most)
{
    if (!(fabs(got - want) <= most))
        fail_msg("%s: got %.17g, want %.17g within %g", what, got, want, most);
}

/* Multiplicative congruential generator modulo 2^31 - 1 (Park and Miller 1988): the same on every machine. */
static inline double chance(uint32_t *seed)
{
    *seed = (uint32_t)((uint64_t)*seed * 48271u % 2147483647u);
    return (double)*seed / 2147483647.0;
}

static inline double between(uint32_t *seed, double low, double high)
{
    return low + (high - low) * chance(seed);
}

/* Sum of twelve: close enough to normal. */
static inline double normal(uint32_t *seed)
{
    double sum = -6.0;
    for (int i = 0; i < 12; i++)
        sum += chance(seed);
    return sum;
}

/* Least squares the plain way: slope of the straight line through (x, y) as the mean of all pairs' slopes, each weighted
 * by its squared distance; spread gets the x's squared distances from their mean. */
static inline double pairs_slope(const double *x, const double *y, int n, double *spread)
{
    double rise = 0, run = 0;
    for (int i = 0; i < n; i++)
        for (int k = 0; k < i; k++) {
            rise += (x[i] - x[k]) * (y[i] - y[k]);
            run += (x[i] - x[k]) * (x[i] - x[k]);
        }
    *spread = run / n;
    return rise / run;
}

#endif
