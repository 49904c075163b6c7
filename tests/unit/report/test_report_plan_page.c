/* plan.html and the plan as text: order, completeness, escapes, and that the page needs nothing from outside. */
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

typedef struct page {
    sw_inspection inspection;
    sw_plan plan;
    char folder[64], path[128];
    char *text, *words;
} page;

static void write_page(page *made)
{
    sw_error err = {""};
    free(made->text);
    free(made->words);
    if (sw_report_plan_page(&made->plan, &made->inspection, made->path, &err) != SW_OK)
        fail_msg("%s", err.text);
    made->text = fixture_read(made->folder, "plan.html", NULL);
    made->words = sw_report_plan_text(&made->plan, &made->inspection, "valley.seams");
    assert_non_null(made->text);
    assert_non_null(made->words);
}

static int set_up(void **state)
{
    page *made = calloc(1, sizeof *made);
    fixture_inspection(&made->inspection);
    plan_fixture(&made->inspection, &made->plan);
    fixture_folder(made->folder);
    snprintf(made->path, sizeof made->path, "%s/plan.html", made->folder);
    write_page(made);
    *state = made;
    return 0;
}

static int tear_down(void **state)
{
    page *made = *state;
    free(made->text);
    free(made->words);
    fixture_remove(made->folder);
    sw_plan_free(&made->plan);
    sw_inspection_free(&made->inspection);
    free(made);
    return 0;
}

static void what_it_comes_to_then_one_next_step_then_the_rest(void **state)
{
    const page *made = *state;
    static const char *const pieces[] = {
        "<!DOCTYPE html>",
        "<h1>Carried out and pushed: 11 of 12 seams are promised to be within 0.50&nbsp;mm, 1 was not seen.</h1>",
        "Work at 2 seams: hold a try square to 1 face, bevel 2 faces, true up 4 edges, at most 1.25&nbsp;mm deep.",
        "<h2>Next</h2>",
        "Hold a try square to C1 south and C2 north; then sand B2 east",
        "FFP3 or P3 mask",
        "eye protection, blades away from you",
        "licensed",
        "<h2>What to do, seam by seam</h2>",
        "<b>C1-C2</b>: open along its whole length",
        "Hold a try square to C1 south",
        "widest gap of the table 2.6 -&gt; 1.9&nbsp;mm; place by place: <a href=\"#edge-6\">C1 south</a>",
        "<b>B2-C2</b>: held open at its north end",
        "<b>Chips</b>: 2 chips",
        "<h2>Where on the table</h2>",
        "<h2>Order of work</h2>",
        "<h2>How good is good enough</h2>",
        "<h2>Seams: now, and as promised</h2>",
        "<h2>What this plan does not mend</h2>",
        "a chip of 14&nbsp;mm",
        "<h2>Edge by edge</h2>",
        "1. B2 east: true up",
        "2. C3 west: true up",
        "3. A2 north: bevel and true up",
        "at the base, nothing at the top edge. Then take off at most 0.41&nbsp;mm of the top edge.",
        "4. A1 south: true up",
        "5. B1 west: bevel",
        "Check for lean first, with a try square",
        "6. C1 south",
        "<h2>With the strips</h2>",
        "<h2 id=\"lean\">Which edges lean</h2>",
        "With a try square:",
        "A1 B1 C1r / A2 B2 C2 / A3 B3 C3h",
        "<h2>Mind</h2>",
        "Before you sand or cut</h2>",
        NULL,
    };
    in_order(made->text, pieces);
    assert_int_equal(count(made->text, "class=\"deed\""), 1);
    assert_non_null(strstr(made->text, "class=\"verdict close\"")); /* nothing over, but something not seen */
}

