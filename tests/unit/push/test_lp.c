/* The linear-programme leaf against problems with known answers. */
#include "support/maths_check.h"

#include "push/lp.h"

/* Hillier and Lieberman's glass company, maximise 3 x + 5 y: x <= 4, 2 y <= 12, 3 x + 2 y <= 18; x = 2, y = 6, profit
 * 36, prices 0, 3/2, 1 (textbook, from memory; it is checked by hand in a line: 3 * 2 + 5 * 6 = 36 = 12 * 3 / 2 + 18 *
 * 1). */
static void known_prices(void **state)
{
    (void)state;
    sw_lp *lp = sw_lp_new();
    int x = sw_lp_column(lp, 0, INFINITY, -3), y = sw_lp_column(lp, 0, INFINITY, -5);
    int one = sw_lp_row(lp, -INFINITY, 4, (sw_lp_term[]){{x, 1}}, 1);
    int two = sw_lp_row(lp, -INFINITY, 12, (sw_lp_term[]){{y, 2}}, 1);
    int three = sw_lp_row(lp, -INFINITY, 18, (sw_lp_term[]){{x, 3}, {y, 2}}, 2);
    assert_int_equal(sw_lp_solve(lp, NULL), SW_OK);
    expect_near("figure", sw_lp_value(lp, x), 2, 1e-9);
    expect_near("figure", sw_lp_value(lp, y), 6, 1e-9);
    expect_near("figure", sw_lp_cost(lp), -36, 1e-9);
    expect_near("figure", sw_lp_price(lp, one), 0, 1e-9);
    expect_near("figure", sw_lp_price(lp, two), -1.5, 1e-9);
    expect_near("figure", sw_lp_price(lp, three), -1, 1e-9);
    /* With the second limit at 6, y = 3 and x = 4. */
    sw_lp_set_row(lp, two, -INFINITY, 6);
    assert_int_equal(sw_lp_solve(lp, NULL), SW_OK);
    expect_near("figure", sw_lp_value(lp, x), 4, 1e-9);
    expect_near("figure", sw_lp_value(lp, y), 3, 1e-9);
    /* With x worth nothing and at least 1, x may be anything that leaves y = 3. */
    sw_lp_set_cost(lp, x, 0.1);
    sw_lp_set_column(lp, x, 1, INFINITY);
    assert_int_equal(sw_lp_solve(lp, NULL), SW_OK);
    expect_near("figure", sw_lp_value(lp, x), 1, 1e-9);
    sw_lp_free(&lp);
    assert_null(lp);
    sw_lp_free(&lp);
}

static void terms_of_one_column_add_up(void **state)
{
    (void)state;
    sw_lp *lp = sw_lp_new();
    int x = sw_lp_column(lp, -10, 10, 1);
    sw_lp_row(lp, 6, INFINITY, (sw_lp_term[]){{x, 1}, {x, 2}}, 2);
    assert_int_equal(sw_lp_solve(lp, NULL), SW_OK);
    expect_near("figure", sw_lp_value(lp, x), 2, 1e-9);
    /* Another row after a solve. */
    sw_lp_row(lp, 5, INFINITY, (sw_lp_term[]){{x, 1}}, 1);
    assert_int_equal(sw_lp_solve(lp, NULL), SW_OK);
    expect_near("figure", sw_lp_value(lp, x), 5, 1e-9);
    sw_lp_free(&lp);
}

static void says_when_nothing_fits(void **state)
{
    (void)state;
    sw_error err = {{0}};
    sw_lp *lp = sw_lp_new();
    int x = sw_lp_column(lp, 0, 1, 1);
    sw_lp_row(lp, 2, INFINITY, (sw_lp_term[]){{x, 1}}, 1);
    assert_int_equal(sw_lp_solve(lp, &err), SW_NOT_FOUND);
    assert_true(err.text[0] != '\0');
    sw_lp_free(&lp);
    lp = sw_lp_new();
    sw_lp_column(lp, 0, INFINITY, -1); /* without end */
    sw_lp_row(lp, -INFINITY, INFINITY, NULL, 0);
    assert_int_equal(sw_lp_solve(lp, NULL), SW_NOT_FOUND);
    sw_lp_free(&lp);
}

/* The solver ends the program over a NaN; the leaf says so instead. */
static void no_number(void **state)
{
    (void)state;
    for (int kind = 0; kind < 5; kind++) {
        sw_error err = {{0}};
        sw_lp *lp = sw_lp_new();
        int x = sw_lp_column(lp, kind == 0 ? NAN : 0, 1, kind == 1 ? INFINITY : 1);
        int row = sw_lp_row(lp, kind == 2 ? NAN : 0.5, INFINITY, (sw_lp_term[]){{x, kind == 3 ? NAN : 1}}, 1);
        if (kind == 4) {
            assert_int_equal(sw_lp_solve(lp, &err), SW_OK);
            sw_lp_set_row(lp, row, 0, NAN);
        }
        assert_int_equal(sw_lp_solve(lp, &err), SW_NOT_FOUND);
        assert_true(err.text[0] != '\0');
        sw_lp_free(&lp);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(known_prices), cmocka_unit_test(terms_of_one_column_add_up),
                                       cmocka_unit_test(says_when_nothing_fits), cmocka_unit_test(no_number)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
