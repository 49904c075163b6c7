/* Cards that say the tops are not level: believed only where nothing else explains them and tops can stand so. */
#include "support/maths_check.h"

#include "inspect/tellings.h"
#include "tile/otherwise.h"

/* Four cards at a table's corners: heights and slopes as told. */
static sw_tops tops_of(double high_mm, double slope)
{
    sw_tops tops = {.source = SW_TOPS_MEASURED, .columns = 3, .rows = 3, .uneven = true};
    for (int k = 0; k < 4; k++) {
        int column = 2 * (k % 2), row = 2 * (k / 2);
        tops.told[column][row] = true;
        tops.top[column][row] = (sw_top){.rise_mm = k ? 0 : high_mm, .east = k % 2 ? slope : -slope};
    }
    tops.top[1][1].rise_mm = 500; /* nothing tells of it */
    return tops;
}

static sw_scale fit_of(double misfit)
{
    return (sw_scale){.square_count = 4, .misfit = misfit};
}

static sw_telling tell(double level, double own, double uneven, const sw_tops *tops)
{
    sw_scale a = fit_of(level), b = fit_of(own), c = fit_of(uneven);
    return sw_tops_telling(&a, &b, &c, tops);
}

static void tops_of_a_board_are_believed(void **state)
{
    (void)state;
    sw_tops step = tops_of(10, 0.0003), slanting = tops_of(10, 0.004);
    assert_int_equal(tell(40, 40, 1, &step), SW_TELLS_UNEVEN);
    assert_int_equal(tell(40, 10, 1.7, &step), SW_TELLS_UNEVEN);
    assert_int_equal(tell(40, 10, 1.7, &slanting), SW_TELLS_UNEVEN);
}

static void level_tops_that_explain_as_much_are_preferred(void **state)
{
    (void)state;
    sw_tops step = tops_of(6, 0.001);
    assert_int_equal(tell(1.3, 1.3, 5, &step), SW_TELLS_LEVEL);
    assert_int_equal(tell(1.2, 1.2, 1.1, &step), SW_TELLS_LEVEL);
    assert_int_equal(tell(2.5, 2.5, 1.1, &step), SW_TELLS_UNEVEN);
}

/* The photo's own lens explains level tops, the profile does not: of two stories that are possible both are held, one that is not is refused. */
static void another_lens_is_another_story(void **state)
{
    (void)state;
    sw_tops possible = tops_of(5, 0.003), slanting = tops_of(5, 0.008);
    assert_int_equal(tell(60, 1.1, 2.9, &possible), SW_TELLS_EITHER);
    assert_int_equal(tell(60, 1.1, 2.9, &slanting), SW_TELLS_LENS);
    assert_int_equal(tell(6.9, 1.1, 5.9, &slanting), SW_TELLS_LENS);
    /* without knowing the own lens there is no such story */
    sw_scale level = fit_of(60), none = {0}, uneven = fit_of(1);
    assert_int_equal(sw_tops_telling(&level, &none, &uneven, &possible), SW_TELLS_UNEVEN);
}

static void tables_that_nobody_has_are_no_explanation(void **state)
{
    (void)state;
    sw_tops steep = tops_of(5, 0.02), apart = tops_of(40, 0), slanting = tops_of(5, 0.004);
    assert_int_equal(tell(60, 60, 1, &steep), SW_TELLS_NOTHING);
    assert_int_equal(tell(60, 60, 1, &apart), SW_TELLS_NOTHING);
    assert_int_equal(tell(60, 60, 6, &slanting), SW_TELLS_NOTHING);
}

/* One of four tiles was told 4 mm too high. */
static void heights_that_the_cards_deny_are_named(void **state)
{
    (void)state;
    sw_tops told = tops_of(0, 0), cards = tops_of(0, 0);
    sw_scale bad = fit_of(30), good = fit_of(1.1), fair = fit_of(2.9);
    int column = -1, row = -1;
    double higher_mm = 0;
    for (int k = 0; k < 4; k++)
        told.top[2 * (k % 2)][2 * (k / 2)].rise_mm = 10;
    told.top[2][0].rise_mm += 4;
    assert_int_equal(sw_tops_told_telling(&bad, &good, &told, &cards, &column, &row, &higher_mm), SW_TELLS_NOTHING);
    assert_true(column == 2 && row == 0);
    expect_near("too high, mm", higher_mm, 4, 1e-9);
    assert_int_equal(sw_tops_told_telling(&fair, &good, &told, &cards, &column, &row, &higher_mm), SW_TELLS_UNEVEN);
    assert_int_equal(sw_tops_told_telling(&bad, &bad, &told, &cards, &column, &row, &higher_mm), SW_TELLS_UNEVEN);
}

static void slant_and_height_are_of_tops_that_tell(void **state)
{
    (void)state;
    sw_tops tops = tops_of(7, 0.01);
    expect_near("slant, degrees", sw_tops_slant_deg(&tops), 0.573, 0.001);
    expect_near("apart, mm", sw_tops_apart_mm(&tops), 7, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tops_of_a_board_are_believed),
        cmocka_unit_test(level_tops_that_explain_as_much_are_preferred),
        cmocka_unit_test(another_lens_is_another_story),
        cmocka_unit_test(tables_that_nobody_has_are_no_explanation),
        cmocka_unit_test(heights_that_the_cards_deny_are_named),
        cmocka_unit_test(slant_and_height_are_of_tops_that_tell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
