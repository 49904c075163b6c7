/* mean.h - mean and sample standard deviation, for tests; the program uses robust ones only. */
#ifndef SW_TESTS_MEAN_H
#define SW_TESTS_MEAN_H

#include <math.h>
#include <stddef.h>

static inline double mean_of(const double *values, size_t count)
{
    if (count == 0)
        return NAN;
    double sum = 0.0, rest = 0.0, n = (double)count;
    for (size_t i = 0; i < count; i++)
        sum += values[i];
    /* The second pass takes back what the first one rounded away. */
    for (size_t i = 0; i < count; i++)
        rest += values[i] - sum / n;
    return isfinite(sum) ? sum / n + rest / n : sum / n;
}

/* Sample standard deviation (n - 1); 0 for count < 2. */
static inline double deviation_of(const double *values, size_t count)
{
    if (count < 2)
        return 0.0;
    double mean = mean_of(values, count), squares = 0.0, rest = 0.0, n = (double)count;
    for (size_t i = 0; i < count; i++) {
        double d = values[i] - mean;
        squares += d * d;
        rest += d;
    }
    /* Corrected two-pass sum (Chan, Golub and LeVeque 1983). */
    return sqrt((squares - rest * rest / n) / (n - 1.0));
}

#endif
