/* The plan as text for a terminal. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/fixture.h"
#include "support/look.h"
#include "support/plan_fixture.h"

typedef struct bench {
    sw_inspection inspection;
    sw_plan plan;
    char *words;
} bench;

static void say(bench *made)
{
    free(made->words);
    made->words = sw_report_plan_text(&made->plan, &made->inspection, "valley.seams");
    assert_non_null(made->words);
}

static int set_up(void **state)
{
    bench *made = calloc(1, sizeof *made);
    fixture_inspection(&made->inspection);
    plan_fixture(&made->inspection, &made->plan);
    say(made);
    *state = made;
    return 0;
}

static int tear_down(void **state)
{
    bench *made = *state;
    free(made->words);
    sw_plan_free(&made->plan);
    sw_inspection_free(&made->inspection);
    free(made);
    return 0;
}

static void a_seam_that_stays_over_is_named(void **state)
{
    bench *made = *state;
    made->plan.seams[FIXTURE_WIDEST].forecast_mm = 1.4;
    made->plan.seams[FIXTURE_WIDEST].forecast = SW_OVER;
    say(made);
    assert_non_null(strstr(made->words, "10 of 12 seams are promised to be within 0.50 mm, 1 will stay over, 1 was not "
                                        "seen; the worst is B2-C2 with 1.40 ± 0.05 mm."));
}

static void what_is_too_close_is_not_promised(void **state)
{
    bench *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_nothing(&made->inspection, &made->plan);
    say(made);
    for (size_t i = 0; i < made->plan.seam_count; i++) {
        sw_seam_plan *seam = &made->plan.seams[i];
        seam->forecast = SW_TOO_CLOSE;
        say(made);
        assert_non_null(
            strstr(made->words, "11 of 12 seams are promised to be within 0.50 mm, 1 is too close to promise"));
        seam->forecast = SW_WITHIN;
    }
}

static void other_limits_have_their_price(void **state)
{
    const bench *made = *state;
    static const char *const words[] = {"How good is good enough:\n",
                                        "  limit, mm  faces to bevel  edges to true up  off, mm2\n",
                                        "  0.30       5               12                1404\n",
                                        "  0.50       3               6                 512  (this plan)\n",
                                        "  2.00       0               1                 0\n",
                                        NULL};
    in_order(made->words, words);
}

static void a_plan_for_any_layout_tells_of_its_square(void **state)
{
    bench *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_any(&made->inspection, &made->plan);
    say(made);
    assert_non_null(strstr(made->words, "the tiles will then fit in every arrangement, turned any way"));
    assert_non_null(strstr(made->words, "Common square: 299.42 ± 0.11 mm a side; C3 keeps it from being larger."));
    made->plan.fits_every_way = 0;
    say(made);
    assert_non_null(strstr(made->words, "will not fit in every arrangement"));
}

static void nothing_to_do_says_so_without_cautions(void **state)
{
    bench *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_nothing(&made->inspection, &made->plan);
    say(made);
    assert_null(strstr(made->words, "FFP3"));
}

static void text_has_reasons_next_cautions_and_place(void **state)
{
    const bench *made = *state;
    static const char *const pieces[] = {"Carried out and pushed: 11 of 12 seams",
                                         "Work at 2 seams: hold a try square to 1 face",
                                         "\n  1. C1-C2: open along its whole length. Hold a try square to C1 south;",
                                         " (widest gap of the table 2.6 -> 1.9 mm)",
                                         "\n  2. B2-C2: held open at its north end. B2 east:",
                                         "\n  3. Chips: 2 chips. Fill C1 west at 118 mm",
                                         "foam paste.",
                                         "How good is good enough:",
                                         "What this plan does not mend:",
                                         "B2-B3 was not seen",
                                         "Chips, to be filled and never sanded out: C1 west.\n",
                                         "Next: Hold a try square",
                                         "A1 B1 C1r / A2 B2 C2 / A3 B3 C3h",
                                         "FFP3 or P3 mask",
                                         "Mind: The side faces",
                                         "Plan: valley.seams/plan.html and strips.pdf",
                                         NULL};
    in_order(made->words, pieces);
    assert_null(strstr(made->words, "\n  4. "));
}

static void worth_waits_for_others(void **state)
{
    bench *made = *state;
    made->plan.work[0].widest_to_mm = 2.62;
    say(made);
    assert_non_null(strstr(made->words, "(other seams stay open by up to 2.6 mm)"));
    made->plan.work[0].widest_to_mm = 2.54;
    say(made);
    assert_non_null(strstr(made->words, "(widest gap of the table 2.6 -> 2.5 mm)"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_seam_that_stays_over_is_named, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_too_close_is_not_promised, set_up, tear_down),
        cmocka_unit_test_setup_teardown(other_limits_have_their_price, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_plan_for_any_layout_tells_of_its_square, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nothing_to_do_says_so_without_cautions, set_up, tear_down),
        cmocka_unit_test_setup_teardown(text_has_reasons_next_cautions_and_place, set_up, tear_down),
        cmocka_unit_test_setup_teardown(worth_waits_for_others, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
