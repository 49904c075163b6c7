#define _GNU_SOURCE /* memmem */
/* The pictures for a page: a place of the table lies where their geometry says, that geometry comes back from the file, and
 * what is no picture of the inspection is none. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/picture/picture.h"
#include "scale/frame.h"
#include "support/fixture.h"
#include "support/look.h"

/* A seam of each way, both narrow, and a place beside each that nothing else is near. */
enum { UPRIGHT = 0, LEVEL = 3 }; /* A1-B1, B1-B2 */
enum { SPOT_PX = 3, SPOT = 30 };

typedef struct bench {
    sw_inspection inspection;
    sw_photo photo;
    char folder[64], table[128], seams[128];
    sw_error err;
} bench;

static int set_up(void **state)
{
    bench *b = calloc(1, sizeof *b);
    fixture_inspection(&b->inspection);
    fixture_photo(&b->inspection, &b->photo);
    fixture_folder(b->folder);
    snprintf(b->table, sizeof b->table, "%s/table.jpg", b->folder);
    snprintf(b->seams, sizeof b->seams, "%s/seams.jpg", b->folder);
    *state = b;
    return 0;
}

static int tear_down(void **state)
{
    bench *b = *state;
    sw_photo_free(&b->photo);
    sw_inspection_free(&b->inspection);
    fixture_remove(b->folder);
    free(b);
    return 0;
}

/* A dark spot where a place that stands so high is seen. sw_scale_lift is another way there than the pictures' own. */
static void put_spot(bench *b, sw_point mm, double rise_mm)
{
    sw_scale lifted;
    const sw_top top = {.rise_mm = rise_mm};
    assert_int_equal(sw_scale_lift(&b->inspection.scale, &top, &lifted), SW_OK);
    sw_point px = sw_scale_to_px(&lifted, mm);
    for (int y = (int)px.y - SPOT_PX - 1; y <= (int)px.y + SPOT_PX + 1; y++)
        for (int x = (int)px.x - SPOT_PX - 1; x <= (int)px.x + SPOT_PX + 1; x++)
            if (hypot(x - px.x, y - px.y) <= SPOT_PX)
                b->photo.luma8[y * b->photo.width_px + x] = SPOT;
}

/* The middle of what is dark within `reach` of a place of the picture, in its own places. */
static sw_point spot_in(const char *path, double at_x, double at_y, int reach)
{
    sw_photo picture;
    sw_error err = {""};
    if (sw_photo_load(path, &picture, &err) != SW_OK)
        fail_msg("%s", err.text);
    double sum = 0, x_sum = 0, y_sum = 0;
    for (int y = (int)at_y - reach; y <= (int)at_y + reach; y++)
        for (int x = (int)at_x - reach; x <= (int)at_x + reach; x++) {
            assert_true(x >= 0 && y >= 0 && x < picture.width_px && y < picture.height_px);
            double dark = fmax(0, 150.0 - sw_photo_at(&picture, x, y));
            sum += dark;
            x_sum += dark * (x + 0.5);
            y_sum += dark * (y + 0.5);
        }
    sw_photo_free(&picture);
    assert_true(sum > 1000);
    return (sw_point){x_sum / sum, y_sum / sum};
}

static void is_near(sw_point is, double x, double y)
{
    if (hypot(is.x - x, is.y - y) > 0.5)
        fail_msg("it is at %.2f %.2f, not at %.2f %.2f", is.x, is.y, x, y);
}

static void a_place_of_the_table_is_where_the_picture_says(void **state)
{
    bench *b = *state;
    static const sw_point PLACES[] = {{-100, 120}, {250, 40}, {700, -700}, {301, -301}};
    sw_picture p;
    for (size_t i = 0; i < sizeof PLACES / sizeof *PLACES; i++)
        put_spot(b, PLACES[i], 0);
    assert_int_equal(sw_report_table_picture(&b->inspection, &b->photo, b->table, &b->err), SW_OK);
    assert_int_equal(sw_picture_table(&b->inspection, b->table, &p, &b->err), SW_OK);
    assert_true(fabs(p.west_mm + 162) < 1e-9 && fabs(p.north_mm - 162) < 1e-9); /* 12 mm round a table from -150 on */
    assert_true(p.width_px <= 1600 && p.height_px <= 1600 && (p.width_px > 1590 || p.height_px > 1590));
    for (size_t i = 0; i < sizeof PLACES / sizeof *PLACES; i++) {
        double x = (PLACES[i].x - p.west_mm) * p.px_per_mm, y = (p.north_mm - PLACES[i].y) * p.px_per_mm;
        is_near(spot_in(b->table, x, y, 9), x, y);
    }
}

