/* The chi-square distribution against the table of the NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4
 * (upper and lower critical values, three decimals), and against the closed form for two degrees of freedom. */
#include "support/maths_check.h"

#include "maths/chi.h"

static void quantiles_of_the_handbook(void **state)
{
    (void)state;
    static const struct {
        double freedom, low, high, rare; /* 0.05, 0.95, 0.99 */
    } rows[] = {{1, 0.004, 3.841, 6.635},    {2, 0.103, 5.991, 9.210},     {3, 0.352, 7.815, 11.345},
                {10, 3.940, 18.307, 23.209}, {30, 18.493, 43.773, 50.892}, {100, 77.929, 124.342, 135.807}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        expect_near("5 %", sw_chi_square_quantile(0.05, rows[i].freedom), rows[i].low, 0.00051);
        expect_near("95 %", sw_chi_square_quantile(0.95, rows[i].freedom), rows[i].high, 0.00051);
        expect_near("99 %", sw_chi_square_quantile(0.99, rows[i].freedom), rows[i].rare, 0.00051);
    }
}

static void two_degrees_are_exponential(void **state)
{
    (void)state;
    for (double x = 0.1; x < 60; x *= 1.7) {
        expect_digits("share", sw_chi_square_share(x, 2), -expm1(-x / 2), 12);
        double share = sw_chi_square_share(x, 7.3);
        if (share < 0.999999)
            expect_digits("there and back", sw_chi_square_quantile(share, 7.3), x, 7);
    }
}

static void out_of_range_is_nan(void **state)
{
    (void)state;
    assert_true(isnan(sw_chi_square_quantile(0, 3)));
    assert_true(isnan(sw_chi_square_quantile(1, 3)));
    assert_true(isnan(sw_chi_square_quantile(0.95, 0)));
    assert_true(isnan(sw_chi_square_quantile(NAN, 3)));
    assert_true(isnan(sw_chi_square_share(1, -1)));
    assert_true(sw_chi_square_share(-1, 3) == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(quantiles_of_the_handbook),
                                       cmocka_unit_test(two_degrees_are_exponential),
                                       cmocka_unit_test(out_of_range_is_nan)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
