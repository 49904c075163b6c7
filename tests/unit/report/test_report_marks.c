/* What the writers say of half-way marks, and that they say nothing where there are none. */
#include "support/maths_check.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "pages/data.h"
#include "report/inspection/read.h"
#include "support/fixture.h"

/* Seams of the fixture: 0 A1-B1, 1 B1-C1, 2 A1-A2, 3 B1-B2, 4 C1-C2. */
static const sw_mark MARKS[] = {
    {.seam = 0,
     .tile = 0,
     .side = SW_EAST,
     .at_mm = 150.2,
     .from_half_mm = 0.2,
     .u95_mm = 0.1,
     .step_mm = 2.5,
     .step_u95_mm = 0.1},
    {.seam = 0,
     .tile = 1,
     .side = SW_WEST,
     .at_mm = 152.7,
     .from_half_mm = 2.7,
     .u95_mm = 0.1,
     .step_mm = 2.5,
     .step_u95_mm = 0.1},
    {.seam = 1,
     .tile = 1,
     .side = SW_EAST,
     .at_mm = 150,
     .from_half_mm = -0.1,
     .u95_mm = 0.1,
     .step_mm = -0.4,
     .step_u95_mm = 0.1},
    {.seam = 1,
     .tile = 2,
     .side = SW_WEST,
     .at_mm = 150,
     .from_half_mm = -0.5,
     .u95_mm = 0.1,
     .step_mm = -0.4,
     .step_u95_mm = 0.1},
    {.seam = 2,
     .tile = 0,
     .side = SW_SOUTH,
     .at_mm = 155,
     .from_half_mm = 5,
     .u95_mm = 0.1,
     .step_mm = 0.1,
     .step_u95_mm = 0.1},
    {.seam = 2,
     .tile = 3,
     .side = SW_NORTH,
     .at_mm = 155,
     .from_half_mm = 5.1,
     .u95_mm = 0.1,
     .step_mm = 0.1,
     .step_u95_mm = 0.1},
    {.seam = 3,
     .tile = 4,
     .side = SW_NORTH,
     .at_mm = 150,
     .from_half_mm = 0,
     .u95_mm = 0.1,
     .step_mm = NAN,
     .step_u95_mm = NAN},
    {.seam = 4,
     .tile = 2,
     .side = SW_SOUTH,
     .at_mm = 150,
     .from_half_mm = 0,
     .u95_mm = 0.1,
     .step_mm = 1.02,
     .step_u95_mm = 0.1},
    {.seam = 4,
     .tile = 5,
     .side = SW_NORTH,
     .at_mm = 150,
     .from_half_mm = 1,
     .u95_mm = 0.1,
     .step_mm = 1.02,
     .step_u95_mm = 0.1},
};
enum { COUNT = sizeof MARKS / sizeof *MARKS };

static void make(sw_inspection *ins)
{
    fixture_inspection(ins);
    ins->marks = malloc(sizeof MARKS);
    assert_non_null(ins->marks);
    memcpy(ins->marks, MARKS, sizeof MARKS);
    ins->mark_count = COUNT;
}

static char *written_json(const sw_inspection *ins)
{
    char folder[64], path[128];
    sw_error err = {""};
    fixture_folder(folder);
    snprintf(path, sizeof path, "%s/file", folder);
    if (sw_report_json(ins, path, &err))
        fail_msg("%s", err.text);
    char *text = fixture_read(folder, "file", NULL);
    fixture_remove(folder);
    assert_non_null(text);
    return text;
}

static void says(const json_t *marks, size_t i, const char *seam, const char *words)
{
    const json_t *one = json_array_get(marks, i);
    assert_string_equal(json_string_value(json_object_get(one, "seam")), seam);
    if (!strstr(json_string_value(json_object_get(one, "text")), words))
        fail_msg("%s: \"%s\" lacks \"%s\"", seam, json_string_value(json_object_get(one, "text")), words);
}

static json_t *said(const sw_inspection *ins)
{
    const sw_page page = {.inspection = ins};
    json_t *all = sw_page_says(&page), *marks = json_incref(json_object_get(all, "marks"));
    json_decref(all);
    return marks;
}

static void the_page_says_what_to_do(void **state)
{
    (void)state;
    sw_inspection ins;
    make(&ins);
    json_t *marks = said(&ins);
    assert_int_equal(json_array_size(marks), 5);
    says(marks, 0, "A1-B1", "will not meet. Rub out the mark on B1");
    says(marks, 1, "B1-C1", "They meet. Leave them.");
    says(marks, 2, "A1-A2", "off the half");
    says(marks, 2, "A1-A2", "mark A2 again");
    says(marks, 3, "B1-B2", "No mark was seen on B1");
    says(marks, 4, "C1-C2", "Too close to call");
    json_decref(marks);
    sw_inspection_free(&ins);
}

static void nothing_is_said_without_marks(void **state)
{
    (void)state;
    sw_inspection ins;
    fixture_inspection(&ins);
    char *text = written_json(&ins);
    json_t *marks = said(&ins);
    assert_int_equal(json_array_size(marks), 0);
    json_decref(marks);
    json_t *root = json_loads(text, 0, NULL);
    assert_true(json_is_array(json_object_get(root, "marks")));
    assert_int_equal(json_array_size(json_object_get(root, "marks")), 0);
    json_decref(root);
    free(text);
    sw_inspection_free(&ins);
}

static void json_holds_them_and_is_read_back(void **state)
{
    (void)state;
    sw_inspection ins, back;
    sw_error err = {""};
    make(&ins);
    char *text = written_json(&ins);
    json_t *root = json_loads(text, 0, NULL), *marks = json_object_get(root, "marks");
    assert_int_equal(json_array_size(marks), COUNT);
    json_t *second = json_array_get(marks, 1), *lone = json_array_get(marks, 6);
    assert_string_equal(json_string_value(json_object_get(second, "seam")), "A1-B1");
    assert_string_equal(json_string_value(json_object_get(second, "edge")), "B1 west");
    expect_near("from half", json_number_value(json_object_get(second, "from_half_mm")), 2.7, 1e-4);
    expect_near("step", json_number_value(json_object_get(second, "step_mm")), 2.5, 1e-4);
    assert_true(json_is_null(json_object_get(lone, "step_mm")) && json_is_null(json_object_get(lone, "step_u95_mm")));
    if (sw_inspection_parse(text, strlen(text), "file", &back, &err))
        fail_msg("%s", err.text);
    assert_int_equal(back.mark_count, COUNT);
    for (int i = 0; i < COUNT; i++) {
        assert_string_equal(back.seams[back.marks[i].seam].name, ins.seams[MARKS[i].seam].name);
        assert_int_equal(back.marks[i].tile, MARKS[i].tile);
        assert_int_equal(back.marks[i].side, MARKS[i].side);
        expect_near("from half", back.marks[i].from_half_mm, MARKS[i].from_half_mm, 1e-4);
        assert_true(isnan(back.marks[i].step_mm) == isnan(MARKS[i].step_mm));
    }
    sw_inspection_free(&back);
    char *edge = strstr(text, "\"marks\"");
    edge = strstr(edge, "A1 east");
    memcpy(edge, "A1 west", 7); /* the table's own rim: no seam there */
    assert_int_equal(sw_inspection_parse(text, strlen(text), "file", &back, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "no seam"));
    json_decref(root);
    free(text);
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_says_what_to_do),
        cmocka_unit_test(nothing_is_said_without_marks),
        cmocka_unit_test(json_holds_them_and_is_read_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
