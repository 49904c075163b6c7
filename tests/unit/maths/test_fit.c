/* Levenberg-Marquardt: NIST's certified values from both of its starts, the linear solver as the other way to the same
 * answer, and the ways a fit can fail. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"

typedef struct data {
    size_t rows;
    const double *x, *y;
} data;

/* NIST StRD, nonlinear regression, Misra1a (lower difficulty): y = b1 (1 - exp(-b2 x)). */
static const double MISRA_Y[14] = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                                   44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
static const double MISRA_X[14] = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                                   378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};

static sw_status misra(void *context, const double *p, double *residual, double *jacobian)
{
    const data *d = context;
    for (size_t i = 0; i < d->rows; i++) {
        double e = exp(-p[1] * d->x[i]);
        residual[i] = p[0] * (1.0 - e) - d->y[i];
        if (jacobian) {
            jacobian[2 * i] = 1.0 - e;
            jacobian[2 * i + 1] = p[0] * d->x[i] * e;
        }
    }
    return SW_OK;
}

/* NIST StRD, nonlinear regression, Eckerle4 (higher difficulty): y = b1 / b2 exp(-((x - b3) / b2)^2 / 2). */
static const double ECKERLE_X[35] = {400.0, 405.0, 410.0, 415.0, 420.0, 425.0, 430.0, 435.0, 436.5, 438.0, 439.5, 441.0,
                                     442.5, 444.0, 445.5, 447.0, 448.5, 450.0, 451.5, 453.0, 454.5, 456.0, 457.5, 459.0,
                                     460.5, 462.0, 463.5, 465.0, 470.0, 475.0, 480.0, 485.0, 490.0, 495.0, 500.0};
static const double ECKERLE_Y[35] = {0.0001575, 0.0001699, 0.0002350, 0.0003102, 0.0004917, 0.0008710, 0.0017418,
                                     0.0046400, 0.0065895, 0.0097302, 0.0149002, 0.0237310, 0.0401683, 0.0712559,
                                     0.1264458, 0.2073413, 0.2902366, 0.3445623, 0.3698049, 0.3668534, 0.3106727,
                                     0.2078154, 0.1164354, 0.0616764, 0.0337200, 0.0194023, 0.0117831, 0.0074357,
                                     0.0022732, 0.0008800, 0.0004579, 0.0002345, 0.0001586, 0.0001143, 0.0000710};

static sw_status eckerle(void *context, const double *p, double *residual, double *jacobian)
{
    const data *d = context;
    for (size_t i = 0; i < d->rows; i++) {
        double z = (d->x[i] - p[2]) / p[1], f = p[0] / p[1] * exp(-0.5 * z * z);
        residual[i] = f - d->y[i];
        if (jacobian) {
            jacobian[3 * i] = f / p[0];
            jacobian[3 * i + 1] = f * (z * z - 1.0) / p[1];
            jacobian[3 * i + 2] = f * z / p[1];
        }
    }
    return SW_OK;
}

static const data MISRA = {14, MISRA_X, MISRA_Y}, ECKERLE = {35, ECKERLE_X, ECKERLE_Y};

/* Certified figures: parameters, their standard deviations, residual sum of squares; as quoted in pages that carry the
 * sets. */
typedef struct certified {
    const char *name;
    sw_lsq_model model;
    const data *d;
    size_t columns;
    double start[2][3], b[3], sd[3], squares;
} certified;

static const certified SETS[2] = {
    {"Misra1a",
     misra,
     &MISRA,
     2,
     {{500.0, 0.0001, 0.0}, {250.0, 0.0005, 0.0}},
     {2.3894212918e+02, 5.5015643181e-04, 0.0},
     {2.7070075241e+00, 7.2668688436e-06, 0.0},
     1.2455138894e-01},
    {"Eckerle4",
     eckerle,
     &ECKERLE,
     3,
     {{1.0, 10.0, 500.0}, {1.5, 5.0, 450.0}},
     {1.5543827178e+00, 4.0888321754e+00, 4.5154121844e+02},
     {1.5408051163e-02, 4.6803020753e-02, 4.6800518816e-02},
     1.4635887487e-03},
};

/* The certified values have 11 digits. Eckerle4's far start is known for fits that run away to a flat line: where it
 * stands the place of the peak has next to no say. */
