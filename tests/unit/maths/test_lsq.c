/* Linear least squares and Cholesky: NIST's certified values, the worked examples of JCGM 100 and ISO/TS 28037, and the
 * normal equations as the other way to the same answer. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"

/* Fits a polynomial of so many terms; x is n values. */
static int fit_polynomial(const double *x, const double *y, const double *w, size_t n, size_t terms, int scale,
                          double *b, double *covariance, double *sd)
{
    double rows[64 * 4];
    assert_true(n <= 64 && terms <= 4);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < terms; k++)
            rows[i * terms + k] = pow(x[i], (double)k);
    return sw_lsq_linear(rows, y, w, n, terms, scale, b, covariance, sd);
}

/* NIST StRD, linear regression, Norris (lower difficulty). */
static void nist_norris(void **state)
{
    (void)state;
    static const double x[36] = {0.2, 337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
                                 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,  556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
                                 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};
    static const double y[36] = {0.1, 338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
                                 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,  557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
                                 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};
    double b[2], c[4], sd;
    assert_int_equal(fit_polynomial(x, y, NULL, 36, 2, 1, b, c, &sd), 0);
    certify("Norris B0", b[0], -0.262323073774029, 12.0);
    certify("Norris B1", b[1], 1.00211681802045, 13.5);
    certify("Norris SD of B0", sqrt(c[0]), 0.232818234301152, 13.0);
    certify("Norris SD of B1", sqrt(c[3]), 0.429796848199937e-3, 13.0);
    certify("Norris residual SD", sd, 0.884796396144373, 13.0);
}

/* NIST StRD, linear regression, Pontius (lower difficulty; a parabola whose columns differ by 10^13). */
static void nist_pontius(void **state)
{
    (void)state;
    static const double y[40] = {.11019,  .21956,  .32949,  .43899,  .54803,  .65694,  .76562,  .87487,
                                 .98292,  1.09146, 1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947,
                                 1.84646, 1.95392, 2.06128, 2.16844, .11052,  .22018,  .32939,  .43886,
                                 .54798,  .65739,  .76596,  .87474,  .98300,  1.09150, 1.20004, 1.30818,
                                 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829};
    double x[40], b[3], c[9], sd;
    for (int i = 0; i < 40; i++)
        x[i] = 150000.0 * (i % 20 + 1);
    assert_int_equal(fit_polynomial(x, y, NULL, 40, 3, 1, b, c, &sd), 0);
    certify("Pontius B0", b[0], 0.673565789473684e-3, 11.0);
    certify("Pontius B1", b[1], 0.732059160401003e-6, 13.0);
    certify("Pontius B2", b[2], -0.316081871345029e-14, 11.0);
    certify("Pontius residual SD", sd, 0.205177424076185e-3, 11.0);
}

/* NIST StRD, linear regression, NoInt1 (average difficulty; a line through the origin). */
static void nist_noint1(void **state)
{
    (void)state;
    double x[11], y[11], b, c, sd;
    for (int i = 0; i < 11; i++) {
        x[i] = 60.0 + i;
        y[i] = 130.0 + i;
    }
    assert_int_equal(sw_lsq_linear(x, y, NULL, 11, 1, 1, &b, &c, &sd), 0);
    certify("NoInt1 B1", b, 2.07438016528926, 14.0);
    certify("NoInt1 SD of B1", sqrt(c), 0.0165289256198347, 13.0);
}

/* JCGM 100:2008 H.3, calibration of a thermometer; figures of the same example with more digits than it prints. */
static void gum_h3(void **state)
{
    (void)state;
    static const double t[11] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                                 24.513, 25.002, 25.503, 26.010, 26.511};
    static const double y[11] = {-.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161, -.160};
    double x[11], b[2], c[4];
    for (int i = 0; i < 11; i++)
        x[i] = t[i] - 20.0;
    assert_int_equal(fit_polynomial(x, y, NULL, 11, 2, 1, b, c, NULL), 0);
    expect_near("y1", b[0], -0.171204, 5e-7);
    expect_near("y2", b[1], 0.00218270, 5e-9);
    expect_near("r", c[1] / sqrt(c[0] * c[3]), -0.93043, 5e-6);
    expect_near("b(30)", b[0] + 10.0 * b[1], -0.149376813, 5e-10);
    expect_near("u(b(30))", sqrt(c[0] + 100.0 * c[3] + 20.0 * c[1]), 0.004138596, 5e-10);
}