static void every_edge_shows_what_comes_off(void **state)
{
    const page *made = *state;
    assert_int_equal(count(made->text, "class=\"profile\""), 4);
    assert_int_equal(count(made->text, "class=\"goes\""), 8); /* each once in its profile, once on the table */
    assert_int_equal(count(made->text, "class=\"teeth\""), 3);
    assert_int_equal(count(made->text, "class=\"wedge\""), 3); /* two that are known, one to explain */
    assert_int_equal(count(made->text, ">north end</text>"), 2);
    assert_int_equal(count(made->text, ">west end</text>"), 2);
    /* B2 east, 300 mm on 392 units from 14: 1.25 mm at 0, nothing from 150 mm on, 20 times as deep. */
    static const char *const pieces[] = {"1. B2 east",   "drawn 20 times as deep", "L14.0 72.7", "L210.0 40.0",
                                         ">1.25</text>", ">0.83</text>",           NULL};
    in_order(made->text, pieces);
    assert_non_null(strstr(made->text, ">S</tspan> 0.06"));
    assert_non_null(strstr(made->text, ">B?</tspan> 0.90"));
}

static void every_seam_has_its_row(void **state)
{
    const page *made = *state;
    const char *table = strstr(made->text, "seamplan\">");
    assert_non_null(table);
    for (size_t i = 0; i < made->plan.seam_count; i++) {
        char cell[64];
        snprintf(cell, sizeof cell, "%s</td>", made->plan.seams[i].name);
        assert_non_null(strstr(table, cell));
    }
    static const char *const c1c2[] = {"C1-C2</td>",
                                       "1.43 ± 0.06",
                                       "0.86&nbsp;mm",
                                       "0.41 ± 0.05",
                                       "within",
                                       "0.90&nbsp;mm",
                                       "12&nbsp;mm from its west end",
                                       NULL};
    static const char *const blind[] = {"B2-B3</td>", "not seen", "not known", "not seen", "not seen", NULL};
    in_order(table, c1c2);
    in_order(table, blind);
}

static void a_seam_that_stays_over_is_named(void **state)
{
    page *made = *state;
    made->plan.seams[FIXTURE_WIDEST].forecast_mm = 1.4;
    made->plan.seams[FIXTURE_WIDEST].forecast = SW_OVER;
    write_page(made);
    assert_non_null(strstr(made->words, "10 of 12 seams are promised to be within 0.50 mm, 1 will stay over, 1 was not "
                                        "seen; the worst is B2-C2 with 1.40 ± 0.05 mm."));
    assert_non_null(strstr(made->text, "class=\"verdict over\""));
    assert_non_null(strstr(made->text, "the worst is B2-C2 with 1.40&nbsp;±&nbsp;0.05&nbsp;mm"));
}

/* A forecast of less than the limit is no promise where its ± reaches over it; only a whole promise has the tick. */
static void what_is_too_close_is_not_promised(void **state)
{
    page *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_nothing(&made->inspection, &made->plan);
    write_page(made);
    assert_non_null(strstr(made->text, "class=\"verdict within\""));
    for (size_t i = 0; i < made->plan.seam_count; i++) {
        sw_seam_plan *seam = &made->plan.seams[i];
        seam->forecast = SW_TOO_CLOSE;
        write_page(made);
        assert_null(strstr(made->text, "class=\"verdict within\""));
        assert_non_null(strstr(made->text, "class=\"verdict close\""));
        assert_non_null(
            strstr(made->words, "11 of 12 seams are promised to be within 0.50 mm, 1 is too close to promise"));
        seam->forecast = SW_WITHIN;
    }
}

static void other_limits_have_their_price(void **state)
{
    const page *made = *state;
    static const char *const words[] = {"How good is good enough:\n",
                                        "  limit, mm  faces to bevel  edges to true up  off, mm2\n",
                                        "  0.30       5               12                1404\n",
                                        "  0.50       3               6                 512  (this plan)\n",
                                        "  2.00       0               1                 0\n",
                                        NULL};
    static const char *const cells[] = {
        "0.30&nbsp;mm</span></th><td>5</td><td>12</td>",
        "<tr class=\"own\"><th scope=\"row\"><span class=\"figure\">0.50&nbsp;mm</span> (this plan)</th>", NULL};
    in_order(made->words, words);
    in_order(made->text, cells);
}