static void certify_set(const certified *set, int start, int numeric)
{
    double p[3], c[9], cost;
    char what[64];
    memcpy(p, set->start[start], sizeof p);
    void *context = (void *)(uintptr_t)set->d;
    sw_status status = sw_lsq_fit(set->model, context, set->d->rows, set->columns, numeric, 200, p, c, &cost);
    if (status != 0)
        fail_msg("%s, start %d, numeric %d: status %d at %g %g %g", set->name, start + 1, numeric, status, p[0], p[1],
                 p[2]);
    double variance = cost / (double)(set->d->rows - set->columns);
    for (size_t i = 0; i < set->columns; i++) {
        snprintf(what, sizeof what, "%s start %d%s b%zu", set->name, start + 1, numeric ? " numeric" : "", i + 1);
        certify(what, p[i], set->b[i], numeric ? 9.0 : 10.0);
        expect_digits("standard deviation", sqrt(variance * c[i * set->columns + i]), set->sd[i], 7.0);
    }
    expect_digits("sum of squares", cost, set->squares, 9.5);
}

static void nist_nonlinear(void **state)
{
    (void)state;
    for (int set = 0; set < 2; set++)
        for (int start = 0; start < 2; start++)
            for (int numeric = 0; numeric < 2; numeric++)
                certify_set(&SETS[set], start, numeric);
}

/* Rosenbrock 1960 from his own start (-1.2, 1); minimum 0 at (1, 1). Covariance by hand: J = (-20 10; -1 0). */
static sw_status rosenbrock(void *context, const double *p, double *residual, double *jacobian)
{
    int *calls = context;
    ++*calls;
    residual[0] = 10.0 * (p[1] - p[0] * p[0]);
    residual[1] = 1.0 - p[0];
    if (jacobian) {
        jacobian[0] = -20.0 * p[0];
        jacobian[1] = 10.0;
        jacobian[2] = -1.0;
        jacobian[3] = 0.0;
    }
    return SW_OK;
}

static void rosenbrock_valley(void **state)
{
    (void)state;
    for (int numeric = 0; numeric < 2; numeric++) {
        double p[2] = {-1.2, 1.0}, c[4], cost;
        int calls = 0;
        assert_int_equal(sw_lsq_fit(rosenbrock, &calls, 2, 2, numeric, 100, p, c, &cost), 0);
        expect_digits("x", p[0], 1.0, 12.0);
        expect_digits("y", p[1], 1.0, 12.0);
        expect_near("cost", cost, 0.0, 1e-24);
        expect_near("variance of x", c[0], 1.0, 1e-8);
        expect_near("covariance", c[1], 2.0, 1e-8);
        expect_near("covariance, the other", c[2], c[1], 0.0);
        expect_near("variance of y", c[3], 4.01, 1e-8);
        assert_true(calls < (numeric ? 200 : 80));
    }
}

/* A linear problem in odd units, so that the linear solver can judge. */
typedef struct straight {
    size_t rows, columns;
    double *x, *y;
} straight;

static sw_status straight_model(void *context, const double *p, double *residual, double *jacobian)
{
    const straight *s = context;
    for (size_t r = 0; r < s->rows; r++) {
        residual[r] = -s->y[r];
        for (size_t c = 0; c < s->columns; c++)
            residual[r] += s->x[r * s->columns + c] * p[c];
    }
    if (jacobian)
        memcpy(jacobian, s->x, s->rows * s->columns * sizeof *jacobian);
    return SW_OK;
}

static straight random_straight(uint32_t *seed, size_t rows, size_t columns)
{
    straight s = {rows, columns, malloc(rows * columns * sizeof(double)), malloc(rows * sizeof(double))};
    assert_true(s.x && s.y);
    for (size_t r = 0; r < rows; r++) {
        s.y[r] = 3.0 * normal(seed);
        for (size_t c = 0; c < columns; c++)
            s.x[r * columns + c] = normal(seed) * pow(10.0, (double)(c % 7) - 3.0);
    }
    return s;
}

static void straight_free(straight *s)
{
    free(s->x);
    free(s->y);
}

