/* The budget on worked examples of JCGM 100:2008 (H.1, end-gauge calibration; H.3, a calibration line, whose inputs go
 * together) and the data of ISO/TS 28037 clause 6, and by the rules it must keep. */
#include "support/maths_check.h"

#include "maths/budget.h"
#include "maths/lsq.h"
#include "maths/stats.h"
#include "support/mean.h"

/* H.1: l = ls + d - ls (delta_alpha theta + alpha_s delta_theta). Lengths in nm. */
typedef struct end_gauge {
    double ls, d, alpha_s, theta, delta_alpha, delta_theta;
} end_gauge;

static const end_gauge H1 = {50000623.0, 215.0, 11.5e-6, -0.1, 0.0, 0.0};

static double length_nm(end_gauge g)
{
    return g.ls + g.d - g.ls * (g.delta_alpha * g.theta + g.alpha_s * g.delta_theta);
}

/* The inputs of table H.1; alpha_s and theta have no first-order effect, for delta_theta and delta_alpha are 0 (H.1.4).
 */
static void take_inputs(sw_component *c, end_gauge g)
{
    c[0] = (sw_component){"standard", 25.0, 18.0, 1.0 - g.delta_alpha * g.theta - g.alpha_s * g.delta_theta};
    c[1] = (sw_component){"difference", 9.7, 25.6, 1.0};
    c[2] = (sw_component){"expansion of the standard", 1.2e-6, INFINITY, -g.ls * g.delta_theta};
    c[3] = (sw_component){"temperature of the bed", 0.41, INFINITY, -g.ls * g.delta_alpha};
    c[4] = (sw_component){"difference in expansion", 0.58e-6, 50.0, -g.ls * g.theta};
    c[5] = (sw_component){"difference in temperature", 0.029, 2.0, -g.ls * g.alpha_s};
}

static void end_gauge_h1(void **state)
{
    (void)state;
    sw_component c[6];
    sw_budget b;
    take_inputs(c, H1);
    assert_int_equal(sw_budget_combine(c, 6, &b), 0);
    /* As printed in H.1: 50.000838 mm, 32 nm, 16 degrees of freedom, 2.92, 93 nm; 31.71 nm is the same sum not rounded.
     */
    expect_near("length, mm", 1e-6 * length_nm(H1), 50.000838, 0.5e-6);
    expect_near("u, nm", b.u, 32.0, 0.5);
    expect_near("u, nm, not rounded", b.u, 31.71, 0.005);
    expect_near("degrees of freedom", floor(b.degrees_of_freedom), 16.0, 0.0);
    expect_near("k99", b.k99, 2.92, 0.005);
    expect_near("U99, nm", b.expanded99, 93.0, 0.5);
    expect_near("k95 (table G.2)", b.k95, 2.12, 0.005);
    expect_digits("U95, nm", b.expanded95, b.k95 * b.u, 15.0);
    print_message("  u %.4f nm, v %.3f, k99 %.4f, U99 %.2f nm, U95 %.2f nm\n", b.u, b.degrees_of_freedom, b.k99,
                  b.expanded99, b.expanded95);
}

/* The sensitivities typed in above are the slopes of the model, by differences. */
static void sensitivities_of_h1(void **state)
{
    (void)state;
    sw_component c[6];
    take_inputs(c, H1);
    for (int i = 0; i < 6; i++) {
        end_gauge up = H1, down = H1;
        double *high[6] = {&up.ls, &up.d, &up.alpha_s, &up.theta, &up.delta_alpha, &up.delta_theta};
        double *low[6] = {&down.ls, &down.d, &down.alpha_s, &down.theta, &down.delta_alpha, &down.delta_theta};
        *high[i] += c[i].u;
        *low[i] -= c[i].u;
        double slope = (length_nm(up) - length_nm(down)) / (2.0 * c[i].u);
        expect_near(c[i].name, slope * c[i].u, c[i].sensitivity * c[i].u, 1e-6);
    }
}

