/* What a page knows: its data object, sentence by sentence and figure by figure, and that no name in it does harm. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "pages/data.h"
#include "seamwright/page.h"
#include "support/fixture.h"
#include "support/look.h"
#include "support/plan_fixture.h"

typedef struct bench {
    sw_inspection inspection, before;
    sw_plan plan;
    sw_recheck recheck;
    sw_page page;
    char folder[64];
} bench;

/* The fixture as the later inspection of two, the earlier one being all within, and a plan of it. */
static int set_up(void **state)
{
    bench *b = calloc(1, sizeof *b);
    fixture_inspection(&b->inspection);
    fixture_all_within(&b->before);
    plan_fixture(&b->inspection, &b->plan);
    fixture_folder(b->folder);
    b->page = (sw_page){.inspection = &b->inspection};
    *state = b;
    return 0;
}

static void compare(bench *b)
{
    sw_error err = {""};
    if (sw_recheck_make(&b->before, &b->inspection, NULL, NULL, 0, &b->recheck, &err) != SW_OK)
        fail_msg("%s", err.text);
    b->page.recheck = &b->recheck;
    b->page.before = &b->before;
}

static int tear_down(void **state)
{
    bench *b = *state;
    sw_recheck_free(&b->recheck);
    sw_plan_free(&b->plan);
    sw_inspection_free(&b->inspection);
    sw_inspection_free(&b->before);
    fixture_remove(b->folder);
    free(b);
    return 0;
}

/* The page as a file, for free(). */
static char *written(const bench *b)
{
    char path[128];
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/page.html", b->folder);
    if (sw_report_page(&b->page, path, &err) != SW_OK)
        fail_msg("%s", err.text);
    char *text = fixture_read(b->folder, "page.html", NULL);
    assert_non_null(text);
    return text;
}

/* The data that a script finds in the page. */
static json_t *data_in(const char *page)
{
    static const char open[] = "<script type=\"application/json\" id=\"data\">";
    const char *at = strstr(page, open), *end = at ? strstr(at, "</script>") : NULL;
    assert_non_null(end);
    at += strlen(open);
    json_error_t where;
    json_t *data = json_loadb(at, (size_t)(end - at), JSON_REJECT_DUPLICATES, &where);
    if (!data)
        fail_msg("%s", where.text);
    return data;
}

static json_t *data_of(const bench *b)
{
    char *page = written(b);
    json_t *data = data_in(page);
    free(page);
    return data;
}

static const json_t *at(const json_t *in, const char *a, const char *b)
{
    const json_t *found = json_object_get(json_object_get(in, a), b);
    if (!found)
        fail_msg("the data lacks %s.%s", a, b);
    return found;
}

static const char *says(const json_t *data, const char *what)
{
    const char *text = json_string_value(at(data, "says", what));
    assert_non_null(text);
    return text;
}

static void is_text(const json_t *value, const char *expected)
{
    assert_non_null(json_string_value(value));
    assert_string_equal(json_string_value(value), expected);
}

static void a_report_says_what_the_console_says(void **state)
{
    bench *b = *state;
    json_t *data = data_of(b);
    char *console = sw_report_text(&b->inspection, "");
    is_text(json_object_get(data, "open"), "report");
    assert_string_equal(says(data, "title"), "Seams of valley <north> & \"south\".jpg");
    assert_string_equal(says(data, "sign"), "over");
    const char *second = strchr(console, '\n') + 1; /* the first line is the table */
    assert_int_equal(strncmp(second, says(data, "verdict"), strlen(says(data, "verdict"))), 0);
    assert_non_null(strstr(console, says(data, "unseen")));
    assert_string_equal(says(data, "table"), "3 × 3 tiles of 300 mm");
    assert_string_equal(says(data, "photo"), "valley <north> & \"south\".jpg, 1 May 2026, 10:12, A phone");
    assert_non_null(strstr(console, json_string_value(json_object_get(at(data, "says", "next"), "deed"))));
    is_text(json_object_get(at(data, "says", "next"), "why"), b->inspection.ranking[0].reason);
    assert_non_null(strstr(says(data, "mask"), "FFP3"));
    assert_int_equal(json_array_size(at(data, "says", "cautions")), 5);
    assert_int_equal(json_array_size(at(data, "says", "order")), 6);
    is_text(json_object_get(json_array_get(at(data, "says", "order"), 0), "step"), "Push");
    assert_int_equal(json_array_size(at(data, "says", "mind")), 1);
    assert_string_equal(says(data, "leave"), "Leave as they are: A1 east, A2 east.");
    assert_string_equal(says(data, "promise"), "");
    assert_int_equal(json_array_size(at(data, "says", "work")), 0);
    assert_int_equal(json_array_size(at(data, "says", "marks")), 0);
    assert_int_equal(json_array_size(at(data, "says", "tops")), 0);
    const json_t *inspection = json_object_get(data, "inspection");
    is_text(json_object_get(inspection, "format"), "seamwright-inspection");
    assert_int_equal(json_array_size(json_object_get(inspection, "seams")), FIXTURE_SEAMS);
    assert_true(json_is_null(json_object_get(data, "plan")) && json_is_null(json_object_get(data, "recheck")) &&
                json_is_null(json_object_get(data, "before")) && json_is_null(json_object_get(data, "arrangement")));
    free(console);
    json_decref(data);
}