static void linear_problems_against_the_linear_solver(void **state)
{
    (void)state;
    uint32_t seed = 37;
    for (int trial = 0; trial < 200; trial++) {
        size_t columns = 1 + (size_t)between(&seed, 0.0, 7.0), rows = columns + 3 + (size_t)between(&seed, 0.0, 40.0);
        straight s = random_straight(&seed, rows, columns);
        double p[8], want[8], c[64], inverse[64], cost, sd;
        for (size_t i = 0; i < columns; i++)
            p[i] = trial % 2 ? 0.0 : 100.0 * normal(&seed);
        assert_int_equal(sw_lsq_fit(straight_model, &s, rows, columns, trial % 3 == 0, 50, p, c, &cost), 0);
        assert_int_equal(sw_lsq_linear(s.x, s.y, NULL, rows, columns, 0, want, inverse, &sd), 0);
        for (size_t i = 0; i < columns; i++) {
            double u = sqrt(inverse[i * columns + i]);
            expect_near("parameter", p[i], want[i], 1e-6 * u);
            for (size_t k = 0; k < columns; k++)
                expect_near("covariance", c[i * columns + k], inverse[i * columns + k],
                            1e-6 * u * sqrt(inverse[k * columns + k]));
        }
        expect_digits("cost", cost, sd * sd * (double)(rows - columns), 10.0);
        straight_free(&s);
    }
}

/* The largest problem the program has: 3000 rows, 40 columns. */
static void large_problem(void **state)
{
    (void)state;
    uint32_t seed = 43;
    straight s = random_straight(&seed, 3000, 40);
    double p[40] = {0.0}, want[40], c[1600], cost;
    assert_int_equal(sw_lsq_fit(straight_model, &s, 3000, 40, 1, 50, p, c, &cost), 0);
    assert_int_equal(sw_lsq_linear(s.x, s.y, NULL, 3000, 40, 0, want, NULL, NULL), 0);
    for (int i = 0; i < 40; i++)
        expect_near("parameter", p[i], want[i], 1e-6 * sqrt(c[41 * i]));
    straight_free(&s);
}

/* A map with perspective, as between card and photo: parameters of 1000, 1 and 1e-5, data without noise, starts at 0
 * and a hair beside it. Differences must not drown at either. */
static sw_status perspective(void *context, const double *p, double *residual, double *jacobian)
{
    const double *truth = context;
    (void)jacobian;
    for (int i = 0; i < 25; i++) {
        double x = 200.0 * (i % 5), y = 200.0 * (double)(i / 5);
        double w = 1.0 + p[3] * x + p[4] * y, v = 1.0 + truth[3] * x + truth[4] * y;
        if (w <= 0.1)
            return SW_BAD_INPUT;
        residual[2 * i] = (p[0] + p[1] * x + p[2] * y) / w - (truth[0] + truth[1] * x + truth[2] * y) / v;
        residual[2 * i + 1] = (p[0] - p[2] * x + p[1] * y) / w - (truth[0] - truth[2] * x + truth[1] * y) / v;
    }
    return SW_OK;
}

static void perspective_from_nothing(void **state)
{
    (void)state;
    for (int start = 0; start < 6; start++) {
        double truth[5] = {1234.5, 3.1, -0.2, 2e-5, -7e-5};
        double hair = start % 3 == 0 ? 0.0 : start % 3 == 1 ? 1e-13 : -1e-9;
        if (start > 2) /* two that end at nothing, too */
            truth[2] = truth[3] = 0.0;
        double p[5] = {1000.0, 3.0, hair, hair, hair}, c[25], want[25], cost;
        assert_int_equal(sw_lsq_fit(perspective, truth, 50, 5, 1, 100, p, c, &cost), 0);
        for (int i = 0; i < 5; i++)
            expect_near("parameter", p[i], truth[i], 1e-12 * (i < 1 ? 1e3 : i < 3 ? 1.0 : 1e-3));
        /* With no residual left the differences are at their least; the covariance shows whether they drown. From the
         * truth itself they are at their most. */
        memcpy(p, truth, sizeof p);
        assert_int_equal(sw_lsq_fit(perspective, truth, 50, 5, 1, 100, p, want, &cost), 0);
        for (int i = 0; i < 25; i++)
            expect_near("covariance", c[i], want[i], 1e-3 * sqrt(want[i / 5 * 6] * want[i % 5 * 6]));
    }
}

/* At the minimum already, with and without noise: stays, and says so. */
static void start_at_the_minimum(void **state)
{
    (void)state;
    double truth[5] = {1234.5, 3.1, -0.2, 2e-5, -7e-5}, p[5], c[25], cost = 9.0;
    memcpy(p, truth, sizeof p);
    assert_int_equal(sw_lsq_fit(perspective, truth, 50, 5, 1, 100, p, c, &cost), 0);
    assert_memory_equal(p, truth, sizeof p);
    assert_true(cost == 0.0 && c[0] > 0.0);
    double m[2] = {500.0, 0.0001}, again[2];
    void *context = (void *)(uintptr_t)&MISRA;
    assert_int_equal(sw_lsq_fit(misra, context, 14, 2, 0, 100, m, NULL, NULL), 0);
    memcpy(again, m, sizeof m);
    assert_int_equal(sw_lsq_fit(misra, context, 14, 2, 0, 3, again, NULL, NULL), 0);
    expect_digits("b1", again[0], m[0], 9.0);
    expect_digits("b2", again[1], m[1], 9.0);
}

