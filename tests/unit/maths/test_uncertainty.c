/* The budget on worked examples of JCGM 100:2008 (H.1, end-gauge calibration; H.3, a calibration line, whose inputs go
 * together) and the data of ISO/TS 28037 clause 6, and by the rules it must keep. */
#include "support/maths_check.h"

#include "maths/budget.h"
#include "maths/lsq.h"
#include "maths/stats.h"

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
        assert_int_equal(sw_budget_combine(c, 2, &b), -1);
        assert_true(b.u == 0.0 && b.degrees_of_freedom == 0.0 && b.k95 == 0.0 && b.expanded99 == 0.0);
    }
}

/* A straight line by least squares: y = b0 + b1 (x - x0), its uncertainties and correlation as components of y at x. */
static void line_budget(const double *x, const double *y, const double *weights, size_t n, double x0, double at,
                        double degrees_of_freedom, double *value, sw_budget *b)
{
    double rows[2 * 16], line[2], c[4];
    assert_true(n <= 16);
    for (size_t i = 0; i < n; i++) {
        rows[2 * i] = 1;
        rows[2 * i + 1] = x[i] - x0;
    }
    assert_int_equal(sw_lsq_linear(rows, y, weights, n, 2, !weights, line, c, NULL), 0);
    double r = c[1] / sqrt(c[0] * c[3]), correlation[4] = {1, r, r, 1};
    const sw_component parts[2] = {{"intercept", sqrt(c[0]), degrees_of_freedom, 1},
                                   {"slope", sqrt(c[3]), degrees_of_freedom, at - x0}};
    *value = line[0] + line[1] * (at - x0);
    assert_int_equal(sw_budget_combine_correlated(parts, 2, correlation, b), 0);
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
    double value, mean = sw_mean(t, 11);
    sw_budget b, apart;
    line_budget(t, y, NULL, 11, 20, 30, 9, &value, &b);
    expect_near("b(30)", value, -0.149376813, 5e-10);
    expect_near("u(b(30))", b.u, 0.004138596, 5e-10);
    expect_near("as printed", b.u, 0.0041, 5e-5);
    expect_near("degrees of freedom", b.degrees_of_freedom, 9, 0); /* n - 2 (H.3.3) */
    expect_near("k95 (table G.2)", b.k95, 2.26, 0.005);
    line_budget(t, y, NULL, 11, mean, 30, 9, &value, &apart);
    expect_near("b(30), about the mean", value, -0.149376813, 5e-10);
    expect_near("u(b(30)), about the mean", apart.u, b.u, 1e-12);
    /* From the standard's own rounded figures (u(y1) and u(y2) from memory). */
    const double r[4] = {1, -0.930, -0.930, 1};
    const sw_component printed[2] = {{"y1", 0.0029, 9, 1}, {"y2", 0.00067, 9, 10}};
    assert_int_equal(sw_budget_combine_correlated(printed, 2, r, &b), 0);
    expect_near("from the printed, rounded figures", b.u, 0.0041, 1e-4);
}

/* ISO/TS 28037, data of clause 6: y at x has the variance u^2 (1 / n + (x - mean x)^2 / sum (x - mean x)^2), by hand.
 */
