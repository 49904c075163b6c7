/* What the writers tell of several photos, and that they tell nothing of it for one. */
#include "support/maths_check.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "pages/data.h"
#include "seamwright/inspect.h"
#include "support/fixture_noise.h"
#include "support/look.h"

enum { PHOTOS = 3 };
static const fixture_noise FAIR = {0.02, 0.02, 0.05}, WILD = {0.04, 0.01, 0};

/* Three photos, the last in which B1-C1 has moved. */
static void make(const fixture_noise *noise, sw_inspection *out)
{
    static const char *const files[PHOTOS] = {"one.jpg", "two <&>.jpg", "three.jpg"};
    sw_inspection photos[PHOTOS];
    sw_error err = {""};
    for (int k = 0; k < PHOTOS; k++)
        fixture_shot(k, files[k], noise, &photos[k]);
    fixture_widen(fixture_seam(&photos[2], "B1-C1"), 0.8);
    if (sw_inspection_combine(photos, PHOTOS, out, &err))
        fail_msg("%s", err.text);
    for (int k = 0; k < PHOTOS; k++)
        sw_inspection_free(&photos[k]);
}

/* The text of one file that a writer made; free() it. */
static char *written(sw_status (*write)(const sw_inspection *, const char *, sw_error *),
                     const sw_inspection *inspection)
{
    char folder[64], path[128];
    sw_error err = {""};
    fixture_folder(folder);
    snprintf(path, sizeof path, "%s/file", folder);
    if (write(inspection, path, &err))
        fail_msg("%s", err.text);
    char *text = fixture_read(folder, "file", NULL);
    fixture_remove(folder);
    assert_non_null(text);
    return text;
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!value)
        fail_msg("%s is missing", key);
    return json_is_null(value) ? NAN : json_number_value(value);
}

static void json_holds_the_evidence(void **state)
{
    (void)state;
    sw_inspection out;
    make(&FAIR, &out);
    char *text = written(sw_report_json, &out);
    json_t *root = json_loads(text, 0, NULL), *repeat = json_object_get(root, "repeatability");
    const sw_repeatability *r = out.repeatability;
    assert_non_null(repeat);
    assert_int_equal(json_array_size(json_object_get(repeat, "photos")), PHOTOS);
    assert_string_equal(json_string_value(json_array_get(json_object_get(repeat, "photos"), 1)), "two <&>.jpg");
    assert_string_equal(json_string_value(json_object_get(json_object_get(root, "photo"), "file")), "one.jpg");
    expect_near("s_r", number(repeat, "s_r_mm"), r->mean.s_r, 1e-5);
    expect_near("r", number(repeat, "r_mm"), 2.8 * r->mean.s_r, 1e-5);
    expect_near("stated", number(repeat, "stated_u_mm"), hypot(0.02, 0.05), 1e-5);
    expect_near("freedom", number(repeat, "degrees_of_freedom"), 21,
                1e-9); /* ten seams by two, B1-C1 by one, a blind one */
    assert_string_equal(json_string_value(json_object_get(repeat, "agreement")), "better than stated");
    expect_near("angles", number(json_object_get(repeat, "angle"), "s_r_deg"), r->angle_deg.s_r, 1e-5);
    json_t *seams = json_object_get(repeat, "seams"), *all = json_object_get(root, "seams");
    assert_int_equal(json_array_size(seams), FIXTURE_SEAMS);
    for (size_t i = 0; i < FIXTURE_SEAMS; i++) {
        const json_t *seam = json_array_get(seams, i);
        const char *name = json_string_value(json_object_get(seam, "name"));
        assert_string_equal(name, json_string_value(json_object_get(json_array_get(all, i), "name")));
        assert_int_equal(json_array_size(json_object_get(seam, "mean_mm")), PHOTOS);
        assert_int_equal((int)number(seam, "left_out"), strcmp(name, "B1-C1") == 0);
        assert_int_equal((int)number(seam, "photos"), strcmp(name, "B1-C1") == 0   ? 2
                                                      : strcmp(name, "B2-B3") == 0 ? 0
                                                                                   : 3);
        assert_int_equal(json_is_true(json_array_get(json_object_get(seam, "counts"), 2)),
                         strcmp(name, "B1-C1") != 0 && strcmp(name, "B2-B3") != 0);
        assert_true(isnan(number(seam, "s_r_mm")) == (strcmp(name, "B2-B3") == 0));
    }
    json_decref(root);
    free(text);
    sw_inspection_free(&out);
}

static void the_page_names_the_first_and_says_how_they_agree(void **state)
{
    (void)state;
    sw_inspection out;
    make(&FAIR, &out);
    const sw_page page = {.inspection = &out};
    json_t *says = sw_page_says(&page);
    const char *photo = json_string_value(json_object_get(says, "photo")),
               *repeat = json_string_value(json_object_get(says, "repeat"));
    assert_int_equal(count(photo, "one.jpg"), 1);
    assert_int_equal(count(photo, ", and 2 more"), 1);
    assert_int_equal(count(repeat, "they agree with each other better than stated."), 1);
    json_decref(says);
    sw_inspection_free(&out);
}

static void the_terminal_gets_one_line(void **state)
{
    (void)state;
    sw_inspection out;
    make(&FAIR, &out);
    char *text = sw_report_text(&out, "");
    assert_int_equal(count(text, "\n3 photos combined: their mean gaps scatter by 0.0"), 1);
    free(text);
    sw_inspection_free(&out);
    make(&WILD, &out);
    text = sw_report_text(&out, "");
    assert_int_equal(count(text, "they agree with each other worse than stated, and the ± was made "), 1);
    free(text);
    sw_inspection_free(&out);
}

static void one_photo_has_nothing_of_it(void **state)
{
    (void)state;
    sw_inspection one;
    fixture_inspection(&one);
    char *json = written(sw_report_json, &one), *text = sw_report_text(&one, "");
    assert_null(strstr(json, "repeatability"));
    assert_null(strstr(text, "photos combined"));
    free(json);
    free(text);
    sw_inspection_free(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_holds_the_evidence),
        cmocka_unit_test(the_page_names_the_first_and_says_how_they_agree),
        cmocka_unit_test(the_terminal_gets_one_line),
        cmocka_unit_test(one_photo_has_nothing_of_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