static void each_seam_has_its_sentence(void **state)
{
    bench *b = *state;
    json_t *data = data_of(b);
    const json_t *texts = at(data, "says", "seam_text");
    assert_int_equal(json_array_size(texts), FIXTURE_SEAMS);
    is_text(json_array_get(texts, FIXTURE_WIDEST), "Widest 3.16 ± 0.06 mm, 294 mm from its north end.");
    is_text(json_array_get(texts, FIXTURE_BLIND),
            "Nothing of it could be measured. a card lies over B2-B3: move it & take the photo again");
    is_text(json_array_get(texts, 5), "Closed: 0.00 ± 0.07 mm.");
    assert_non_null(strstr(json_string_value(json_array_get(texts, FIXTURE_HALF_BLIND)),
                           " 34 % of it was not seen. Move what lies on it and take the photo again."));
    assert_non_null(
        strstr(json_string_value(json_array_get(texts, FIXTURE_CHIPPED)),
               " Chip in C1 west at 210 mm: 14 mm long, 2.4 mm deep. Fill it; it is left out of the verdict."));
    json_decref(data);
}

static void a_plan_brings_its_work(void **state)
{
    bench *b = *state;
    b->page.plan = &b->plan;
    json_t *report = data_of(b);
    b->page.open = SW_PAGE_PLAN;
    json_t *plan = data_of(b);
    const json_t *work = at(report, "says", "work"), *first = json_array_get(work, 0);
    assert_true(json_equal(work, at(plan, "says", "work")));
    assert_int_equal(json_array_size(work), PLAN_FIXTURE_WORK);
    assert_int_equal(json_integer_value(json_object_get(first, "rank")), 1);
    is_text(json_object_get(first, "seam"), "C1-C2");
    is_text(json_object_get(first, "cause"), "open along its whole length");
    assert_int_equal(strncmp(json_string_value(json_object_get(first, "do")), "Hold a try square to C1 south", 29), 0);
    is_text(json_object_get(first, "worth"), "widest gap of the table 2.6 -> 1.9 mm");
    is_text(json_object_get(json_array_get(work, 2), "seam"), "Chips");
    is_text(json_object_get(json_array_get(work, 2), "worth"), "");
    assert_string_equal(says(plan, "title"), "Sanding plan for valley <north> & \"south\".jpg");
    assert_string_equal(says(plan, "verdict"), says(report, "promise"));
    assert_int_equal(strncmp(says(report, "verdict"), "Over: ", 6), 0);
    assert_string_equal(says(plan, "sign"), "close"); /* nothing over, but something not seen */
    assert_string_equal(says(report, "amount"),
                        "Work at 2 seams: hold a try square to 1 face, bevel 2 faces, true up 4 "
                        "edges, at most 1.25 mm deep.");
    assert_non_null(strstr(says(report, "proposal"), "\"A1 B1 C1r / A2 B2 C2 / A3 B3 C3h\""));
    assert_int_equal(json_array_size(at(report, "says", "cannot")), b->plan.cannot.count);
    assert_non_null(strstr(says(report, "try_square"), "stand a try square on the board"));
    assert_int_equal(json_array_size(at(report, "says", "strips")), 4);
    is_text(json_object_get(at(plan, "says", "next"), "deed"), b->plan.next);
    assert_non_null(strstr(says(plan, "mask"), "FFP3"));
    is_text(json_object_get(json_object_get(report, "plan"), "format"), "seamwright-plan");
    json_decref(report);
    json_decref(plan);
}

