/* What the report says of heights and steps, and that it says nothing where nothing is known or asked. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/tops.h"
#include "pages/data.h"
#include "plan/lippage.h"
#include "report/common/words.h"
#include "support/fixture.h"

/* The museum's table with B1 2.4 mm and C3 0.9 mm above the rest, B3 1.2 mm below it; A2 falls by 1 mm to the east. */
static void make(double limit_mm, sw_inspection *ins)
{
    fixture_inspection(ins);
    for (size_t i = 0; i < ins->tile_count; i++)
        ins->tiles[i].height_u95_mm = 0.14;
    ins->tiles[1].rise_mm = 2.4;
    ins->tiles[8].rise_mm = 0.9;
    ins->tiles[7].rise_mm = -1.2;
    ins->tiles[3].rise_east = -1.0 / 300;
    for (size_t i = 0; i < ins->tile_count; i++)
        ins->tiles[i].tilt_u95_deg = 0.05;
    ins->lippage_mm = limit_mm;
    sw_tops_settle(ins);
    assert_int_equal(sw_lippage_advise(ins, NULL), SW_OK);
}

/* What the page says of tops, a sentence a line; for free(). */
static char *page_of(const sw_inspection *ins)
{
    const sw_page page = {.inspection = ins};
    json_t *all = sw_page_says(&page), *tops = json_object_get(all, "tops");
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    for (size_t i = 0; i < json_array_size(tops); i++)
        sw_sheet_put(&sheet, "%s\n", json_string_value(json_array_get(tops, i)));
    sw_sheet_put(&sheet, "%s\n", json_string_value(json_object_get(all, "mask")));
    json_decref(all);
    return sw_sheet_take(&sheet);
}

static void says(const char *text, const char *words)
{
    if (!strstr(text, words))
        fail_msg("it does not say \"%s\"", words);
}

static void says_not(const char *text, const char *words)
{
    if (strstr(text, words))
        fail_msg("it says \"%s\"", words);
}

static void silent_where_nothing_is_known_or_asked(void **state)
{
    (void)state;
    sw_inspection ins;
    fixture_inspection(&ins);
    char *page = page_of(&ins), *text = sw_report_text(&ins, "valley.seams");
    assert_int_equal(page[0], 'B'); /* the cautions alone, as edges are to be sanded */
    says_not(text, "top,");
    says_not(text, "Lippage");
    free(page);
    free(text);
    sw_inspection_free(&ins);
}

static void without_a_limit_heights_are_shown_and_not_judged(void **state)
{
    (void)state;
    sw_inspection ins;
    make(0, &ins);
    char *page = page_of(&ins), *text = sw_report_text(&ins, "valley.seams");
    says(text,
         "\nThe highest top, B1, stands 3.6 ± 0.2 mm above the lowest, B3; the largest step between neighbours is "
         "2.4 ± ");
    says(text, "where B1 is the higher one.\n");
    says_not(text, "Lippage");
    says(page, "The highest top, B1, stands 3.6 ± 0.2 mm above the lowest, B3");
    says_not(page, "plane B1");
    free(page);
    free(text);
    sw_inspection_free(&ins);
}

static void steps_over_the_limit_are_said_with_what_to_do(void **state)
{
    (void)state;
    sw_inspection ins;
    make(1, &ins);
    assert_true(ins.top_count >= 2);
    char *page = page_of(&ins), *text = sw_report_text(&ins, "valley.seams");
    says(text, "\nLippage: ");
    says(text, " steps are over 1 mm; the largest is 2.4 ± ");
    says(text, "To mend that, plane B1 down by ");
    says(text, "pack B3 up by ");
    says(text, "Sanding or cutting: FFP3");
    says(page, "\nplane B1 down by ");
    says(page, "Before you sand or cut");
    free(page);
    free(text);
    sw_inspection_free(&ins);
}

/* Nothing is to be sanded, yet a tile is to be planed: the cautions come with it. */
static void cautions_come_with_planing(void **state)
{
    (void)state;
    sw_inspection ins;
    make(1, &ins);
    ins.advice_count = 0;
    char *text = sw_report_text(&ins, "valley.seams");
    says(text, "Sanding or cutting: FFP3");
    free(text);
    ins.top_count = 0;
    text = sw_report_text(&ins, "valley.seams");
    says_not(text, "Sanding or cutting: FFP3");
    free(text);
    sw_inspection_free(&ins);
}

static void a_limit_without_heights_says_what_would_tell_them(void **state)
{
    (void)state;
    sw_inspection ins;
    fixture_inspection(&ins);
    ins.lippage_mm = 0.8;
    char *page = page_of(&ins), *text = sw_report_text(&ins, "valley.seams");
    says(text,
         "Lippage: Steps are not known, so none was held against 0.8 mm: take a second photo from the other side");
    says(page, "Steps are not known");
    free(page);
    free(text);
    sw_inspection_free(&ins);
}