/* ISO/TS 28037, data of clause 6: known uncertainties, so the covariance is not scaled by the residual. */
static void iso_28037(void **state)
{
    (void)state;
    static const double x[6] = {1, 2, 3, 4, 5, 6}, y[6] = {3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, w[6] = {4, 4, 4, 4, 4, 4};
    double b[2], c[4], sd;
    assert_int_equal(fit_polynomial(x, y, w, 6, 2, 0, b, c, &sd), 0);
    expect_near("a", b[0], 1.8667, 5e-5);
    expect_near("b", b[1], 1.7571, 5e-5);
    expect_near("u(a)", sqrt(c[0]), 0.46547, 5e-6);
    expect_near("u(b)", sqrt(c[3]), 0.11952, 5e-6);
    expect_near("cov(a, b)", c[1], -0.050, 5e-4);
    expect_near("chi squared", 4.0 * sd * sd, 1.66476, 5e-6);
}

typedef struct problem {
    size_t rows, columns;
    double *x, *y, *w;
} problem;

static problem random_problem(uint32_t *seed, size_t rows, size_t columns)
{
    problem p = {rows, columns, malloc(rows * columns * sizeof(double)), malloc(rows * sizeof(double)),
                 malloc(rows * sizeof(double))};
    assert_true(p.x && p.y && p.w);
    for (size_t r = 0; r < rows; r++) {
        p.y[r] = 5.0 * normal(seed);
        p.w[r] = between(seed, 0.2, 4.0);
        for (size_t c = 0; c < columns; c++)
            p.x[r * columns + c] = normal(seed) * pow(10.0, (double)c - 3.0);
    }
    return p;
}

static void problem_free(problem *p)
{
    free(p->x);
    free(p->y);
    free(p->w);
}

/* The normal equations, for the answer and for its covariance. */
static void by_normal_equations(const problem *p, double *b, double *inverse)
{
    size_t n = p->columns;
    double a[64];
    for (size_t i = 0; i < n; i++) {
        b[i] = 0.0;
        for (size_t r = 0; r < p->rows; r++)
            b[i] += p->w[r] * p->x[r * n + i] * p->y[r];
        for (size_t k = 0; k < n; k++) {
            double sum = 0.0;
            for (size_t r = 0; r < p->rows; r++)
                sum += p->w[r] * p->x[r * n + i] * p->x[r * n + k];
            a[i * n + k] = inverse[i * n + k] = sum;
        }
    }
    assert_int_equal(sw_cholesky_solve(a, b, n), 0);
    assert_int_equal(sw_cholesky_invert(inverse, n), 0);
}

static void random_against_normal_equations(void **state)
{
    (void)state;
    uint32_t seed = 13;
    for (int trial = 0; trial < 300; trial++) {
        size_t columns = 1 + (size_t)between(&seed, 0.0, 7.0), rows = columns + 4 + (size_t)between(&seed, 0.0, 40.0);
        problem p = random_problem(&seed, rows, columns);
        double b[8], c[64], sd, want[8], inverse[64], squares = 0.0;
        assert_int_equal(sw_lsq_linear(p.x, p.y, p.w, rows, columns, 0, b, c, &sd), 0);
        by_normal_equations(&p, want, inverse);
        for (size_t i = 0; i < columns; i++) {
            double u = sqrt(inverse[i * columns + i]);
            expect_near("parameter", b[i], want[i], 1e-9 * u);
            for (size_t k = 0; k < columns; k++)
                expect_near("covariance", c[i * columns + k], inverse[i * columns + k],
                            1e-10 * u * sqrt(inverse[k * columns + k]));
        }
        for (size_t r = 0; r < rows; r++) {
            double off = p.y[r];
            for (size_t k = 0; k < columns; k++)
                off -= p.x[r * columns + k] * b[k];
            squares += p.w[r] * off * off;
        }
        expect_digits("residual", sd, sqrt(squares / (double)(rows - columns)), 11.0);
        problem_free(&p);
    }
}

/* Scaling by the residual multiplies the covariance by its variance, and nothing else. */
static void scaled_covariance(void **state)
{
    (void)state;
    uint32_t seed = 31;
    problem p = random_problem(&seed, 30, 4);
    double b[4], again[4], plain[16], scaled[16], sd;
    assert_int_equal(sw_lsq_linear(p.x, p.y, p.w, 30, 4, 0, b, plain, &sd), 0);
    assert_int_equal(sw_lsq_linear(p.x, p.y, p.w, 30, 4, 1, again, scaled, NULL), 0);
    assert_memory_equal(b, again, sizeof b);
    for (int i = 0; i < 16; i++)
        expect_digits("covariance", scaled[i], plain[i] * sd * sd, 13.0);
    assert_int_equal(sw_lsq_linear(p.x, p.y, p.w, 30, 4, 1, again, NULL, NULL), 0);
    assert_memory_equal(b, again, sizeof b);
    problem_free(&p);
}

/* A weight of 2 is the row twice, a weight of 0 no row, whatever stands in it: b is the same, and the residual too once
 * the rows are counted alike. */
static void weights_are_rows(void **state)
{
    (void)state;
    const double x[5] = {1, 2, NAN, 3, 4}, y[5] = {1.1, 1.9, NAN, 3.2, 3.7}, w[5] = {1, 2, 0, 1, 2};
    const double x2[6] = {1, 2, 2, 3, 4, 4}, y2[6] = {1.1, 1.9, 1.9, 3.2, 3.7, 3.7};
    double b, c, sd, b2, c2, sd2;
    assert_int_equal(sw_lsq_linear(x, y, w, 5, 1, 0, &b, &c, &sd), 0);
    assert_int_equal(sw_lsq_linear(x2, y2, NULL, 6, 1, 0, &b2, &c2, &sd2), 0);
    expect_digits("b", b, b2, 14.0);
    expect_digits("(X'WX)^-1", c, c2, 14.0);
    expect_digits("residual", sd * sqrt(3.0), sd2 * sqrt(5.0), 13.0);
}

static void refused(const double *x, const double *y, const double *w, size_t rows, size_t columns)
{
    double b[3] = {9, 9, 9}, c[9] = {9, 9, 9, 9, 9, 9, 9, 9, 9}, sd = 9.0;
    assert_int_equal(sw_lsq_linear(x, y, w, rows, columns, 1, b, c, &sd), SW_BAD_INPUT);
    for (size_t i = 0; i < columns; i++)
        assert_true(b[i] == 0.0);
    for (size_t i = 0; i < columns * columns; i++)
        assert_true(c[i] == 0.0);
    assert_true(sd == 0.0);
}

static void what_has_no_answer(void **state)
{
    (void)state;
    const double good[6] = {1, 1, 1, 2, 1, 3}, y[3] = {1, 2, 4};
    const double dependent[6] = {0.1, 0.3, 0.2, 0.6, 0.7, 2.1}, empty[6] = {1, 0, 2, 0, 3, 0};
    const double nan_x[6] = {1, 1, 1, NAN, 1, 3}, inf_x[6] = {1, 1, 1, INFINITY, 1, 3};
    const double nan_y[3] = {1, NAN, 4}, inf_y[3] = {1, INFINITY, 4};
    const double negative[3] = {1, -1, 1}, nan_w[3] = {1, NAN, 1}, one[3] = {0, 1, 0}, none[3] = {0, 0, 0};
    refused(good, y, NULL, 1, 2);
    refused(good, y, NULL, 3, 0);
    refused(good, y, NULL, 0, 0);
    refused(dependent, y, NULL, 3, 2);
    refused(empty, y, NULL, 3, 2);
    refused(nan_x, y, NULL, 3, 2);
    refused(inf_x, y, NULL, 3, 2);
    refused(good, nan_y, NULL, 3, 2);
    refused(good, inf_y, NULL, 3, 2);
    refused(good, y, negative, 3, 2);
    refused(good, y, nan_w, 3, 2);
    refused(good, y, one, 3, 2);
    refused(good, y, none, 3, 2);
}

/* Three columns that depend on each other only to 1e-10 are told apart; to 1e-15 they are not. */
static void nearly_dependent(void **state)
{
    (void)state;
    for (int tiny = 0; tiny < 2; tiny++) {
        double x[30], y[10], b[3], step = tiny ? 1e-15 : 1e-10;
        for (int i = 0; i < 10; i++) {
            x[3 * i] = 1.0 + i;
            x[3 * i + 1] = 1.0 / (1.0 + i);
            x[3 * i + 2] = x[3 * i] + x[3 * i + 1] + step * (i % 3);
            y[i] = x[3 * i];
        }
        assert_int_equal(sw_lsq_linear(x, y, NULL, 10, 3, 1, b, NULL, NULL), tiny ? SW_BAD_INPUT : SW_OK);
    }
}

/* As many rows as columns: solved exactly, but nothing is known of the scatter. */
static void no_row_to_spare(void **state)
{
    (void)state;
    const double x[4] = {2, 1, 1, 3}, y[2] = {5, 10};
    double b[2], c[4], sd;
    assert_int_equal(sw_lsq_linear(x, y, NULL, 2, 2, 0, b, c, &sd), 0);
    expect_digits("first", b[0], 1.0, 14.0);
    expect_digits("second", b[1], 3.0, 14.0);
    assert_true(isnan(sd));
    expect_digits("(X'X)^-1", c[0], 0.4, 14.0); /* X'X = (5 5; 5 10), determinant 25 */
    expect_digits("(X'X)^-1", c[1], -0.2, 14.0);
    assert_int_equal(sw_lsq_linear(x, y, NULL, 2, 2, 1, b, c, &sd), 0);
    assert_true(isnan(c[0]) && isnan(c[3]));
    /* A row of weight 0 is no row to spare, whatever rounding leaves of the residual. */
    uint32_t seed = 47;
    for (int trial = 0; trial < 20; trial++) {
        problem p = random_problem(&seed, 5, 4);
        p.w[2] = 0.0;
        double many[4];
        assert_int_equal(sw_lsq_linear(p.x, p.y, p.w, 5, 4, 0, many, NULL, &sd), 0);
        assert_true(isnan(sd));
        problem_free(&p);
    }
}

static void cholesky_of_random(void **state)
{
    (void)state;
    uint32_t seed = 19;
    for (int trial = 0; trial < 200; trial++) {
        size_t n = 1 + (size_t)between(&seed, 0.0, 12.0);
        double g[144], a[144], work[144], x[12], b[12];
        for (size_t i = 0; i < n * n; i++)
            g[i] = normal(&seed);
        for (size_t i = 0; i < n; i++) {
            b[i] = 0.0;
            x[i] = normal(&seed);
            for (size_t k = 0; k < n; k++) {
                a[i * n + k] = i == k ? 0.5 : 0.0;
                for (size_t m = 0; m < n; m++)
                    a[i * n + k] += g[i * n + m] * g[k * n + m];
            }
        }
        for (size_t i = 0; i < n; i++)
            for (size_t k = 0; k < n; k++)
                b[i] += a[i * n + k] * x[k];
        for (size_t i = 0; i < n * n; i++) /* only the lower triangle may be read */
            work[i] = i % n > i / n ? NAN : a[i];
        assert_int_equal(sw_cholesky_solve(work, b, n), 0);
        for (size_t i = 0; i < n; i++)
            expect_near("solution", b[i], x[i], 1e-11);
        for (size_t i = 0; i < n * n; i++)
            work[i] = i % n > i / n ? NAN : a[i];
        assert_int_equal(sw_cholesky_invert(work, n), 0);
        for (size_t i = 0; i < n; i++)
            for (size_t k = 0; k < n; k++) {
                double sum = 0.0;
                for (size_t m = 0; m < n; m++)
                    sum += a[i * n + m] * work[m * n + k];
                expect_near("A times its inverse", sum, i == k, 1e-10);
            }
    }
}

static void not_positive_definite(void **state)
{
    (void)state;
    const double singular[4] = {1, 2, 2, 4}, saddle[4] = {1, 3, 3, 1}, zero[1] = {0}, below[1] = {-1}, nan[1] = {NAN};
    const double thirds[9] = {1.0 / 3, 1.0 / 3, 1.0 / 3, 1.0 / 3, 1.0 / 3, 1.0 / 3, 1.0 / 3, 1.0 / 3, 1.0 / 3};
    const struct {
        const double *a;
        size_t n;
    } bad[] = {{singular, 2}, {saddle, 2}, {zero, 1}, {below, 1}, {nan, 1}, {thirds, 3}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        double a[9], b[3] = {1, 1, 1};
        memcpy(a, bad[i].a, bad[i].n * bad[i].n * sizeof *a);
        assert_int_equal(sw_cholesky_solve(a, b, bad[i].n), SW_BAD_INPUT);
        memcpy(a, bad[i].a, bad[i].n * bad[i].n * sizeof *a);
        assert_int_equal(sw_cholesky_invert(a, bad[i].n), SW_BAD_INPUT);
    }
    /* X'X of columns that depend on each other: rounding leaves a pivot of either sign. */
    uint32_t seed = 53;
    for (int trial = 0; trial < 500; trial++) {
        double x[5][3], a[9] = {0.0}, b[3] = {1, 1, 1}, s = normal(&seed), t = normal(&seed);
        for (int r = 0; r < 5; r++) {
            x[r][0] = normal(&seed);
            x[r][1] = normal(&seed);
            x[r][2] = s * x[r][0] + t * x[r][1];
        }
        for (int i = 0; i < 9; i++)
            for (int r = 0; r < 5; r++)
                a[i] += x[r][i / 3] * x[r][i % 3];
        assert_int_equal(sw_cholesky_solve(a, b, 3), SW_BAD_INPUT);
    }
    assert_int_equal(sw_cholesky_solve(NULL, NULL, 0), 0);
    assert_int_equal(sw_cholesky_invert(NULL, 0), 0);
    double none[1];
    assert_int_equal(sw_cholesky_invert(none, SIZE_MAX / 4), SW_NO_MEMORY);
}

/* Very different units, well conditioned otherwise: not mistaken for singular. */
static void units_do_not_matter(void **state)
{
    (void)state;
    double a[4] = {4e-20, 1.0, 1.0, 9e20}, b[2] = {5e-10, 10e10};
    assert_int_equal(sw_cholesky_solve(a, b, 2), 0); /* (4 1; 1 9) (x; y) = (5; 10) with x in 1e10, y in 1e-10 */
    expect_digits("x", b[0], 1e10, 14.0);
    expect_digits("y", b[1], 1e-10, 14.0);
}

/* L L' gives the covariance back, zeros above; a direction without variance is a column of zeros. */
static void root_of_a_covariance(void **state)
{
    (void)state;
    const double full[9] = {4, 2, -1, 2, 5, 0.5, -1, 0.5, 3}, flat[9] = {1, 0, 2, 0, 0, 0, 2, 0, 5};
    const double *cases[2] = {full, flat};
    for (int k = 0; k < 2; k++) {
        double l[9];
        memcpy(l, cases[k], sizeof l);
        sw_covariance_root(l, 3);
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++) {
                double sum = 0;
                for (int m = 0; m < 3; m++)
                    sum += l[i * 3 + m] * l[j * 3 + m];
                assert_true(fabs(sum - cases[k][i * 3 + j]) < 1e-12);
                if (j > i)
                    assert_true(l[i * 3 + j] == 0);
            }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_norris),
        cmocka_unit_test(nist_pontius),
        cmocka_unit_test(nist_noint1),
        cmocka_unit_test(gum_h3),
        cmocka_unit_test(iso_28037),
        cmocka_unit_test(random_against_normal_equations),
        cmocka_unit_test(scaled_covariance),
        cmocka_unit_test(weights_are_rows),
        cmocka_unit_test(what_has_no_answer),
        cmocka_unit_test(nearly_dependent),
        cmocka_unit_test(no_row_to_spare),
        cmocka_unit_test(cholesky_of_random),
        cmocka_unit_test(not_positive_definite),
        cmocka_unit_test(units_do_not_matter),
        cmocka_unit_test(root_of_a_covariance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