/* The combined u against a draw of all inputs, 200000 times: its standard error is u / sqrt(2 n) = 0.05 nm. First order
 * only, so theta and alpha_s, whose second-order terms H.1.7 sets apart, stay where they are. */
static void draws_of_h1(void **state)
{
    (void)state;
    enum { DRAWS = 200000 };
    sw_component c[6];
    sw_budget b;
    take_inputs(c, H1);
    assert_int_equal(sw_budget_combine(c, 6, &b), 0);
    uint32_t seed = 9;
    double sum = 0.0, squares = 0.0;
    for (int i = 0; i < DRAWS; i++) {
        end_gauge g = H1;
        g.ls += c[0].u * normal(&seed);
        g.d += c[1].u * normal(&seed);
        g.delta_alpha += c[4].u * normal(&seed);
        g.delta_theta += c[5].u * normal(&seed);
        double off = length_nm(g) - length_nm(H1);
        sum += off;
        squares += off * off;
    }
    expect_near("u, nm", sqrt((squares - sum * sum / DRAWS) / (DRAWS - 1)), b.u, 0.25);
}

/* One component is its own budget; n equal ones have n times the degrees of freedom and sqrt n times the u. */
static void equal_parts(void **state)
{
    (void)state;
    for (int v = 1; v <= 400; v++) {
        sw_component c[4];
        sw_budget b;
        for (int i = 0; i < 4; i++)
            c[i] = (sw_component){NULL, 0.3, v, i % 2 ? -2.0 : 2.0};
        assert_int_equal(sw_budget_combine(c, 1, &b), 0);
        expect_digits("u", b.u, 0.6, 15.0);
        expect_digits("degrees of freedom", b.degrees_of_freedom, v, 15.0);
        expect_near("k is of the whole number", b.k95, sw_coverage_factor_95(v), 0.0);
        assert_int_equal(sw_budget_combine(c, 4, &b), 0);
        expect_digits("u", b.u, 1.2, 15.0);
        expect_digits("degrees of freedom", b.degrees_of_freedom, 4.0 * v, 14.0);
        expect_near("k is of the whole number", b.k99, sw_coverage_factor(0.99, 4.0 * v), 0.0);
    }
}

/* Degrees of freedom are cut, not rounded: 5.9 count as 5. A component without effect does not matter. */
static void degrees_of_freedom_are_cut(void **state)
{
    (void)state;
    sw_component c[2] = {{NULL, 1.0, 5.9, 1.0}, {NULL, 0.0, 1.0, 1.0}};
    sw_budget b;
    assert_int_equal(sw_budget_combine(c, 2, &b), 0);
    expect_near("k95", b.k95, 2.57, 0.005); /* table G.2 for 5, not 2.45 for 6 */
    c[0].degrees_of_freedom = INFINITY;
    assert_int_equal(sw_budget_combine(c, 2, &b), 0);
    assert_true(isinf(b.degrees_of_freedom));
    expect_near("k95", b.k95, 1.960, 0.0005);
    expect_near("U99", b.expanded99, 2.576, 0.0005);
    c[0].degrees_of_freedom = 0.5;
    assert_int_equal(sw_budget_combine(c, 2, &b), 0);
    assert_true(isinf(b.k95) && isinf(b.expanded95));
}

static void nothing_in_it(void **state)
{
    (void)state;
    sw_component idle[2] = {{NULL, 0.0, NAN, 3.0}, {NULL, 5.0, -1.0, 0.0}};
    sw_budget b = {9, 9, 9, 9, 9, 9};
    assert_int_equal(sw_budget_combine(NULL, 0, &b), 0);
    assert_true(b.u == 0.0 && b.expanded95 == 0.0 && isinf(b.degrees_of_freedom));
    assert_int_equal(sw_budget_combine(idle, 2, &b), 0);
    assert_true(b.u == 0.0 && b.expanded99 == 0.0);
}