/* log p, refused for p <= 0: the first full step from 50 lands there (at 50 - 50 log 50 < 0). */
static sw_status logarithm(void *context, const double *p, double *residual, double *jacobian)
{
    int *refusals = context;
    if (p[0] <= 0.0) {
        ++*refusals;
        return SW_BAD_INPUT;
    }
    residual[0] = log(p[0]);
    if (jacobian)
        jacobian[0] = 1.0 / p[0];
    return SW_OK;
}

/* The same without a refusal: log of a negative number is NaN. */
static sw_status logarithm_nan(void *context, const double *p, double *residual, double *jacobian)
{
    (void)context;
    residual[0] = log(p[0]);
    if (jacobian)
        jacobian[0] = 1.0 / p[0];
    return SW_OK;
}

static void refusals_shorten_the_step(void **state)
{
    (void)state;
    for (int numeric = 0; numeric < 2; numeric++) {
        double p[1] = {50.0}, q[1] = {50.0}, cost;
        int refusals = 0;
        assert_int_equal(sw_lsq_fit(logarithm, &refusals, 1, 1, numeric, 100, p, NULL, &cost), 0);
        expect_digits("root", p[0], 1.0, 9.0);
        assert_true(refusals > 0);
        assert_int_equal(sw_lsq_fit(logarithm_nan, NULL, 1, 1, numeric, 100, q, NULL, &cost), 0);
        expect_digits("root", q[0], 1.0, 9.0);
        double bad[1] = {-1.0};
        assert_int_equal(sw_lsq_fit(logarithm, &refusals, 1, 1, numeric, 100, bad, NULL, &cost), SW_BAD_INPUT);
        assert_true(isinf(cost));
        assert_int_equal(sw_lsq_fit(logarithm_nan, NULL, 1, 1, numeric, 100, bad, NULL, NULL), SW_BAD_INPUT);
        assert_true(bad[0] == -1.0);
    }
}

/* At the rim of what is allowed (p >= 0, or p <= 0) a difference has one side only. */
static sw_status rim(void *context, const double *p, double *residual, double *jacobian)
{
    const double *side = context;
    (void)jacobian;
    if (p[0] * *side < 0.0)
        return SW_BAD_INPUT;
    residual[0] = p[0] - 2.0 * *side;
    return SW_OK;
}

static void one_sided_difference(void **state)
{
    (void)state;
    for (double side = -1.0; side <= 1.0; side += 2.0) {
        double p[1] = {0.0};
        assert_int_equal(sw_lsq_fit(rim, &side, 1, 1, 1, 4, p, NULL, NULL),
                         0); /* a wrong slope would take more rounds */
        expect_digits("root", p[0], 2.0 * side, 9.0);
    }
}

/* Notes the first three places it is asked about: the start and a difference to either side. */
typedef struct places {
    int count;
    double p[3];
} places;

static sw_status noting(void *context, const double *p, double *residual, double *jacobian)
{
    places *seen = context;
    (void)jacobian;
    if (seen->count < 3)
        seen->p[seen->count++] = p[0];
    residual[0] = p[0] - 2.0;
    return SW_OK;
}

static void differences_reach_as_promised(void **state)
{
    (void)state;
    const double starts[] = {0.0, 1e-9, 0.5, -3000.0};
    for (size_t i = 0; i < 4; i++) {
        places seen = {0};
        double p[1] = {starts[i]}, reach = 6e-6 * fmax(1.0, fabs(starts[i]));
        assert_int_equal(sw_lsq_fit(noting, &seen, 1, 1, 1, 50, p, NULL, NULL), 0);
        expect_near("start", seen.p[0], starts[i], 0.0);
        expect_near("up", seen.p[1] - starts[i], reach, 1e-4 * reach);
        expect_near("down", seen.p[2] - starts[i], -reach, 1e-4 * reach);
    }
}

/* Only the sum of the two matters; the second has no say at all; the jacobian points the wrong way. */
static sw_status sum_only(void *context, const double *p, double *residual, double *jacobian)
{
    (void)context;
    for (int i = 0; i < 3; i++) {
        residual[i] = p[0] + p[1] - 1.0 - i;
        if (jacobian)
            jacobian[2 * i] = jacobian[2 * i + 1] = 1.0;
    }
    return SW_OK;
}

