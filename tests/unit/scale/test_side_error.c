/* Residuals whose sides are wrong together: what is left after weighing has variance 1 and is independent. */
#include "support/maths_check.h"

#include "scale/side_error.h"

enum { POINTS = 24, SIDES = 32, DRAWS = 400 };
static const double OWN_PX = 0.03;

static void lay_sides(sw_side_errors *errors)
{
    double along[POINTS], sd[POINTS];
    for (int i = 0; i < POINTS; i++) {
        along[i] = 10 + 15 * i;
        sd[i] = OWN_PX;
    }
    errors->count = 0;
    for (int s = 0; s < SIDES; s++)
        sw_side_errors_add(errors, s * POINTS, POINTS, along, sd);
}

/* Own noise, and an offset of every side, px; residuals in standard deviations. */
static void draw_residuals(double offset_px, uint32_t *seed, double *r)
{
    for (int s = 0; s < SIDES; s++) {
        double offset = offset_px * normal(seed);
        for (int i = 0; i < POINTS; i++)
            r[s * POINTS + i] = normal(seed) + offset / OWN_PX;
    }
}

static void a_side_s_offset_counts_once(void **state)
{
    (void)state;
    static sw_side_errors errors;
    static double r[SIDES * POINTS];
    uint32_t seed = 7;
    double means = 0, all = 0;
    lay_sides(&errors);
    assert_int_equal(errors.count, SIDES);
    for (int draw = 0; draw < DRAWS; draw++) {
        draw_residuals(0.008, &seed, r);
        sw_side_errors_weigh(&errors, r);
        for (int s = 0; s < SIDES; s++) {
            double mean = 0;
            for (int i = 0; i < POINTS; i++) {
                mean += r[s * POINTS + i] / POINTS;
                all += r[s * POINTS + i] * r[s * POINTS + i] / (DRAWS * SIDES * POINTS);
            }
            means += mean * mean * POINTS / (DRAWS * SIDES);
        }
    }
    /* The mean of 24 points of 0.03 px and a common 0.008 px would have 2.7 times the variance of their own noise. */
    expect_near("variance of sides' means", means, 1, 0.05);
    expect_near("variance of points", all, 1, 0.05);
}

static void sides_tell_how_wrong_they_are(void **state)
{
    (void)state;
    static sw_side_errors errors;
    static double r[SIDES * POINTS];
    uint32_t seed = 11;
    lay_sides(&errors);
    draw_residuals(0.05, &seed, r);
    sw_side_errors_weigh(&errors, r);
    double misfit = sw_side_errors_misfit(&errors, r, 20);
    if (!(misfit > 4))
        fail_msg("sides off by 0.05 px give a misfit of %.2f", misfit);
    /* With next to nothing left over nothing is said. */
    assert_true(sw_side_errors_misfit(&errors, r, SW_SIDE_SHAPES * SIDES - 4) == 1);
}

/* What is left over by chance counts as it is; more counts for whole squares, not for their sides. */
static void misfits_beyond_chance_do_not_average_out(void **state)
{
    (void)state;
    assert_true(sw_misfit_inflation(1) == 1 && sw_misfit_inflation(1.7) == 1.7);
    assert_true(sw_misfit_inflation(5) > 2.5 * 5 && sw_misfit_inflation(50) < 4 * 50);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_side_s_offset_counts_once),
                                       cmocka_unit_test(sides_tell_how_wrong_they_are),
                                       cmocka_unit_test(misfits_beyond_chance_do_not_average_out)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