static void weighted_line_28037(void **state)
{
    (void)state;
    static const double x[6] = {1, 2, 3, 4, 5, 6}, y[6] = {3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, w[6] = {4, 4, 4, 4, 4, 4};
    for (double at = -2; at < 9; at += 0.5) {
        double value;
        sw_budget b;
        line_budget(x, y, w, 6, 0, at, INFINITY, &value, &b);
        expect_near("value", value, 1.8667 + 1.7571 * at, 5e-5 * (1 + fabs(at)));
        expect_digits("u", b.u, 0.5 * sqrt(1.0 / 6 + (at - 3.5) * (at - 3.5) / 17.5), 12);
        assert_true(isinf(b.degrees_of_freedom));
        expect_near("k95", b.k95, 1.960, 0.0005);
    }
    /* From the published figures: u(a) 0.46547, u(b) 0.11952, cov -0.05. That their last digit is rounded moves u by up
     * to (0.46547 + 3.5^2 0.11952) 5e-6 / 0.204 = 5e-5. */
    double r = -0.05 / (0.46547 * 0.11952), both[4] = {1, r, r, 1};
    const sw_component parts[2] = {{"a", 0.46547, INFINITY, 1}, {"b", 0.11952, INFINITY, 3.5}};
    sw_budget b;
    assert_int_equal(sw_budget_combine_correlated(parts, 2, both, &b), 0);
    expect_near("u at the mean: 0.5 / sqrt 6", b.u, 0.204124, 5e-5);
}

/* Inputs that go together wholly add up as they are, those that go against each other take each other away. */
static void together_and_apart(void **state)
{
    (void)state;
    sw_component c[2] = {{NULL, 3, 7, 1}, {NULL, 4, 5, 1}};
    const double same[4] = {1, 1, 1, 1}, against[4] = {1, -1, -1, 1}, none[4] = {1, 0, 0, 1};
    sw_budget b, plain;
    assert_int_equal(sw_budget_combine_correlated(c, 2, same, &b), 0);
    expect_near("3 and 4 together", b.u, 7, 1e-12);
    expect_near("the least degrees of freedom", b.degrees_of_freedom, 5, 0);
    const sw_component turned[2] = {c[1], c[0]};
    assert_int_equal(sw_budget_combine_correlated(turned, 2, same, &b), 0);
    expect_near("in whatever order", b.degrees_of_freedom, 5, 0);
    assert_int_equal(sw_budget_combine_correlated(c, 2, against, &b), 0);
    expect_near("3 against 4", b.u, 1, 1e-12);
    c[1].sensitivity = -1;
    assert_int_equal(sw_budget_combine_correlated(c, 2, same, &b), 0);
    expect_near("a negative sensitivity", b.u, 1, 1e-12);
    c[1].sensitivity = -0.75;
    assert_int_equal(sw_budget_combine_correlated(c, 2, same, &b), 0);
    expect_near("nothing left", b.u, 0, 1e-6);
    assert_int_equal(sw_budget_combine_correlated(c, 2, none, &b), 0);
    assert_int_equal(sw_budget_combine(c, 2, &plain), 0);
    expect_near("independent: u", b.u, plain.u, 1e-15);
    expect_near("independent: degrees of freedom", b.degrees_of_freedom, plain.degrees_of_freedom, 1e-12);
}

static void correlations_refused(void **state)
{
    (void)state;
    const sw_component c[3] = {{NULL, 1, 5, 1}, {NULL, 1, 5, 1}, {NULL, 1, 5, 1}};
    const double too_much[9] = {1, 1.1, 0, 1.1, 1, 0, 0, 0, 1}, lopsided[9] = {1, 0.5, 0, 0.4, 1, 0, 0, 0, 1},
                 own[9] = {0.9, 0, 0, 0, 1, 0, 0, 0, 1}, nan[9] = {1, NAN, 0, NAN, 1, 0, 0, 0, 1},
                 /* No three things can each go against both others. */
        impossible[9] = {1, -0.9, -0.9, -0.9, 1, -0.9, -0.9, -0.9, 1};
    const double *const bad[] = {too_much, lopsided, own, nan, impossible};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sw_budget b = {9, 9, 9, 9, 9, 9};
        assert_int_equal(sw_budget_combine_correlated(c, 3, bad[i], &b), -1);
        assert_true(b.u == 0.0 && b.expanded99 == 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(end_gauge_h1),         cmocka_unit_test(sensitivities_of_h1),
        cmocka_unit_test(draws_of_h1),          cmocka_unit_test(equal_parts),
        cmocka_unit_test(nothing_in_it),        cmocka_unit_test(degrees_of_freedom_are_cut),
        cmocka_unit_test(budgets_refused),      cmocka_unit_test(thermometer_h3),
        cmocka_unit_test(weighted_line_28037),  cmocka_unit_test(together_and_apart),
        cmocka_unit_test(correlations_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
