/* Lens profiles as files: what is written comes back to the last bit, and nothing else is taken for a profile. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <dirent.h>
#include <jansson.h>
#include <sys/stat.h>
#include <unistd.h>

#include "seamwright/scale.h"

static char folder[64], path[96];

static int make_folder(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/seamwright-profile-XXXXXX");
    if (!mkdtemp(folder))
        return -1;
    snprintf(path, sizeof path, "%s/phone.lens.json", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    unlink(path);
    return rmdir(folder); /* fails when a part file was left behind */
}

static sw_lens sample(void)
{
    sw_lens lens = {.source = SW_LENS_PROFILE,
                    .width_px = 4000,
                    .height_px = 3000,
                    .fx = 2900.0 / 3 * 3.01,
                    .fy = 2899.3,
                    .cx = 1999.51,
                    .cy = 1499.47,
                    .k1 = -0.03,
                    .k2 = 0.05,
                    .p1 = -0.0002,
                    .p2 = 0.0005,
                    .k3 = -0.02,
                    .residual_px = 0.07,
                    .covered = 0.7,
                    .photos = 8,
                    .square_mm = 25,
                    .focal_mm = 4.25};
    strcpy(lens.camera, "Makers Model \"3\"");
    for (int i = 0; i < 9; i++)
        for (int k = 0; k < 9; k++)
            lens.covariance[i][k] = (i == k ? 1.0 : 0.3) * pow(0.31, i) * pow(0.31, k) / 3;
    return lens;
}

static void assert_same(const sw_lens *a, const sw_lens *b)
{
    assert_int_equal(a->source, b->source);
    assert_int_equal(a->width_px, b->width_px);
    assert_int_equal(a->height_px, b->height_px);
    assert_int_equal(a->photos, b->photos);
    assert_string_equal(a->camera, b->camera);
    const double *x[] = {&a->fx, &a->fy, &a->cx,          &a->cy,      &a->k1,        &a->k2,      &a->p1,
                         &a->p2, &a->k3, &a->residual_px, &a->covered, &a->square_mm, &a->focal_mm};
    const double *y[] = {&b->fx, &b->fy, &b->cx,          &b->cy,      &b->k1,        &b->k2,      &b->p1,
                         &b->p2, &b->k3, &b->residual_px, &b->covered, &b->square_mm, &b->focal_mm};
    for (size_t i = 0; i < sizeof x / sizeof *x; i++)
        assert_true(*x[i] == *y[i]);
    assert_memory_equal(a->covariance, b->covariance, sizeof a->covariance);
}

static void comes_back_to_the_last_bit(void **state)
{
    (void)state;
    sw_lens lens = sample(), back;
    sw_error err = {{0}};
    assert_int_equal(sw_lens_save(path, &lens, &err), SW_OK);
    assert_int_equal(sw_lens_load(path, &back, &err), SW_OK);
    assert_same(&lens, &back);
    lens.source = SW_LENS_ESTIMATED;
    assert_int_equal(sw_lens_save(path, &lens, &err), SW_OK); /* over the old one */
    assert_int_equal(sw_lens_load(path, &back, &err), SW_OK);
    assert_same(&lens, &back);
}

/* A number that JSON has no real for: whole values are written as 25.0, and 25 must do as well. */
static void whole_numbers_do_for_reals(void **state)
{
    (void)state;
    sw_lens lens = sample(), back;
    assert_int_equal(sw_lens_save(path, &lens, NULL), SW_OK);
    json_t *root = json_load_file(path, 0, NULL);
    json_object_set_new(root, "square_mm", json_integer(25));
    json_dump_file(root, path, 0);
    json_decref(root);
    assert_int_equal(sw_lens_load(path, &back, NULL), SW_OK);
    assert_same(&lens, &back);
}

