#include "maths/stats.h"

#include <math.h>
#include <stdbool.h>

/* 1 / (the 75 % quantile of the standard normal distribution). */
static const double MAD_TO_SIGMA = 1.4826;

static bool any_nan(const double *v, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (isnan(v[i]))
            return true;
    return false;
}

static void swap(double *a, double *b)
{
    double keep = *a;
    *a = *b;
    *b = keep;
}

static void order(double *a, double *b)
{
    if (*b < *a)
        swap(a, b);
}

/* Hoare's selection (1961), median of three as pivot: afterwards v[k] is the k-th smallest, nothing before it is larger
 * and nothing after it smaller. Needs values without NaN. */
static void select_nth(double *v, size_t count, size_t k)
{
    size_t low = 0, high = count - 1;
    while (low < high) {
        size_t middle = low + (high - low) / 2, i = low, j = high;
        order(&v[low], &v[middle]);
        order(&v[middle], &v[high]);
        order(&v[low], &v[middle]);
        double pivot = v[middle];
        for (;;) {
            while (v[i] < pivot)
                i++;
            while (v[j] > pivot)
                j--;
            if (i >= j)
                break;
            swap(&v[i++], &v[j--]);
        }
        /* v[low..j] <= pivot <= v[j+1..high]; when i == j both stand on the pivot, which then belongs to the lower
         * part. */
        if (k <= j)
            high = j;
        else
            low = j + 1;
    }
}

static double smallest(const double *v, size_t count)
{
    double least = v[0];
    for (size_t i = 1; i < count; i++)
        least = v[i] < least ? v[i] : least;
    return least;
}

double sw_quantile(double *values, size_t count, double q)
{
    if (count == 0 || isnan(q) || any_nan(values, count))
        return NAN;
    double place = (double)(count - 1) * fmin(fmax(q, 0.0), 1.0);
    size_t k = (size_t)place;
    double share = place - (double)k;
    select_nth(values, count, k);
    if (share == 0.0 || k + 1 >= count)
        return values[k];
    double next = smallest(values + k + 1, count - k - 1);
    return (1.0 - share) * values[k] + share * next;
}

double sw_median(double *values, size_t count)
{
    return sw_quantile(values, count, 0.5);
}

double sw_mad_sigma(double *values, size_t count, double centre)
{
    for (size_t i = 0; i < count; i++)
        values[i] = fabs(values[i] - centre);
    return MAD_TO_SIGMA * sw_median(values, count);
}

/* Student's t. The share outside (-t, t) is the incomplete beta function I_x(v/2, 1/2) with x = v / (v + t^2)
 * (DLMF 8.17); its continued fraction (DLMF 8.17.22) is summed by Lentz's method. */
static const int BETA_TERMS = 500;        /* far more than x < (a + 1) / (a + b + 2) ever needs */
static const double BETA_EPSILON = 1e-15; /* relative change of a settled fraction */
/* Beyond this many degrees of freedom the series in 1/v is good to 1e-11, and tgamma would near its overflow. */
static const double SERIES_FROM = 300.0;
static const double TINY = 1e-300; /* Lentz: stands in for a zero denominator */

static double beta_term(double a, double b, double x, int i)
{
    double m = i / 2;
    if (i % 2 == 0)
        return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
}

static double beta_fraction(double a, double b, double x)
{
    double c = 1.0, d = 0.0, f = 1.0;
    for (int i = 1; i <= BETA_TERMS; i++) {
        double term = beta_term(a, b, x, i);
        d = 1.0 + term * d;
        c = 1.0 + term / c;
        d = 1.0 / (fabs(d) < TINY ? TINY : d);
        c = fabs(c) < TINY ? TINY : c;
        f *= c * d;
        if (fabs(c * d - 1.0) < BETA_EPSILON)
            break;
    }
    return 1.0 / f;
}

static double t_outside(double t, double v)
{
    double a = 0.5 * v, x = v / (v + t * t), y = t * t / (v + t * t);
    double front = tgamma(a + 0.5) / (tgamma(a) * sqrt(acos(-1.0))) * pow(x, a) * sqrt(y);
    if (x < (a + 1.0) / (a + 2.5))
        return front * beta_fraction(a, 0.5, x) / a;
    return 1.0 - front * beta_fraction(0.5, a, y) / 0.5;
}

static double t_density(double t, double v)
{
    return tgamma(0.5 * v + 0.5) / (tgamma(0.5 * v) * sqrt(v * acos(-1.0))) * pow(1.0 + t * t / v, -0.5 * v - 0.5);
}

static double normal_factor(double outside)
{
    double z = 0.0;
    for (int i = 0; i < 100; i++) {
        double step = (erfc(z / sqrt(2.0)) - outside) / (2.0 * exp(-0.5 * z * z) / sqrt(2.0 * acos(-1.0)));
        z += step;
        if (fabs(step) < 1e-14 * z)
            break;
    }
    return z;
}

/* Newton from t = 0. The share outside is convex in t > 0, so the steps climb to the root and never pass it. */
static double t_factor(double outside, double v)
{
    double t = 0.0;
    for (int i = 0; i < 200; i++) {
        double step = ((t > 0.0 ? t_outside(t, v) : 1.0) - outside) / (2.0 * t_density(t, v));
        t += step;
        if (fabs(step) < 1e-13 * t)
            break;
    }
    return t;
}

double sw_coverage_factor(double level, double degrees_of_freedom)
{
    double v = degrees_of_freedom;
    if (!(level > 0.0 && level < 1.0) || isnan(v))
        return NAN;
    if (v < 1.0)
        return INFINITY;
    if (v <= SERIES_FROM)
        return t_factor(1.0 - level, v);
    /* Expansion of t in 1/v about the normal quantile (Abramowitz and Stegun 26.7.5). */
    double z = normal_factor(1.0 - level), z2 = z * z;
    double g1 = z * (z2 + 1.0) / 4.0, g2 = z * ((5.0 * z2 + 16.0) * z2 + 3.0) / 96.0;
    double g3 = z * (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / 384.0;
    return z + (g1 + (g2 + g3 / v) / v) / v;
}

double sw_coverage_factor_95(double degrees_of_freedom)
{
    return sw_coverage_factor(0.95, degrees_of_freedom);
}
