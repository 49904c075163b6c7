/* Statistics: NIST's constructed data, the published table of Student's t, a sort and a numerical integral as slow
 * answers. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>

#include "maths/stats.h"
#include "support/mean.h"

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* NIST StRD univariate NumAcc1 (10000001 10000003 10000002; mean 10000002, s 1, exact) and NumAcc4 (10000000.2, then
 * 500 times 10000000.1 and 10000000.3; mean 10000000.2, s 0.1, exact); quoted from pages that describe the sets. The
 * decimals have no double of their own, so 8.3 digits of s are all there are. */
static void nist_numacc(void **state)
{
    (void)state;
    double one[3] = {10000001.0, 10000003.0, 10000002.0}, four[1001] = {10000000.2};
    for (int i = 0; i < 500; i++) {
        four[2 * i + 1] = 10000000.1;
        four[2 * i + 2] = 10000000.3;
    }
    certify("NumAcc1 mean", mean_of(one, 3), 10000002.0, 16.0);
    certify("NumAcc1 s", deviation_of(one, 3), 1.0, 15.0);
    certify("NumAcc4 mean", mean_of(four, 1001), 10000000.2, 15.0);
    certify("NumAcc4 s", deviation_of(four, 1001), 0.1, 8.0);
}

/* Type 7 of Hyndman and Fan 1996, from its definition on sorted values. */
static double quantile_of_sorted(const double *v, size_t n, double q)
{
    double h = (double)(n - 1) * q;
    size_t low = (size_t)floor(h), high = (size_t)ceil(h);
    return v[low] + (h - floor(h)) * (v[high] - v[low]);
}

static void quantiles_against_a_sort(void **state)
{
    (void)state;
    uint32_t seed = 7;
    for (int trial = 0; trial < 20000; trial++) {
        double v[60], sorted[60], q = trial % 7 == 0 ? 0.25 : chance(&seed);
        size_t n = 1 + (size_t)between(&seed, 0.0, 60.0);
        double values = trial % 3 ? 1e9 : between(&seed, 1.0, 8.0); /* a third of them with many ties */
        for (size_t i = 0; i < n; i++)
            sorted[i] = v[i] = floor(between(&seed, -values, values));
        qsort(sorted, n, sizeof *sorted, by_size);
        double want = quantile_of_sorted(sorted, n, q), middle = quantile_of_sorted(sorted, n, 0.5);
        expect_near("quantile", sw_quantile(v, n, q), want, 1e-12 * fabs(want) + 1e-6 * (values > 100.0));
        expect_near("median", sw_median(v, n), middle, 0.0);
        expect_near("least", sw_quantile(v, n, 0.0), sorted[0], 0.0);
        expect_near("most", sw_quantile(v, n, 1.0), sorted[n - 1], 0.0);
        qsort(v, n, sizeof *v, by_size); /* reordered, never changed */
        assert_memory_equal(v, sorted, n * sizeof *v);
    }
}

/* Hyndman and Fan's type 7 on 1 to 10: 3.25, 5.5, 7.75 (h = 9 q, by hand). */
static void quartiles_of_ten(void **state)
{
    (void)state;
    double v[10] = {7, 1, 10, 4, 2, 9, 3, 8, 6, 5};
    expect_near("first quartile", sw_quantile(v, 10, 0.25), 3.25, 1e-15);
    expect_near("median", sw_median(v, 10), 5.5, 0.0);
    expect_near("third quartile", sw_quantile(v, 10, 0.75), 7.75, 1e-15);
    expect_near("beyond", sw_quantile(v, 10, 1.5), 10.0, 0.0);
    expect_near("below", sw_quantile(v, 10, -0.5), 1.0, 0.0);
}

/* In order, against it, all the same, a saw: none may be slow (a million values; a quadratic selection would not end).
 */
static void medians_of_a_million(void **state)
{
    (void)state;
    enum { COUNT = 1000001 };
    double *v = malloc(COUNT * sizeof *v);
    assert_non_null(v);
    for (int shape = 0; shape < 4; shape++) {
        for (int i = 0; i < COUNT; i++)
            v[i] = shape == 0 ? i : shape == 1 ? COUNT - 1 - i : shape == 2 ? 500000.0 : abs(i - 500000) + 250000;
        expect_near("median", sw_median(v, COUNT), 500000.0, 0.0);
    }
    free(v);
}

static void robust_spread(void **state)
{
    (void)state;
    double v[5] = {1.0, 2.0, 3.0, 4.0, 100.0};
    expect_near("from the median", sw_mad_sigma(v, 5, 3.0), 1.4826, 1e-15);
    double sample[20001];
    uint32_t seed = 23;
    for (int i = 0; i < 20001; i++) { /* Box and Muller: truly normal, sigma 2 */
        double radius = sqrt(-2.0 * log(chance(&seed)));
        sample[i] = 5.0 + 2.0 * radius * cos(2.0 * acos(-1.0) * chance(&seed));
    }
    /* Standard error of the normalised MAD: 1.166 sigma / sqrt n (its efficiency is 37 %), here 0.0165; four of them.
     */
    expect_near("normal sample", sw_mad_sigma(sample, 20001, 5.0), 2.0, 0.066);
}