static void write_text(const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

/* Loading fails with this status and these words, names the file, and leaves the lens zeroed. */
static void assert_refused(sw_status status, const char *words)
{
    sw_lens lens, none;
    sw_error err = {{0}};
    memset(&lens, 1, sizeof lens);
    memset(&none, 0, sizeof none);
    assert_int_equal(sw_lens_load(path, &lens, &err), status);
    assert_non_null(strstr(err.text, words));
    assert_int_equal(strncmp(err.text, path, strlen(path)), 0);
    assert_memory_equal(&lens, &none, sizeof lens);
}

/* The sample with one member replaced (value NULL: taken out). */
static void change(const char *member, const char *value)
{
    sw_lens lens = sample();
    assert_int_equal(sw_lens_save(path, &lens, NULL), SW_OK);
    json_t *root = json_load_file(path, 0, NULL);
    json_t *new = value ? json_loads(value, JSON_DECODE_ANY, NULL) : NULL;
    if (value)
        assert_int_equal(json_object_set_new(root, member, new), 0);
    else
        assert_int_equal(json_object_del(root, member), 0);
    assert_int_equal(json_dump_file(root, path, 0), 0);
    json_decref(root);
}

static void members_out_of_range_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *member, *value, *words;
    } CASES[] = {
        {"format", "\"seamwright-inspection\"", "no lens profile"},
        {"format", NULL, "no lens profile"},
        {"format", "1", "no lens profile"},
        {"format_version", "2", "format version 2"},
        {"format_version", "0", "format version 0"},
        {"format_version", "1.0", "format version"},
        {"format_version", NULL, "format version"},
        {"source", "\"none\"", "\"source\""},
        {"source", "\"\"", "\"source\""},
        {"source", NULL, "\"source\""},
        {"camera", NULL, "\"camera\""},
        {"camera", "7", "\"camera\""},
        {"width_px", NULL, "\"width_px\""},
        {"width_px", "4000.0", "\"width_px\""},
        {"width_px", "-4000", "\"width_px\""},
        {"width_px", "0", "picture size"},
        {"width_px", "100000", "picture size"},
        {"photos", "1e9", "\"photos\""},
        {"fx_px", NULL, "\"fx_px\""},
        {"fx_px", "\"2900\"", "\"fx_px\""},
        {"fx_px", "null", "\"fx_px\""},
        {"fx_px", "-2900", "focal length"},
        {"fx_px", "29", "focal length"},
        {"fy_px", "2.9e6", "focal length"},
        {"cx_px", "-1", "centre"},
        {"cy_px", "3000", "centre"},
        {"k1", NULL, "\"k1\""},
        {"k1", "-1", "two places at one pixel"},
        {"k3", "-3", "two places at one pixel"},
        {"p1", "true", "\"p1\""},
        {"residual_px", "-0.1", "residual"},
        {"residual_px", "1000", "residual"},
        {"covered", "1.01", "covered"},
        {"square_mm", "-25", "negative"},
        {"focal_mm", "-4", "negative"},
        {"covariance", NULL, "\"covariance\""},
        {"covariance", "[]", "\"covariance\""},
        {"covariance", "[1,2,3,4,5,6,7,8,9]", "\"covariance\""},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        change(CASES[i].member, CASES[i].value);
        assert_refused(SW_BAD_INPUT, CASES[i].words);
    }
}

static void change_covariance(size_t row, size_t column, double value)
{
    sw_lens lens = sample();
    assert_int_equal(sw_lens_save(path, &lens, NULL), SW_OK);
    json_t *root = json_load_file(path, 0, NULL);
    json_array_set_new(json_array_get(json_object_get(root, "covariance"), row), column, json_real(value));
    assert_int_equal(json_dump_file(root, path, 0), 0);
    json_decref(root);
}

static void impossible_covariances_are_refused(void **state)
{
    (void)state;
    change_covariance(2, 2, -1e-3); /* a negative variance */
    assert_refused(SW_BAD_INPUT, "covariance");
    change_covariance(0, 1, 0.09); /* not symmetric */
    assert_refused(SW_BAD_INPUT, "covariance");
    sw_lens lens = sample();
    lens.covariance[0][1] = lens.covariance[1][0] = 1.01 * sqrt(lens.covariance[0][0] * lens.covariance[1][1]);
    sw_error err = {{0}};
    unlink(path);
    assert_int_equal(sw_lens_save(path, &lens, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "correlation"));
    assert_int_equal(access(path, F_OK), -1);
}

