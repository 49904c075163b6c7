/* What the writers say of half-way marks, and that they say nothing where there are none. */
#include "support/maths_check.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

/* The page with a picture of the fixture's own making. */
static char *written_page(const sw_inspection *ins)
{
    char folder[64], picture[128], path[128];
    sw_error err = {""};
    sw_photo photo;
    fixture_folder(folder);
    snprintf(picture, sizeof picture, "%s/overlay.png", folder);
    snprintf(path, sizeof path, "%s/page", folder);
    fixture_photo(ins, &photo);
    if (sw_report_overlay(ins, &photo, picture, &err) || sw_report_page(ins, picture, path, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
    char *text = fixture_read(folder, "page", NULL);
    fixture_remove(folder);
    assert_non_null(text);
    return text;
}

static const char *after(const char *text, const char *what)
{
    const char *at = strstr(text, what);
    if (!at)
        fail_msg("the page does not say '%s' where it should", what);
    return at + strlen(what);
}

static void the_page_says_what_to_do(void **state)
{
    (void)state;
    sw_inspection ins;
    make(&ins);
    char *page = written_page(&ins);
    const char *at = after(page, "<h2>Half-way marks</h2>");
    at = after(at, "<td>A1-B1</td>");
    at = after(at, "+2.70");
    at = after(at, "+2.50");
    at = after(at, "will not meet. Rub out the mark on B1");
    at = after(at, "<td>B1-C1</td>");
    at = after(at, "-0.40");
    at = after(at, "They meet. Leave them.");
    at = after(at, "<td>A1-A2</td>");
    at = after(at, "off the half");
    at = after(at, "mark A2 again");
    at = after(at, "<td>B1-B2</td>");
    at = after(at, "No mark was seen on B1");
    at = after(at, "<td>C1-C2</td>");
    after(at, "Too close to call");
    free(page);
    sw_inspection_free(&ins);
}

static void nothing_is_said_without_marks(void **state)
{
    (void)state;
    sw_inspection ins;
    fixture_inspection(&ins);
    char *page = written_page(&ins), *text = written_json(&ins);
    assert_null(strstr(page, "Half-way"));
    json_t *root = json_loads(text, 0, NULL);
    assert_true(json_is_array(json_object_get(root, "marks")));
    assert_int_equal(json_array_size(json_object_get(root, "marks")), 0);
    json_decref(root);
    free(page);
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
