/* A recheck as text and file, and how the two files come into a folder. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "seamwright/recheck.h"
#include "support/fixture.h"
#include "support/look.h"

typedef struct pair {
    sw_inspection before, after;
    sw_recheck recheck;
    sw_edge_change edges[4];
    char folder[64];
} pair;

/* The fixture's table before, all within afterwards, and four edges of every kind. */
static int set_up(void **state)
{
    pair *p = calloc(1, sizeof *p);
    sw_error err = {""};
    fixture_inspection(&p->before);
    fixture_all_within(&p->after);
    fixture_folder(p->folder);
    if (sw_recheck_make(&p->before, &p->after, NULL, NULL, 0, &p->recheck, &err) != SW_OK)
        fail_msg("%s", err.text);
    const sw_edge_change kinds[4] = {{.tile = 4,
                                      .side = SW_EAST,
                                      .planned = 1,
                                      .planned_mm = 0.6,
                                      .planned_at_mm = 40,
                                      .taken_mm = 1.23,
                                      .taken_u95_mm = 0.2,
                                      .taken_at_mm = 40,
                                      .together_mm = 1.2,
                                      .together_u95_mm = 0.3,
                                      .most_over_mm = 0.63,
                                      .most_over_u95_mm = 0.2,
                                      .most_over_at_mm = 40,
                                      .too_much = 1},
                                     {.tile = 2,
                                      .side = SW_SOUTH,
                                      .planned = 1,
                                      .planned_mm = 0.9,
                                      .planned_at_mm = 0,
                                      .taken_mm = 0.1,
                                      .taken_u95_mm = 0.2,
                                      .not_enough = 1,
                                      .together_mm = 0.1,
                                      .together_u95_mm = 0.2,
                                      .most_over_at_mm = NAN},
                                     {.tile = 8,
                                      .side = SW_WEST,
                                      .planned = 1,
                                      .planned_mm = 0.4,
                                      .planned_at_mm = 300,
                                      .taken_mm = NAN,
                                      .taken_u95_mm = NAN,
                                      .taken_at_mm = NAN,
                                      .together_mm = NAN,
                                      .together_u95_mm = NAN,
                                      .most_over_at_mm = NAN},
                                     {.tile = 0,
                                      .side = SW_NORTH,
                                      .taken_mm = 0.2,
                                      .taken_u95_mm = 0.4,
                                      .taken_at_mm = 150,
                                      .together_mm = 0.5,
                                      .together_u95_mm = 0.2,
                                      .planned_at_mm = NAN,
                                      .most_over_at_mm = NAN}};
    memcpy(p->edges, kinds, sizeof kinds);
    free(p->recheck.edges);
    p->recheck.edges = p->edges;
    p->recheck.edge_count = 4;
    p->recheck.planned = 1;
    *state = p;
    return 0;
}

static int tear_down(void **state)
{
    pair *p = *state;
    p->recheck.edges = NULL;
    sw_recheck_free(&p->recheck);
    sw_inspection_free(&p->before);
    sw_inspection_free(&p->after);
    fixture_remove(p->folder);
    free(p);
    return 0;
}

static void holds(const char *text, const char *words)
{
    if (!strstr(text, words))
        fail_msg("lacks \"%s\":\n%.3000s", words, text);
}

static void the_text_has_verdict_rows_and_next(void **state)
{
    pair *p = *state;
    char *text = sw_report_recheck_text(&p->recheck, &p->before, &p->after);
    assert_non_null(text);
    assert_memory_equal(text, "Within: every seam is within 0.50 mm (over before: 4)", 52);
    holds(text, "B2-C2      3.16 ± 0.06    0.25 ± 0.06    -2.91 ± 0.08   within");
    holds(text, "B2 east    0.60     1.23 ± 0.20     40      1.20 ± 0.30        too much: take nothing more off\n");
    holds(text, "C1 south   0.90     0.10 ± 0.20     0       0.10 ± 0.20        not enough yet\n");
    holds(text, "C3 west    0.40     not seen        -       not seen           not seen\n");
    holds(text, "A1 north   -        0.20 ± 0.40     150     0.50 ± 0.20        off the two together");
    holds(text, "\nNext: Stop here: every seam is within 0.50 mm.");
    assert_null(strstr(text, "FFP3"));
    free(text);
    p->recheck.stop = 0;
    text = sw_report_recheck_text(&p->recheck, &p->before, &p->after);
    holds(text, "FFP3");
    free(text);
}

static void the_json_has_it_all(void **state)
{
    pair *p = *state;
    char path[128];
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/recheck.json", p->folder);
    assert_int_equal(sw_report_recheck_json(&p->recheck, &p->before, &p->after, path, &err), SW_OK);
    json_t *root = json_load_file(path, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")), "seamwright-recheck");
    assert_true(json_is_true(json_object_get(root, "stop")));
    assert_int_equal(json_array_size(json_object_get(root, "seams")), FIXTURE_SEAMS);
    assert_int_equal(json_array_size(json_object_get(root, "layout")), 9);
    const json_t *edges = json_object_get(root, "edges"), *first = json_array_get(edges, 0);
    assert_int_equal(json_array_size(edges), 4);
    assert_string_equal(json_string_value(json_object_get(first, "edge")), "B2 east");
    assert_true(json_is_true(json_object_get(first, "too_much")));
    assert_true(fabs(json_number_value(json_object_get(first, "taken_mm")) - 1.23) < 1e-9);
    assert_true(json_is_null(json_object_get(json_array_get(edges, 2), "taken_mm")));
    assert_true(json_is_null(json_object_get(json_array_get(edges, 3), "planned_mm")));
    assert_int_equal(json_array_size(json_object_get(root, "rounds")), 2);
    json_decref(root);
}

static int count_files(const char *folder, const char *name)
{
    size_t length;
    char *text = fixture_read(folder, name, &length);
    free(text);
    return text != NULL;
}

static void both_files_come_beside_what_lies_there(void **state)
{
    pair *p = *state;
    char folder[128];
    sw_error err = {""};
    snprintf(folder, sizeof folder, "%s/new", p->folder);
    assert_int_equal(sw_report_recheck_write(&p->recheck, &p->before, NULL, &p->after, NULL, folder, &err), SW_OK);
    put_file(folder, "notes.txt", "mine");
    assert_int_equal(sw_report_recheck_write(&p->recheck, &p->before, NULL, &p->after, NULL, folder, &err), SW_OK);
    assert_true(count_files(folder, "recheck.json") && count_files(folder, "recheck.html"));
    char *notes = fixture_read(folder, "notes.txt", NULL);
    assert_string_equal(notes, "mine");
    free(notes);
}

static void a_users_file_stays(void **state)
{
    pair *p = *state;
    sw_error err = {""};
    put_file(p->folder, "recheck.json", "{\"mine\": 1}");
    assert_int_equal(sw_report_recheck_write(&p->recheck, &p->before, NULL, &p->after, NULL, p->folder, &err),
                     SW_CANNOT_WRITE);
    char *mine = fixture_read(p->folder, "recheck.json", NULL);
    assert_string_equal(mine, "{\"mine\": 1}");
    free(mine);
    assert_false(count_files(p->folder, "recheck.html"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_text_has_verdict_rows_and_next, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_json_has_it_all, set_up, tear_down),
        cmocka_unit_test_setup_teardown(both_files_come_beside_what_lies_there, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_users_file_stays, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
