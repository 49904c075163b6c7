/* Verdicts against hand values, names, and frees that accept anything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "support/fixture.h"

/* Guard band g = 1.645 u, u = U / 2 (JCGM 106; ISO 14253-1:2017, 5 % one-sided). By hand, T 0.50 mm and U 0.10 mm:
 * u 0.05, g 0.08225, so within up to 0.41775 and over from 0.58225. */
static void guard_band_by_hand(void **state)
{
    (void)state;
    assert_int_equal(sw_verdict_of(0.4177, 0.10, 0.50), SW_WITHIN);
    assert_int_equal(sw_verdict_of(0.4178, 0.10, 0.50), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(0.50, 0.10, 0.50), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(0.5822, 0.10, 0.50), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(0.5823, 0.10, 0.50), SW_OVER);
}

/* The band is one-sided 95 %: a figure at its lower edge comes from a gap over the limit 5 times in 100. The share of a
 * normal distribution above z is erfc(z / sqrt 2) / 2, an answer that knows nothing of 1.645. */
static void risk_at_the_edge_of_the_band(void **state)
{
    (void)state;
    double low = 0, high = 0.5, u95 = 0.12;
    for (int i = 0; i < 60; i++) { /* bisection for the largest gap still called within */
        double middle = (low + high) / 2;
        if (sw_verdict_of(middle, u95, 0.5) == SW_WITHIN)
            low = middle;
        else
            high = middle;
    }
    double risk = erfc((0.5 - low) / (u95 / 2) / sqrt(2.0)) / 2;
    assert_true(fabs(risk - 0.05) < 0.0002);
}

static void exact_figures_have_no_band(void **state)
{
    (void)state;
    assert_int_equal(sw_verdict_of(0.5, 0, 0.5), SW_WITHIN);
    assert_int_equal(sw_verdict_of(0.5 + 1e-9, 0, 0.5), SW_OVER);
    assert_int_equal(sw_verdict_of(0, 0, 0.5), SW_WITHIN);
}

static void what_is_unknown_is_too_close(void **state)
{
    (void)state;
    assert_int_equal(sw_verdict_of(NAN, 0.1, 0.5), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(3.0, NAN, 0.5), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(3.0, INFINITY, 0.5), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(3.0, -0.1, 0.5), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(3.0, 0.1, NAN), SW_TOO_CLOSE);
    assert_int_equal(sw_verdict_of(0.0, 2.0, 0.5), SW_TOO_CLOSE);
}

static void the_worst_seam_decides(void **state)
{
    (void)state;
    sw_inspection inspection;
    fixture_all_within(&inspection);
    assert_int_equal(sw_inspection_verdict(&inspection), SW_WITHIN);
    inspection.seams[3].verdict = SW_TOO_CLOSE;
    assert_int_equal(sw_inspection_verdict(&inspection), SW_TOO_CLOSE);
    inspection.seams[11].verdict = SW_OVER;
    assert_int_equal(sw_inspection_verdict(&inspection), SW_OVER);
    sw_inspection_free(&inspection);
    assert_null(inspection.seams);
    assert_int_equal(sw_inspection_verdict(&inspection), SW_WITHIN);
}

static void frees_accept_null_and_twice(void **state)
{
    (void)state;
    sw_inspection inspection;
    sw_inspection_free(NULL);
    sw_seam_free(NULL);
    sw_tile_free(NULL);
    fixture_inspection(&inspection);
    sw_seam_free(&inspection.seams[0]);
    sw_tile_free(&inspection.tiles[0]);
    sw_inspection_free(&inspection);
    sw_inspection_free(&inspection);
    assert_null(inspection.tiles);
    assert_int_equal(inspection.seam_count, 0);
}

static void names_are_the_agreed_words(void **state)
{
    (void)state;
    assert_string_equal(sw_verdict_name(SW_WITHIN), "within");
    assert_string_equal(sw_verdict_name(SW_OVER), "over");
    assert_string_equal(sw_verdict_name(SW_TOO_CLOSE), "too close to call");
    assert_string_equal(sw_station_state_name(SW_STATION_OK), "ok");
    assert_string_equal(sw_station_state_name(SW_STATION_CHIP), "chip");
    assert_string_equal(sw_station_state_name(SW_STATION_END), "end");
    assert_string_equal(sw_station_state_name(SW_STATION_UNSEEN), "unseen");
    assert_string_equal(sw_action_name(SW_TRUE_UP), "true up");
    assert_string_equal(sw_action_name(SW_BEVEL), "bevel");
    assert_string_equal(sw_action_name(SW_FILL), "fill");
    assert_string_equal(sw_action_name(SW_CHECK), "check");
    assert_string_equal(sw_action_name(SW_LEAVE), "leave");
    assert_string_equal(sw_side_name(SW_NORTH), "north");
    assert_string_equal(sw_side_name(SW_EAST), "east");
    assert_string_equal(sw_side_name(SW_SOUTH), "south");
    assert_string_equal(sw_side_name(SW_WEST), "west");
    assert_string_equal(sw_corner_label(SW_NW), "NW");
    assert_string_equal(sw_corner_label(SW_NE), "NE");
    assert_string_equal(sw_corner_label(SW_SE), "SE");
    assert_string_equal(sw_corner_label(SW_SW), "SW");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(guard_band_by_hand),         cmocka_unit_test(risk_at_the_edge_of_the_band),
        cmocka_unit_test(exact_figures_have_no_band), cmocka_unit_test(what_is_unknown_is_too_close),
        cmocka_unit_test(the_worst_seam_decides),     cmocka_unit_test(frees_accept_null_and_twice),
        cmocka_unit_test(names_are_the_agreed_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