/* 8 mm to the east of an upright seam (A1-B1), 40 mm from its north end; and to the west of it, 200 mm from there. */
static void beside_an_upright_seam_up_is_east(void **state)
{
    bench *b = *state;
    const sw_seam *seam = &b->inspection.seams[UPRIGHT];
    sw_picture p;
    put_spot(b, (sw_point){seam->start_mm.x + 8, seam->start_mm.y - 40}, 0);
    put_spot(b, (sw_point){seam->start_mm.x - 8, seam->start_mm.y - 200}, 0);
    assert_int_equal(sw_report_seams_picture(&b->inspection, &b->photo, b->seams, &b->err), SW_OK);
    assert_int_equal(sw_picture_seams(&b->inspection, b->seams, &p, &b->err), SW_OK);
    double middle = (UPRIGHT + 0.5) * p.strip_px, x = (40 - p.from_mm) * p.px_per_mm, y = middle - 8 * p.px_per_mm;
    is_near(spot_in(b->seams, x, y, 5), x, y);
    x = (200 - p.from_mm) * p.px_per_mm;
    y = middle + 8 * p.px_per_mm;
    is_near(spot_in(b->seams, x, y, 5), x, y);
}

static void beside_a_level_seam_up_is_north(void **state)
{
    bench *b = *state;
    const sw_seam *seam = &b->inspection.seams[LEVEL];
    sw_picture p;
    put_spot(b, (sw_point){seam->start_mm.x + 60, seam->start_mm.y + 7}, 0);
    put_spot(b, (sw_point){seam->start_mm.x + 250, seam->start_mm.y - 7}, 0);
    assert_int_equal(sw_report_seams_picture(&b->inspection, &b->photo, b->seams, &b->err), SW_OK);
    assert_int_equal(sw_picture_seams(&b->inspection, b->seams, &p, &b->err), SW_OK);
    double middle = (LEVEL + 0.5) * p.strip_px, x = (60 - p.from_mm) * p.px_per_mm, y = middle - 7 * p.px_per_mm;
    is_near(spot_in(b->seams, x, y, 5), x, y);
    x = (250 - p.from_mm) * p.px_per_mm;
    y = middle + 7 * p.px_per_mm;
    is_near(spot_in(b->seams, x, y, 5), x, y);
}

/* C1 stands 20 mm above the others: what lies on it is where it was measured all the same, in both pictures. */
static void a_raised_top_is_in_its_place(void **state)
{
    bench *b = *state;
    const sw_seam *seam = &b->inspection.seams[FIXTURE_CHIPPED]; /* B1-C1 */
    const sw_point on_c1 = {seam->start_mm.x + 8, seam->start_mm.y - 60}, on_b1 = {on_c1.x - 16, on_c1.y};
    sw_picture p;
    b->inspection.tiles[2].rise_mm = 20;
    put_spot(b, on_b1, 0);
    put_spot(b, on_c1, 20);
    assert_int_equal(sw_report_seams_picture(&b->inspection, &b->photo, b->seams, &b->err), SW_OK);
    assert_int_equal(sw_picture_seams(&b->inspection, b->seams, &p, &b->err), SW_OK);
    double middle = (FIXTURE_CHIPPED + 0.5) * p.strip_px, x = (60 - p.from_mm) * p.px_per_mm;
    is_near(spot_in(b->seams, x, middle - 8 * p.px_per_mm, 5), x, middle - 8 * p.px_per_mm);
    is_near(spot_in(b->seams, x, middle + 8 * p.px_per_mm, 5), x, middle + 8 * p.px_per_mm);
}

static json_t *data_of(const char *path, sw_picture_of of, const sw_inspection *inspection)
{
    json_t *data;
    sw_error err = {""};
    if (sw_picture_data(path, of, inspection, &data, &err) != SW_OK)
        fail_msg("%s", err.text);
    return data;
}

static double number(const json_t *data, const char *key)
{
    assert_true(json_is_number(json_object_get(data, key)));
    return json_number_value(json_object_get(data, key));
}

static void the_geometry_comes_back(void **state)
{
    bench *b = *state;
    sw_picture p;
    assert_int_equal(sw_report_table_picture(&b->inspection, &b->photo, b->table, &b->err), SW_OK);
    assert_int_equal(sw_report_seams_picture(&b->inspection, &b->photo, b->seams, &b->err), SW_OK);
    json_t *table = data_of(b->table, SW_PICTURE_TABLE, &b->inspection),
           *seams = data_of(b->seams, SW_PICTURE_SEAMS, &b->inspection);
    assert_int_equal(strncmp(json_string_value(json_object_get(table, "src")), "data:image/jpeg;base64,/9j/", 27), 0);
    sw_picture_table(&b->inspection, "", &p, NULL);
    assert_true(number(table, "width_px") == p.width_px && number(table, "height_px") == p.height_px);
    assert_true(fabs(number(table, "west_mm") - p.west_mm) < 1e-4 &&
                fabs(number(table, "north_mm") - p.north_mm) < 1e-4);
    assert_true(fabs(number(table, "px_per_mm") - p.px_per_mm) < 1e-9);
    sw_picture_seams(&b->inspection, "", &p, NULL);
    assert_true(number(seams, "height_px") == p.strip_px * FIXTURE_SEAMS && number(seams, "strip_px") == p.strip_px);
    assert_true(number(seams, "width_px") == p.width_px && number(seams, "from_mm") == -6);
    assert_true(number(seams, "px_per_mm") == 1.5); /* the photo's 1.09, to the next half */
    assert_true(number(seams, "across_mm") == p.strip_px / 1.5);
    json_decref(table);
    json_decref(seams);
}