static void a_plan_for_any_layout_tells_of_its_square(void **state)
{
    page *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_any(&made->inspection, &made->plan);
    write_page(made);
    static const char *const pieces[] = {"the tiles will then fit in every arrangement, turned any way",
                                         "<h2>Fit in every layout</h2>",
                                         "299.42 ± 0.11",
                                         "C3 is the tile that keeps",
                                         "Yes: after the plan",
                                         NULL};
    in_order(made->text, pieces);
    assert_non_null(strstr(made->text, "class=\"verdict within\""));
    assert_null(strstr(made->text, "What this plan does not mend"));
    assert_non_null(strstr(made->words, "Common square: 299.42 ± 0.11 mm a side; C3 keeps it from being larger."));
    made->plan.fits_every_way = 0;
    write_page(made);
    assert_non_null(strstr(made->text, "will not fit in every arrangement"));
    assert_non_null(strstr(made->text, "class=\"verdict over\""));
}

static void nothing_to_do_says_so_without_cautions(void **state)
{
    page *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_nothing(&made->inspection, &made->plan);
    write_page(made);
    assert_non_null(strstr(made->text, "<h1>Nothing to sand. Pushed: every seam is promised to be within "
                                       "0.50&nbsp;mm.</h1>"));
    assert_null(strstr(made->text, "<h2>What to do, seam by seam</h2>"));
    assert_null(strstr(made->text, "<h2>Order of work</h2>"));
    assert_null(strstr(made->text, "FFP3"));
    assert_null(strstr(made->text, "<h2>Where on the table</h2>"));
    assert_null(strstr(made->words, "FFP3"));
}

static void text_has_reasons_next_cautions_and_place(void **state)
{
    const page *made = *state;
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

/* What a line is worth is told as it is, also where the widest gap waits for others. */
static void worth_waits_for_others(void **state)
{
    page *made = *state;
    made->plan.work[0].widest_to_mm = 2.62;
    write_page(made);
    assert_non_null(strstr(made->words, "(widest gap of the table still 2.6 mm until more is done)"));
    made->plan.work[0].widest_to_mm = 2.54;
    write_page(made);
    assert_non_null(strstr(made->words, "(widest gap of the table 2.6 -> 2.5 mm)"));
}

static void names_and_sentences_are_escaped(void **state)
{
    page *made = *state;
    snprintf(made->plan.edges[0].why, sizeof made->plan.edges[0].why, "<script>alert(1)</script> & \"so\"");
    snprintf(made->plan.next, sizeof made->plan.next, "<b>now</b>");
    write_page(made);
    assert_null(strstr(made->text, "<script"));
    assert_null(strstr(made->text, "<b>now"));
    assert_non_null(strstr(made->text, "&lt;script&gt;"));
    assert_non_null(strstr(made->text, "valley &lt;north&gt; &amp; &quot;south&quot;.jpg"));
    assert_non_null(strstr(made->text, "the middle is hollow &amp; must stay"));
}

static void the_page_needs_nothing_from_outside(void **state)
{
    const page *made = *state;
    static const char *const outside[] = {"http:", "https:", "src=", "<link", "@import", "url(", "<script"};
    for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++)
        assert_null(strstr(made->text, outside[i]));
    assert_int_equal(count(made->text, "<svg"), count(made->text, "</svg>"));
    assert_int_equal(count(made->text, "<section"), count(made->text, "</section>"));
    assert_int_equal(count(made->text, "<ul"), count(made->text, "</ul>"));
    assert_int_equal(count(made->text, "<p>") + count(made->text, "<p "), count(made->text, "</p>"));
    assert_null(strstr(made->text, "nan"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_it_comes_to_then_one_next_step_then_the_rest, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_edge_shows_what_comes_off, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_seam_has_its_row, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_seam_that_stays_over_is_named, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_plan_for_any_layout_tells_of_its_square, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nothing_to_do_says_so_without_cautions, set_up, tear_down),
        cmocka_unit_test_setup_teardown(text_has_reasons_next_cautions_and_place, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_too_close_is_not_promised, set_up, tear_down),
        cmocka_unit_test_setup_teardown(other_limits_have_their_price, set_up, tear_down),
        cmocka_unit_test_setup_teardown(worth_waits_for_others, set_up, tear_down),
        cmocka_unit_test_setup_teardown(names_and_sentences_are_escaped, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_page_needs_nothing_from_outside, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