static void budgets_refused(void **state)
{
    (void)state;
    const sw_component bad[] = {{NULL, -1.0, 5.0, 1.0}, {NULL, NAN, 5.0, 1.0},      {NULL, INFINITY, 5.0, 1.0},
                                {NULL, 1.0, NAN, 1.0},  {NULL, 1.0, 0.0, 1.0},      {NULL, 1.0, -2.0, 1.0},
                                {NULL, 1.0, 5.0, NAN},  {NULL, 1.0, 5.0, INFINITY}, {NULL, INFINITY, 5.0, 0.0}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sw_component c[2] = {{NULL, 1.0, 5.0, 1.0}, bad[i]};
        sw_budget b = {9, 9, 9, 9, 9, 9};
        assert_int_equal(sw_budget_combine(c, 2, &b), SW_BAD_INPUT);
        assert_true(b.u == 0.0 && b.degrees_of_freedom == 0.0 && b.k95 == 0.0 && b.expanded99 == 0.0);
    }
}

/* A straight line by least squares: y = b0 + b1 (x - x0), y at x and its uncertainty. */
static void line_at(const double *x, const double *y, const double *weights, size_t n, double x0, double at,
                    double *value, double *u)
{
    double rows[2 * 16], line[2], c[4], d = at - x0;
    assert_true(n <= 16);
    for (size_t i = 0; i < n; i++) {
        rows[2 * i] = 1;
        rows[2 * i + 1] = x[i] - x0;
    }
    assert_int_equal(sw_lsq_linear(rows, y, weights, n, 2, !weights, line, c, NULL), SW_OK);
    *value = line[0] + line[1] * d;
    *u = sqrt(c[0] + 2 * d * c[1] + d * d * c[3]); /* JCGM 100 5.2.2 */
}

/* JCGM 100:2008 H.3, calibration of a thermometer: correction at 30 degrees and its u, with the correlation r = -0.930
 * of intercept and slope. The standard prints 0.0041; more digits from the project's reference values. With t0 at the
 * mean of the t, intercept and slope do not go together; the answer must be the same. */
static void thermometer_h3(void **state)
{
    (void)state;
    static const double t[11] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                                 24.513, 25.002, 25.503, 26.010, 26.511};
    static const double y[11] = {-.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161, -.160};
    double value, u, apart;
    line_at(t, y, NULL, 11, 20, 30, &value, &u);
    expect_near("b(30)", value, -0.149376813, 5e-10);
    expect_near("u(b(30))", u, 0.004138596, 5e-10);
    expect_near("as printed", u, 0.0041, 5e-5);
    line_at(t, y, NULL, 11, mean_of(t, 11), 30, &value, &apart);
    expect_near("b(30), about the mean", value, -0.149376813, 5e-10);
    expect_near("u(b(30)), about the mean", apart, u, 1e-12);
}

/* ISO/TS 28037, data of clause 6: y at x has the variance u^2 (1 / n + (x - mean x)^2 / sum (x - mean x)^2), by hand.
 */
static void weighted_line_28037(void **state)
{
    (void)state;
    static const double x[6] = {1, 2, 3, 4, 5, 6}, y[6] = {3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, w[6] = {4, 4, 4, 4, 4, 4};
    for (double at = -2; at < 9; at += 0.5) {
        double value, u;
        line_at(x, y, w, 6, 0, at, &value, &u);
        expect_near("value", value, 1.8667 + 1.7571 * at, 5e-5 * (1 + fabs(at)));
        expect_digits("u", u, 0.5 * sqrt(1.0 / 6 + (at - 3.5) * (at - 3.5) / 17.5), 12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(end_gauge_h1),        cmocka_unit_test(sensitivities_of_h1),
        cmocka_unit_test(draws_of_h1),         cmocka_unit_test(equal_parts),
        cmocka_unit_test(nothing_in_it),       cmocka_unit_test(degrees_of_freedom_are_cut),
        cmocka_unit_test(budgets_refused),     cmocka_unit_test(thermometer_h3),
        cmocka_unit_test(weighted_line_28037),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