static void mean_and_deviation(void **state)
{
    (void)state;
    double v[4] = {2.0, 4.0, 4.0, 6.0};
    expect_near("mean", mean_of(v, 4), 4.0, 0.0);
    expect_digits("deviation", deviation_of(v, 4), sqrt(8.0 / 3.0), 15.0);
    expect_near("deviation of one", deviation_of(v, 1), 0.0, 0.0);
    expect_near("deviation of none", deviation_of(NULL, 0), 0.0, 0.0);
    expect_near("mean of one", mean_of(v, 1), 2.0, 0.0);
    double same[3] = {0.1, 0.1, 0.1};
    expect_near("deviation of equals", deviation_of(same, 3), 0.0, 1e-17);
}

static void nothing_and_not_a_number(void **state)
{
    (void)state;
    double v[3] = {1.0, NAN, 3.0}, endless[3] = {-INFINITY, 1.0, INFINITY}, pair[2] = {INFINITY, INFINITY};
    assert_true(isnan(sw_median(NULL, 0)) && isnan(sw_quantile(NULL, 0, 0.5)) && isnan(sw_mad_sigma(NULL, 0, 0.0)));
    assert_true(isnan(mean_of(NULL, 0)));
    assert_true(isnan(sw_median(v, 3)) && isnan(sw_quantile(v, 3, 0.1)) && isnan(sw_mad_sigma(v, 3, 1.0)));
    assert_true(isnan(mean_of(v, 3)) && isnan(deviation_of(v, 3)));
    v[1] = 2.0;
    assert_true(isnan(sw_quantile(v, 3, NAN)));
    assert_true(isnan(sw_mad_sigma(v, 3, NAN)));
    expect_near("median between infinities", sw_median(endless, 3), 1.0, 0.0);
    assert_true(sw_median(pair, 2) == INFINITY && mean_of(pair, 2) == INFINITY);
}

/* JCGM 100:2008 table G.2, as read in table B.1 of NIST Technical Note 1297, which prints the same table. One figure
 * is changed: 35 degrees of freedom and 90 % are printed as 1.70, but tables with a third digit have 1.690. */
static const double LEVELS[6] = {0.682689492137086, 0.90, 0.95, 0.954499736103642, 0.99, 0.997300203936740};
static const double TABLE_G2[24][7] = {
    {1, 1.84, 6.31, 12.71, 13.97, 63.66, 235.80}, {2, 1.32, 2.92, 4.30, 4.53, 9.92, 19.21},
    {3, 1.20, 2.35, 3.18, 3.31, 5.84, 9.22},      {4, 1.14, 2.13, 2.78, 2.87, 4.60, 6.62},
    {5, 1.11, 2.02, 2.57, 2.65, 4.03, 5.51},      {6, 1.09, 1.94, 2.45, 2.52, 3.71, 4.90},
    {7, 1.08, 1.89, 2.36, 2.43, 3.50, 4.53},      {8, 1.07, 1.86, 2.31, 2.37, 3.36, 4.28},
    {9, 1.06, 1.83, 2.26, 2.32, 3.25, 4.09},      {10, 1.05, 1.81, 2.23, 2.28, 3.17, 3.96},
    {11, 1.05, 1.80, 2.20, 2.25, 3.11, 3.85},     {12, 1.04, 1.78, 2.18, 2.23, 3.05, 3.76},
    {13, 1.04, 1.77, 2.16, 2.21, 3.01, 3.69},     {14, 1.04, 1.76, 2.14, 2.20, 2.98, 3.64},
    {15, 1.03, 1.75, 2.13, 2.18, 2.95, 3.59},     {16, 1.03, 1.75, 2.12, 2.17, 2.92, 3.54},
    {17, 1.03, 1.74, 2.11, 2.16, 2.90, 3.51},     {18, 1.03, 1.73, 2.10, 2.15, 2.88, 3.48},
    {19, 1.03, 1.73, 2.09, 2.14, 2.86, 3.45},     {20, 1.03, 1.72, 2.09, 2.13, 2.85, 3.42},
    {25, 1.02, 1.71, 2.06, 2.11, 2.79, 3.33},     {30, 1.02, 1.70, 2.04, 2.09, 2.75, 3.27},
    {35, 1.01, 1.69, 2.03, 2.07, 2.72, 3.23},     {40, 1.01, 1.68, 2.02, 2.06, 2.70, 3.20},
};
static const double TABLE_G2_LARGE[4][7] = {
    {45, 1.01, 1.68, 2.01, 2.06, 2.69, 3.18},
    {50, 1.01, 1.68, 2.01, 2.05, 2.68, 3.16},
    {100, 1.005, 1.660, 1.984, 2.025, 2.626, 3.077},
    {INFINITY, 1.000, 1.645, 1.960, 2.000, 2.576, 3.000},
};