static void is_none(const char *path, sw_picture_of of, const sw_inspection *inspection)
{
    json_t *data = data_of(path, of, inspection);
    assert_true(json_is_null(data));
    json_decref(data);
}

/* Missing, of the other kind, of another inspection, cut short, with a comment that was changed, no picture at all. */
static void what_is_no_picture_of_it_is_none(void **state)
{
    bench *b = *state;
    sw_inspection other;
    size_t length;
    is_none(NULL, SW_PICTURE_TABLE, &b->inspection);
    is_none(b->table, SW_PICTURE_TABLE, &b->inspection);
    is_none(b->folder, SW_PICTURE_TABLE, &b->inspection);
    assert_int_equal(sw_report_seams_picture(&b->inspection, &b->photo, b->seams, &b->err), SW_OK);
    is_none(b->seams, SW_PICTURE_TABLE, &b->inspection);
    fixture_all_within(&other);
    is_none(b->seams, SW_PICTURE_SEAMS, &other);
    sw_inspection_free(&other);
    char *bytes = fixture_read(b->folder, "seams.jpg", &length);
    static const char *const lies[][2] = {{"\"strip_px\":", "\"strip_pX\":"},
                                          {"\"px_per_mm\":1.5", "\"px_per_mm\":-.5"},
                                          {"\"from_mm\":-6.0", "\"from_mm\":null"},
                                          {"\"width_px\":4", "\"width_px\":5"},
                                          {"{\"format\"", "[\"format\""}};
    for (size_t i = 0; i < sizeof lies / sizeof *lies; i++) {
        char *at = memmem(bytes, length, lies[i][0], strlen(lies[i][0]));
        assert_non_null(at);
        memcpy(at, lies[i][1], strlen(lies[i][0]));
        FILE *file = fopen(b->seams, "wb");
        fwrite(bytes, 1, length, file);
        fclose(file);
        is_none(b->seams, SW_PICTURE_SEAMS, &b->inspection);
        memcpy(at, lies[i][0], strlen(lies[i][0]));
    }
    FILE *file = fopen(b->seams, "wb");
    fwrite(bytes, 1, length - 1, file);
    fclose(file);
    is_none(b->seams, SW_PICTURE_SEAMS, &b->inspection);
    free(bytes);
    put_file(b->folder, "seams.jpg", "no picture at all");
    is_none(b->seams, SW_PICTURE_SEAMS, &b->inspection);
}

/* 26 x 30 tiles: the strips of all 1504 seams stay within what a browser draws, and 3 million pixels. */
static void many_seams_are_drawn_coarser(void **state)
{
    bench *b = *state;
    sw_inspection many = b->inspection;
    sw_picture p;
    many.seam_count = 1504;
    many.seams = calloc(many.seam_count, sizeof *many.seams);
    for (size_t i = 0; i < many.seam_count; i++)
        many.seams[i] = b->inspection.seams[i % FIXTURE_SEAMS];
    assert_int_equal(sw_picture_seams(&many, "", &p, NULL), SW_OK);
    assert_true(p.height_px <= 34000 && (double)p.width_px * p.height_px <= 3.6e6);
    assert_int_equal(p.height_px, p.strip_px * 1504);
    free(many.seams);
}

static void what_cannot_be_written_is_said(void **state)
{
    bench *b = *state;
    assert_int_equal(sw_report_table_picture(&b->inspection, &b->photo, "/dev/full", &b->err), SW_CANNOT_WRITE);
    assert_int_equal(sw_report_seams_picture(&b->inspection, &b->photo, "/no such/seams.jpg", &b->err),
                     SW_CANNOT_WRITE);
    assert_int_equal(sw_report_seams_picture(&b->inspection, NULL, b->seams, &b->err), SW_BAD_INPUT);
    sw_inspection none = b->inspection;
    none.seam_count = 0;
    assert_int_equal(sw_report_seams_picture(&none, &b->photo, b->seams, &b->err), SW_BAD_INPUT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_place_of_the_table_is_where_the_picture_says, set_up, tear_down),
        cmocka_unit_test_setup_teardown(beside_an_upright_seam_up_is_east, set_up, tear_down),
        cmocka_unit_test_setup_teardown(beside_a_level_seam_up_is_north, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_raised_top_is_in_its_place, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_geometry_comes_back, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_no_picture_of_it_is_none, set_up, tear_down),
        cmocka_unit_test_setup_teardown(many_seams_are_drawn_coarser, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_cannot_be_written_is_said, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