static void a_plan_without_work_has_no_cautions_beside_it(void **state)
{
    bench *b = *state;
    sw_plan_free(&b->plan);
    plan_fixture_nothing(&b->inspection, &b->plan);
    b->page.plan = &b->plan;
    b->page.open = SW_PAGE_PLAN;
    json_t *data = data_of(b);
    assert_string_equal(says(data, "sign"), "within");
    assert_string_equal(says(data, "mask"), "");
    assert_string_equal(says(data, "try_square"), "");
    assert_int_equal(json_array_size(at(data, "says", "strips")), 0);
    assert_int_equal(json_array_size(at(data, "says", "work")), 0);
    assert_int_equal(json_array_size(at(data, "says", "order")), 0);
    json_decref(data);
}

static void a_plan_for_any_layout_has_a_line_an_edge(void **state)
{
    bench *b = *state;
    sw_plan_free(&b->plan);
    plan_fixture_any(&b->inspection, &b->plan);
    b->page.plan = &b->plan;
    b->page.open = SW_PAGE_PLAN;
    json_t *data = data_of(b);
    assert_string_equal(says(data, "sign"), "within");
    assert_true(json_array_size(at(data, "says", "work")) >= PLAN_FIXTURE_EDGES);
    b->plan.fits_every_way = false;
    json_decref(data);
    data = data_of(b);
    assert_string_equal(says(data, "sign"), "over");
    json_decref(data);
}

/* Rounds: the two that the earlier inspection follows, at their own limits, then it and the later one at the comparison's. */
static void rounds_are_told_oldest_first(void **state)
{
    bench *b = *state;
    static const sw_round EARLIER[] = {
        {.file = "one.jpg", .over = 9, .too_close = 1, .seams = 12, .tolerance_mm = 0.4},
        {.file = "two.jpg", .over = 6, .too_close = 2, .seams = 12, .tolerance_mm = 0.5}};
    b->before.rounds = malloc(sizeof EARLIER);
    memcpy(b->before.rounds, EARLIER, sizeof EARLIER);
    b->before.round_count = 2;
    compare(b);
    json_t *data = data_of(b);
    const json_t *rounds = json_object_get(data, "rounds"), *first = json_array_get(rounds, 0),
                 *last = json_array_get(rounds, 3);
    assert_int_equal(json_array_size(rounds), 4);
    is_text(json_object_get(first, "photo"), "one.jpg");
    assert_int_equal(json_integer_value(json_object_get(first, "over")), 9);
    assert_int_equal(json_integer_value(json_object_get(first, "close")), 1);
    assert_int_equal(json_integer_value(json_object_get(first, "within")), 2);
    assert_true(fabs(json_number_value(json_object_get(first, "limit_mm")) - 0.4) < 1e-9);
    assert_int_equal(json_integer_value(json_object_get(json_array_get(rounds, 2), "within")), 12);
    assert_int_equal(json_integer_value(json_object_get(last, "over")), b->recheck.over);
    assert_int_equal(json_integer_value(json_object_get(last, "close")), b->recheck.too_close);
    assert_int_equal(json_integer_value(json_object_get(last, "within")), b->recheck.within);
    assert_true(json_equal(rounds, json_object_get(json_object_get(data, "recheck"), "rounds")));
    json_decref(data);
    b->page = (sw_page){.inspection = &b->inspection};
    data = data_of(b);
    assert_int_equal(json_array_size(json_object_get(data, "rounds")), 1);
    json_decref(data);
}

