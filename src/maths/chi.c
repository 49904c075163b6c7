/* chi.c - chi-square by the incomplete gamma function P(a, x), a = freedom / 2, at half the argument: its power series
 * below a + 1, its continued fraction above (Abramowitz and Stegun 6.5.29 and 6.5.31; Lentz's way of summing the
 * fraction). */
#include "maths/chi.h"

#include <math.h>

enum { TERMS_MOST = 2000 };
static const double DONE = 1e-14, TINY = 1e-300;

static double by_series(double a, double x)
{
    double term = 1 / a, sum = term;
    for (int n = 1; n < TERMS_MOST && term > DONE * sum; n++) {
        term *= x / (a + n);
        sum += term;
    }
    return sum * exp(a * log(x) - x - lgamma(a));
}

/* 1 - P(a, x) */
static double by_fraction(double a, double x)
{
    double b = x + 1 - a, c = 1 / TINY, d = 1 / b, h = d;
    for (int n = 1; n < TERMS_MOST; n++) {
        double an = -n * (n - a);
        b += 2;
        d = an * d + b;
        d = 1 / (fabs(d) < TINY ? TINY : d);
        c = b + an / c;
        c = fabs(c) < TINY ? TINY : c;
        double step = c * d;
        h *= step;
        if (fabs(step - 1) < DONE)
            break;
    }
    return h * exp(a * log(x) - x - lgamma(a));
}

double sw_chi_square_share(double x, double freedom)
{
    double a = freedom / 2, half = x / 2;
    if (!(freedom > 0) || isnan(x))
        return NAN;
    if (half <= 0)
        return 0;
    return half < a + 1 ? by_series(a, half) : 1 - by_fraction(a, half);
}

double sw_chi_square_quantile(double share, double freedom)
{
    if (!(share > 0) || !(share < 1) || !(freedom > 0) || isinf(freedom))
        return NAN;
    double low = 0, high = fmax(1, freedom);
    while (sw_chi_square_share(high, freedom) < share)
        high *= 2;
    for (int round = 0; round < 200 && high - low > 1e-12 * high; round++) {
        double middle = (low + high) / 2;
        if (sw_chi_square_share(middle, freedom) < share)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}