static void words(const sw_inspection *ins, bool write(sw_sheet *, const sw_inspection *), const char *expected)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    assert_int_equal(write(&sheet, ins), expected[0] != 0);
    char *text = sw_sheet_take(&sheet);
    assert_string_equal(text ? text : "", expected);
    free(text);
}

static bool steps(sw_sheet *sheet, const sw_inspection *ins)
{
    sw_words_steps(sheet, ins);
    return true;
}

static void sentences(void **state)
{
    (void)state;
    sw_inspection ins;
    make(3, &ins);
    words(&ins, steps, "All steps are within 3 mm; the largest is 2.4 ± 0.3 mm, at A1-B1, where B1 is the higher one.");
    ins.lippage_mm = 2.4;
    words(&ins, steps,
          "No step is surely over 2.4 mm, but 3 of 12 are too close to call; the largest is 2.4 ± 0.3 mm, at A1-B1, "
          "where "
          "B1 is the higher one.");
    ins.tiles[4].height_u95_mm = NAN; /* B2 and its four seams */
    sw_tops_settle(&ins);
    words(&ins, sw_words_tops,
          "The highest top, B1, stands 3.6 ± 0.2 mm above the lowest, B3; the largest step between neighbours is 2.4 ± "
          "0.3 "
          "mm, at A1-B1, where B1 is the higher one. The height of 1 tile is not known.");
    for (size_t i = 0; i < ins.tile_count; i++)
        ins.tiles[i].rise_mm = i == 2 ? 0.1 : 0;
    ins.tiles[3].rise_east = 0;
    ins.tiles[4].height_u95_mm = 0.14;
    sw_tops_settle(&ins);
    words(&ins, sw_words_tops, "No step is sure: the highest top, C1, stands 0.1 ± 0.2 mm above the lowest, A1.");
    for (size_t i = 1; i < ins.tile_count; i++)
        ins.tiles[i].height_u95_mm = NAN;
    sw_tops_settle(&ins);
    words(&ins, sw_words_tops, "");
    sw_inspection_free(&ins);
}

/* A step that is larger but unsure is not the one that is spoken of. */
static void what_is_sure_is_spoken_of(void **state)
{
    (void)state;
    sw_inspection ins;
    make(1, &ins);
    sw_seam *unsure = &ins.seams[9]; /* C2-C3 */
    unsure->step_mm = unsure->step_largest_mm = 5;
    unsure->step_u95_mm = 6;
    words(&ins, steps,
          "4 of 12 steps are over 1 mm; the largest is 2.4 ± 0.3 mm, at A1-B1, where B1 is the higher one; 3 more are "
          "too "
          "close to call.");
    ins.lippage_mm = 4;
    words(&ins, steps,
          "No step is surely over 4 mm, but 1 of 12 is too close to call; the largest is 5.0 ± 6.0 mm, at C2-C3.");
    words(&ins, sw_words_tops,
          "The highest top, B1, stands 3.6 ± 0.2 mm above the lowest, B3; the largest step between neighbours is 2.4 ± "
          "0.3 "
          "mm, at A1-B1, where B1 is the higher one.");
    sw_inspection_free(&ins);
}

/* Hundredths only where the ± has some, a sign only where the figure has one. */
static void figures_as_fine_as_they_are_known(void **state)
{
    static const struct {
        double value, u95;
        bool with_sign;
        const char *is;
    } CASES[] = {{1.234, 0.06, true, "+1.23 ± 0.06"}, {1.234, 0.14, false, "1.2 ± 0.1"},
                 {-0.25, 0.2, true, "-0.2 ± 0.2"},    {0.04, 0.2, true, "0.0 ± 0.2"},
                 {-0.04, 0.2, true, "0.0 ± 0.2"},     {0.06, 0.2, true, "+0.1 ± 0.2"}};
    (void)state;
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        sw_sheet sheet;
        sw_sheet_start(&sheet);
        sw_words_height(&sheet, CASES[i].value, CASES[i].u95, CASES[i].with_sign);
        char *text = sw_sheet_take(&sheet);
        assert_string_equal(text, CASES[i].is);
        free(text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(silent_where_nothing_is_known_or_asked),
        cmocka_unit_test(without_a_limit_heights_are_shown_and_not_judged),
        cmocka_unit_test(steps_over_the_limit_are_said_with_what_to_do),
        cmocka_unit_test(cautions_come_with_planing),
        cmocka_unit_test(a_limit_without_heights_says_what_would_tell_them),
        cmocka_unit_test(sentences),
        cmocka_unit_test(what_is_sure_is_spoken_of),
        cmocka_unit_test(figures_as_fine_as_they_are_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