static void a_comparison_says_the_rechecks_words(void **state)
{
    bench *b = *state;
    compare(b);
    b->page.open = SW_PAGE_COMPARISON;
    json_t *data = data_of(b);
    char *console = sw_report_recheck_text(&b->recheck, &b->before, &b->inspection);
    is_text(json_object_get(data, "open"), "comparison");
    assert_int_equal(strncmp(says(data, "title"), "Recheck of ", 11), 0);
    assert_int_equal(strncmp(console, says(data, "verdict"), strlen(says(data, "verdict"))), 0);
    is_text(json_object_get(at(data, "says", "next"), "deed"), b->recheck.next);
    assert_true(says(data, "mask")[0]);
    is_text(json_object_get(json_object_get(data, "before"), "format"), "seamwright-inspection");
    json_decref(data);
    b->recheck.stop = true;
    data = data_of(b);
    assert_string_equal(says(data, "mask"), "");
    assert_int_equal(json_array_size(at(data, "says", "order")), 0);
    json_decref(data);
    free(console);
}

static void an_arrangement_says_what_to_move(void **state)
{
    bench *b = *state;
    sw_arrangement a;
    sw_error err = {""};
    const sw_arrange_options options = {.seconds = 5};
    if (sw_arrange(&b->inspection, 1, NULL, &options, NULL, NULL, &a, &err) != SW_OK)
        fail_msg("%s", err.text);
    a.better = true;
    sw_place kept = a.after.layout.places[0];
    a.after.layout.places[0] = a.after.layout.places[4];
    a.after.layout.places[4] = kept;
    b->page = (sw_page){.open = SW_PAGE_ARRANGEMENT, .inspection = &b->inspection, .arrangement = &a};
    json_t *data = data_of(b);
    is_text(json_object_get(data, "open"), "arrangement");
    assert_int_equal(strncmp(says(data, "title"), "Arrangement of ", 15), 0);
    is_text(json_object_get(at(data, "says", "next"), "deed"), a.next);
    assert_true(json_array_size(at(data, "says", "arrangement")) >= 2);
    is_text(json_object_get(json_object_get(data, "arrangement"), "format"), "seamwright-arrangement");
    json_decref(data);
    sw_arrangement_free(&a);
}

/* Names may hold anything: no element is opened or closed by one, and a script reads them as they are. */
static void names_do_no_harm(void **state)
{
    static const char NAME[] = "</script><script>alert('\xE2\x80\xA8')</script><!--&amp;.jpg";
    bench *b = *state;
    char *page = written(b);
    size_t ends = count(page, "</script>"), begins = count(page, "<script"), remarks = count(page, "<!--");
    free(page);
    snprintf(b->inspection.file, sizeof b->inspection.file, "%s", NAME);
    snprintf(b->inspection.camera, sizeof b->inspection.camera, "<b>phone\x01\xff");
    snprintf(b->inspection.ranking[0].reason, sizeof b->inspection.ranking[0].reason, "proud by <0.3 mm & more");
    page = written(b);
    assert_int_equal(count(page, "</script>"), ends);
    assert_int_equal(count(page, "<script"), begins);
    assert_int_equal(count(page, "<!--"), remarks);
    assert_int_equal(count(page, "<b>phone"), 0);
    assert_int_equal(count(strstr(page, "id=\"data\""), "\xE2\x80\xA8"), 0);
    assert_null(strstr(page, "\x01"));
    json_t *data = data_in(page);
    is_text(json_object_get(at(data, "inspection", "photo"), "file"), NAME);
    is_text(json_object_get(at(data, "says", "next"), "why"), "proud by <0.3 mm & more");
    json_decref(data);
    free(page);
}

/* Whatever could not be measured: figures that are no numbers are null, and no sentence speaks of them. */
static void what_is_not_known_is_no_number(void **state)
{
    bench *b = *state;
    for (size_t i = 0; i < b->inspection.seam_count; i++) {
        sw_seam *s = &b->inspection.seams[i];
        s->max_mm = s->max_at_mm = s->mean_mm = s->min_mm = s->max_u95_mm = s->mean_u95_mm = s->taper_mm = NAN;
        s->length_mm = s->corner_step_mm = NAN;
        for (size_t k = 0; k < s->chip_count; k++)
            s->chips[k].at_mm = s->chips[k].length_mm = s->chips[k].depth_mm = NAN;
    }
    for (size_t i = 0; i < b->inspection.advice_count; i++)
        b->inspection.ranking[i].remove_mm = b->inspection.ranking[i].from_mm = b->inspection.ranking[i].worst_gap_mm =
            NAN;
    b->page.plan = &b->plan;
    char *page = written(b);
    json_t *data = data_in(page); /* which reads no NaN */
    char *words = json_dumps(json_object_get(data, "says"), 0);
    assert_null(strstr(words, "nan"));
    assert_null(strstr(words, "inf "));
    free(words);
    json_decref(data);
    free(page);
}