static void what_is_no_json_is_refused(void **state)
{
    (void)state;
    write_text("");
    assert_refused(SW_BAD_INPUT, "no lens profile");
    write_text("{ \"format\": \"seamwright-lens\", ");
    assert_refused(SW_BAD_INPUT, "line 1");
    write_text("[1, 2]");
    assert_refused(SW_BAD_INPUT, "no lens profile");
    write_text("{\"format\": \"seamwright-lens\", \"format_version\": 1, \"k1\": NaN}");
    assert_refused(SW_BAD_INPUT, "no lens profile");
    write_text("{\"format\": \"seamwright-lens\", \"format\": \"seamwright-lens\"}");
    assert_refused(SW_BAD_INPUT, "duplicate");
    FILE *file = fopen(path, "wb");
    for (int i = 0; i < 300000; i++)
        fputc(' ', file);
    fclose(file);
    assert_refused(SW_BAD_INPUT, "too large");
}

static void what_cannot_be_read_is_said(void **state)
{
    (void)state;
    char kept[sizeof path];
    unlink(path);
    assert_refused(SW_CANNOT_READ, "No such file");
    memcpy(kept, path, sizeof kept);
    strcpy(path, folder);
    assert_refused(SW_CANNOT_READ, "is a folder");
    memcpy(path, kept, sizeof kept);
}

static int files_in_folder(void)
{
    DIR *open = opendir(folder);
    int count = 0;
    for (const struct dirent *entry = readdir(open); entry; entry = readdir(open))
        count += entry->d_name[0] != '.';
    closedir(open);
    return count;
}

static void a_lens_that_cannot_be_is_not_written(void **state)
{
    (void)state;
    sw_error err = {{0}};
    sw_lens lens = sample(), back;
    assert_int_equal(sw_lens_save(path, &lens, NULL), SW_OK);
    lens.k2 = NAN;
    assert_int_equal(sw_lens_save(path, &lens, &err), SW_BAD_INPUT);
    lens = sample();
    lens.covariance[3][3] = INFINITY;
    assert_int_equal(sw_lens_save(path, &lens, &err), SW_BAD_INPUT);
    lens = sample();
    lens.source = SW_LENS_NONE;
    assert_int_equal(sw_lens_save(path, &lens, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "no lens"));
    assert_int_equal(files_in_folder(), 1);
    lens = sample();
    assert_int_equal(sw_lens_load(path, &back, NULL), SW_OK); /* the old one, whole */
    assert_same(&lens, &back);
}

static void a_failed_write_leaves_nothing(void **state)
{
    (void)state;
    char other[160];
    sw_error err = {{0}};
    sw_lens lens = sample();
    unlink(path);
    snprintf(other, sizeof other, "%s/none/phone.lens.json", folder);
    assert_int_equal(sw_lens_save(other, &lens, &err), SW_CANNOT_WRITE);
    assert_int_equal(strncmp(err.text, other, strlen(other)), 0);
    snprintf(other, sizeof other, "%s/taken", folder);
    assert_int_equal(mkdir(other, 0777), 0);
    assert_int_equal(sw_lens_save(other, &lens, &err), SW_CANNOT_WRITE); /* a folder stands there */
    assert_int_equal(rmdir(other), 0);
    assert_int_equal(files_in_folder(), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(comes_back_to_the_last_bit),           cmocka_unit_test(whole_numbers_do_for_reals),
        cmocka_unit_test(members_out_of_range_are_refused),     cmocka_unit_test(impossible_covariances_are_refused),
        cmocka_unit_test(what_is_no_json_is_refused),           cmocka_unit_test(what_cannot_be_read_is_said),
        cmocka_unit_test(a_lens_that_cannot_be_is_not_written), cmocka_unit_test(a_failed_write_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