static void expect_row(const double *row, double half_digit)
{
    char what[64];
    for (int c = 0; c < 6; c++) {
        snprintf(what, sizeof what, "k for %.2f %% and %g degrees of freedom", 100.0 * LEVELS[c], row[0]);
        expect_near(what, sw_coverage_factor(LEVELS[c], row[0]), row[c + 1], half_digit * (1.0 + 1e-9));
    }
    expect_near("the shorter call", sw_coverage_factor_95(row[0]), sw_coverage_factor(0.95, row[0]), 0.0);
}

static void table_g2(void **state)
{
    (void)state;
    for (int r = 0; r < 24; r++)
        expect_row(TABLE_G2[r], 0.005);
    for (int r = 0; r < 4; r++)
        expect_row(TABLE_G2_LARGE[r], r < 2 ? 0.005 : 0.0005);
}

/* Share of Student's t within +-t, by Simpson's rule. With x = sqrt(v) tan a the density is cos(a)^(v - 1), apart from
 * a factor that the ratio of two integrals needs no gamma function for. */
static double share_within(double t, double v)
{
    enum { STEPS = 20000 };
    double right = 0.5 * acos(-1.0), edge = atan(t / sqrt(v)), sums[2] = {0.0, 0.0}, ends[2] = {edge, right};
    for (int s = 0; s < 2; s++)
        for (int i = 0; i <= STEPS; i++) {
            double weight = i == 0 || i == STEPS ? 1.0 : i % 2 ? 4.0 : 2.0;
            sums[s] += weight * ends[s] * pow(fmax(0.0, cos(ends[s] * i / STEPS)), v - 1.0);
        }
    return sums[0] / sums[1];
}

static void coverage_against_an_integral(void **state)
{
    (void)state;
    const double degrees[] = {1.0, 2.0, 3.0, 4.5, 7.25, 16.7, 33.3, 100.0, 299.0, 300.0, 301.0, 1000.0};
    for (size_t i = 0; i < sizeof degrees / sizeof *degrees; i++)
        for (int c = 0; c < 6; c++) {
            double k = sw_coverage_factor(LEVELS[c], degrees[i]);
            expect_near("share", share_within(k, degrees[i]), LEVELS[c], 3e-10);
        }
    for (int i = 1; i < 10; i++) /* near the middle, too */
        for (int v = 1; v < 300; v += 13)
            expect_near("share", share_within(sw_coverage_factor(0.001 * i, v), v), 0.001 * i, 3e-10);
    /* Closed forms: tan(pi p / 2) for 1, sqrt(2 p^2 / (1 - p^2)) for 2 degrees of freedom. */
    expect_digits("1 degree of freedom", sw_coverage_factor(0.95, 1.0), tan(0.475 * acos(-1.0)), 12.0);
    expect_digits("2 degrees of freedom", sw_coverage_factor(0.95, 2.0), sqrt(2 * 0.9025 / 0.0975), 12.0);
}

static void coverage_at_the_ends(void **state)
{
    (void)state;
    assert_true(isnan(sw_coverage_factor_95(NAN)));
    assert_true(isnan(sw_coverage_factor(0.0, 5.0)) && isnan(sw_coverage_factor(1.0, 5.0)) &&
                isnan(sw_coverage_factor(NAN, 5.0)));
    assert_true(isinf(sw_coverage_factor_95(0.0)) && isinf(sw_coverage_factor_95(-3.0)) &&
                isinf(sw_coverage_factor_95(0.99)));
    expect_near("normal", sw_coverage_factor_95(INFINITY), 1.959963984540054, 1e-14); /* memory: normal quantile */
    /* JCGM 106 and ISO 14253-1: 5 % on one side, so 90 % between both, is k = 1.644854. */
    expect_near("guard band", sw_coverage_factor(0.90, INFINITY), 1.644854, 5e-7);
    expect_near("nearly normal", sw_coverage_factor_95(1e12), 1.959963984540054, 1e-11);
    double last = INFINITY;
    for (double v = 1.0; v < 2000.0; v *= 1.01) { /* falls all the way, also where the series takes over */
        double k = sw_coverage_factor_95(v);
        assert_true(k < last);
        last = k;
    }
    for (int i = 1; i < 200; i++) /* a level so high that the start is far away still settles */
        assert_true(sw_coverage_factor(1.0 - pow(10.0, -0.05 * i), 1.0) < INFINITY);
    expect_digits("1 - 1e-9, 1 degree", sw_coverage_factor(1.0 - 1e-9, 1.0), 1.0 / tan(0.5e-9 * acos(-1.0)), 6.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_numacc),
        cmocka_unit_test(quantiles_against_a_sort),
        cmocka_unit_test(quartiles_of_ten),
        cmocka_unit_test(medians_of_a_million),
        cmocka_unit_test(robust_spread),
        cmocka_unit_test(mean_and_deviation),
        cmocka_unit_test(nothing_and_not_a_number),
        cmocka_unit_test(table_g2),
        cmocka_unit_test(coverage_against_an_integral),
        cmocka_unit_test(coverage_at_the_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