/* The rule as README.md gives it, from the data alone. */
static const char *verdict_by(const json_t *guard, size_t seam, double limit)
{
    const json_t *one = json_array_get(json_object_get(guard, "seams"), seam);
    double share = json_number_value(json_object_get(guard, "share"));
    const json_t *max = json_object_get(one, "max_mm"), *u95 = json_object_get(one, "u95_mm");
    double gap = json_number_value(max), band = share * json_number_value(u95);
    double hidden = json_number_value(json_object_get(one, "hidden_mm"));
    if (json_is_null(max) || json_is_null(u95))
        return "too close to call";
    if (gap >= limit + band)
        return "over";
    if (gap > limit - band || (hidden > gap + band && hidden > limit))
        return "too close to call";
    return "within";
}

static void any_limit_gives_the_programs_verdict(void **state)
{
    bench *b = *state;
    b->inspection.seams[FIXTURE_HALF_BLIND].hidden_mm = 0.9;
    b->inspection.seams[FIXTURE_HALF_BLIND].seen_u95_mm = b->inspection.seams[FIXTURE_HALF_BLIND].max_u95_mm;
    b->inspection.seams[FIXTURE_HALF_BLIND].max_u95_mm = 0.86;
    b->inspection.seams[0].hidden_mm = 0.1; /* less than is seen */
    json_t *data = data_of(b);
    int of[3] = {0};
    for (double limit = 0.05; limit < 4; limit += 0.01)
        for (size_t i = 0; i < FIXTURE_SEAMS; i++) {
            sw_verdict is = sw_seam_verdict_at(&b->inspection.seams[i], limit);
            assert_string_equal(verdict_by(json_object_get(data, "guard"), i, limit), sw_verdict_name(is));
            of[is]++;
        }
    assert_true(of[0] > 100 && of[1] > 100 && of[2] > 100);
    assert_int_equal(sw_seam_verdict_at(&b->inspection.seams[FIXTURE_HALF_BLIND], 0.85), SW_TOO_CLOSE);
    assert_int_equal(sw_seam_verdict_at(&b->inspection.seams[FIXTURE_HALF_BLIND], 0.95), SW_WITHIN);
    json_decref(data);
}

static void a_page_needs_what_it_opens(void **state)
{
    bench *b = *state;
    char path[128];
    snprintf(path, sizeof path, "%s/page.html", b->folder);
    for (int open = SW_PAGE_PLAN; open <= SW_PAGE_ARRANGEMENT; open++) {
        b->page.open = (sw_page_open)open;
        assert_int_equal(sw_report_page(&b->page, path, NULL), SW_BAD_INPUT);
    }
    assert_int_equal(entries(b->folder), 0);
    b->page.open = SW_PAGE_REPORT;
    assert_int_equal(sw_report_page(&b->page, "/dev/full", NULL), SW_CANNOT_WRITE);
}

/* The one address in a page is the name of the language its pictures are drawn in, which nobody fetches. */
static void nothing_comes_from_outside(void **state)
{
    bench *b = *state;
    char *page = written(b);
    size_t names = count(page, "http://www.w3.org/2000/svg");
    assert_int_equal(count(page, "http"), names);
    assert_int_equal(count(page, "://"), names);
    assert_int_equal(count(page, "<link") + count(page, "@import"), 0);
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_report_says_what_the_console_says, set_up, tear_down),
        cmocka_unit_test_setup_teardown(each_seam_has_its_sentence, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_plan_brings_its_work, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_plan_without_work_has_no_cautions_beside_it, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_plan_for_any_layout_has_a_line_an_edge, set_up, tear_down),
        cmocka_unit_test_setup_teardown(rounds_are_told_oldest_first, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_comparison_says_the_rechecks_words, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_arrangement_says_what_to_move, set_up, tear_down),
        cmocka_unit_test_setup_teardown(names_do_no_harm, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_not_known_is_no_number, set_up, tear_down),
        cmocka_unit_test_setup_teardown(any_limit_gives_the_programs_verdict, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_page_needs_what_it_opens, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nothing_comes_from_outside, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