static sw_status no_say(void *context, const double *p, double *residual, double *jacobian)
{
    (void)context;
    for (int i = 0; i < 3; i++) {
        residual[i] = p[0] - 1.0 - i;
        if (jacobian) {
            jacobian[2 * i] = 1.0;
            jacobian[2 * i + 1] = 0.0;
        }
    }
    return SW_OK;
}

static sw_status wrong_way(void *context, const double *p, double *residual, double *jacobian)
{
    sw_status status = misra(context, p, residual, jacobian);
    for (int i = 0; jacobian && i < 28; i++)
        jacobian[i] = -jacobian[i];
    return status;
}

static void what_cannot_be_fitted(void **state)
{
    (void)state;
    void *context = (void *)(uintptr_t)&MISRA;
    for (int numeric = 0; numeric < 2; numeric++) {
        double p[2] = {5.0, 7.0}, c[4] = {9, 9, 9, 9}, cost;
        assert_int_equal(sw_lsq_fit(sum_only, NULL, 3, 2, numeric, 50, p, c, &cost), SW_BAD_INPUT);
        assert_true(c[0] == 0.0 && c[3] == 0.0);
        double q[2] = {5.0, 7.0};
        assert_int_equal(sw_lsq_fit(no_say, NULL, 3, 2, numeric, 50, q, c, &cost), SW_BAD_INPUT);
        expect_digits("the one that has a say", q[0], 2.0, 9.0);
        assert_true(q[1] == 7.0);
    }
    double p[2] = {250.0, 0.0005};
    assert_int_equal(sw_lsq_fit(wrong_way, context, 14, 2, 0, 50, p, NULL, NULL), SW_BAD_INPUT);
    assert_true(p[0] == 250.0 && p[1] == 0.0005);
    assert_int_equal(sw_lsq_fit(misra, context, 1, 2, 0, 50, p, NULL, NULL), SW_BAD_INPUT);
    assert_int_equal(sw_lsq_fit(misra, context, 14, 0, 0, 50, p, NULL, NULL), SW_BAD_INPUT);
    double nan[2] = {NAN, 0.0005};
    assert_int_equal(sw_lsq_fit(misra, context, 14, 2, 0, 50, nan, NULL, NULL), SW_BAD_INPUT);
    assert_int_equal(sw_lsq_fit(misra, context, SIZE_MAX / 5 + 1, 2, 0, 50, p, NULL, NULL),
                     SW_NO_MEMORY); /* 5 of it wrap around */
}

/* Stopped too early: better than the start, and usable. */
static void rounds_run_out(void **state)
{
    (void)state;
    double p[2] = {-1.2, 1.0}, c[4], cost;
    int calls = 0;
    assert_int_equal(sw_lsq_fit(rosenbrock, &calls, 2, 2, 0, 3, p, c, &cost), SW_NOT_FOUND);
    assert_true(cost < 24.2 && cost > 1e-3 && c[0] > 0.0); /* 24.2 at the start */
    /* Four rounds from nearby count as done: the last lowers the cost by next to nothing. */
    double near[2] = {239.5, 5.49e-4};
    assert_int_equal(sw_lsq_fit(misra, (void *)(uintptr_t)&MISRA, 14, 2, 0, 4, near, c, NULL), 0);
    expect_digits("b1", near[0], 2.3894212918e+02, 8.0);
    assert_int_equal(sw_lsq_fit(misra, (void *)(uintptr_t)&MISRA, 14, 2, 0, 0, near, c, NULL),
                     SW_BAD_INPUT); /* no round, no J */
    double residual[2];
    rosenbrock(&calls, p, residual, NULL);
    expect_digits("cost is that of the parameters", residual[0] * residual[0] + residual[1] * residual[1], cost, 15.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_nonlinear),
        cmocka_unit_test(rosenbrock_valley),
        cmocka_unit_test(linear_problems_against_the_linear_solver),
        cmocka_unit_test(large_problem),
        cmocka_unit_test(perspective_from_nothing),
        cmocka_unit_test(start_at_the_minimum),
        cmocka_unit_test(refusals_shorten_the_step),
        cmocka_unit_test(one_sided_difference),
        cmocka_unit_test(differences_reach_as_promised),
        cmocka_unit_test(what_cannot_be_fitted),
        cmocka_unit_test(rounds_run_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
