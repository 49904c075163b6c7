/* The overlay read back as a picture: size, colours and places worked out by hand from the made-up table.
 *
 * The fixture's corners lie at -150 and 752 mm both ways (north is +150), the margin is 25 mm, so 952 mm are 1800 px:
 * 1.8908 px/mm, x = (mm + 175) 1.8908, y = (175 - mm) 1.8908. Its widest gap, 3.16 mm, is drawn 5 times as wide. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cairo.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/fixture.h"

static const double PX_PER_MM = 1800.0 / 952;

typedef struct colour {
    int red, green, blue;
} colour;

typedef struct drawn {
    sw_inspection inspection;
    sw_photo photo;
    char folder[64], path[128];
    cairo_surface_t *picture;
} drawn;

static cairo_surface_t *draw(drawn *all, const sw_photo *photo)
{
    sw_error err = {""};
    sw_status status = sw_report_overlay(&all->inspection, photo, all->path, &err);
    if (status != SW_OK)
        fail_msg("%s", err.text);
    cairo_surface_t *picture = cairo_image_surface_create_from_png(all->path);
    assert_int_equal(cairo_surface_status(picture), CAIRO_STATUS_SUCCESS);
    return picture;
}

static int set_up(void **state)
{
    drawn *all = calloc(1, sizeof *all);
    fixture_inspection(&all->inspection);
    fixture_photo(&all->inspection, &all->photo);
    fixture_folder(all->folder);
    snprintf(all->path, sizeof all->path, "%s/overlay.png", all->folder);
    all->picture = draw(all, &all->photo);
    *state = all;
    return 0;
}

static int tear_down(void **state)
{
    drawn *all = *state;
    cairo_surface_destroy(all->picture);
    fixture_remove(all->folder);
    sw_photo_free(&all->photo);
    sw_inspection_free(&all->inspection);
    free(all);
    return 0;
}

static colour pixel(cairo_surface_t *picture, double x, double y)
{
    int column = (int)floor(x), row = (int)floor(y);
    assert_true(column >= 0 && column < cairo_image_surface_get_width(picture));
    assert_true(row >= 0 && row < cairo_image_surface_get_height(picture));
    const unsigned char *data = cairo_image_surface_get_data(picture);
    uint32_t word;
    memcpy(&word, data + (size_t)row * (size_t)cairo_image_surface_get_stride(picture) + (size_t)column * 4, 4);
    return (colour){word >> 16 & 255, word >> 8 & 255, word & 255};
}

static colour at_mm(cairo_surface_t *picture, double x_mm, double y_mm)
{
    return pixel(picture, (x_mm + 175) * PX_PER_MM, (175 - y_mm) * PX_PER_MM);
}

static int is_orange(colour c)
{
    return c.red > 190 && c.green > 40 && c.green < 130 && c.blue < 60;
}

static int is_blue(colour c)
{
    return c.blue > c.red + 40;
}

static int is_yellow_or_its_bars(colour c)
{
    return c.red > c.blue + 40 && c.green > c.blue + 20;
}

static int is_grey(colour c)
{
    return c.red == c.green && c.green == c.blue;
}

static void size_is_as_the_table_asks(void **state)
{
    drawn *all = *state;
    assert_int_equal(cairo_image_surface_get_width(all->picture), 1800);
    int legend = cairo_image_surface_get_height(all->picture) - 1800; /* 3x3: as high as wide, and the legend */
    assert_true(legend > 100 && legend < 400);
}

static void the_widest_seam_is_where_and_as_wide_as_it_should_be(void **state)
{
    drawn *all = *state;
    const sw_seam *seam = &all->inspection.seams[FIXTURE_WIDEST]; /* B2-C2: x 451.5 mm, from y -151 to -451 */
    assert_string_equal(seam->name, "B2-C2");
    double first = 0, last = 0, y_mm = -301;
    for (double x_mm = 440; x_mm <= 463; x_mm += 0.1)
        if (is_orange(at_mm(all->picture, x_mm, y_mm))) {
            last = x_mm;
            first = first == 0 ? x_mm : first;
        }
    /* 150 mm from its north end the gap is 2.90 + 0.03 sin(150 / 17) = 2.917 mm by the fixture's formula; the outline,
     * 2 px wide, hides 1 px of the filling at either side. */
    double expected = 2.917 * 5 - 2 / PX_PER_MM, middle = (first + last) / 2;
    assert_true(fabs(middle - 451.5) < 0.6);
    assert_true(fabs(last - first - expected) < 1.2);
    assert_true(is_grey(at_mm(all->picture, 440, y_mm)));
    assert_true(is_grey(at_mm(all->picture, 463, y_mm)));
}

/* Along a seam, the share of places where the picture passes the test, ends and the figure in the middle left out. */
static double share(cairo_surface_t *picture, const sw_seam *seam, int (*test)(colour))
{
    int hits = 0, all = 0;
    for (double at = 20; at < 280; at += 1) {
        if (at > 125 && at < 175)
            continue;
        double x = seam->upright ? seam->start_mm.x : seam->start_mm.x + at;
        double y = seam->upright ? seam->start_mm.y - at : seam->start_mm.y;
        hits += test(at_mm(picture, x, y)) != 0;
        all++;
    }
    return (double)hits / all;
}

static void every_verdict_has_its_look(void **state)
{
    drawn *all = *state;
    for (size_t i = 0; i < all->inspection.seam_count; i++) {
        const sw_seam *seam = &all->inspection.seams[i];
        if (i == FIXTURE_BLIND || i == FIXTURE_HALF_BLIND)
            continue;
        if (seam->verdict == SW_OVER)
            assert_true(share(all->picture, seam, is_orange) > 0.9);
        else if (seam->verdict == SW_WITHIN)
            assert_true(share(all->picture, seam, is_blue) > 0.9);
        else
            assert_true(share(all->picture, seam, is_yellow_or_its_bars) > 0.8);
    }
}

static void the_unseen_is_dotted_black_on_white(void **state)
{
    drawn *all = *state;
    const sw_seam *blind = &all->inspection.seams[FIXTURE_BLIND];
    assert_true(share(all->picture, blind, is_grey) > 0.95);
    int black = 0, white = 0;
    for (double at = 20; at < 120; at += 0.5) {
        colour c = at_mm(all->picture, blind->start_mm.x + at, blind->start_mm.y);
        black += c.red < 70;
        white += c.red > 240;
    }
    assert_true(black > 40 && white > 40);
}

static void the_worst_place_is_ringed(void **state)
{
    drawn *all = *state;
    const sw_seam *seam = &all->inspection.seams[FIXTURE_WIDEST];
    double radius = 0.95 * 34 / PX_PER_MM; /* 34 px text, the largest there is */
    double x = seam->start_mm.x, y = seam->start_mm.y - seam->max_at_mm;
    for (int i = 0; i < 12; i++) { /* a dark line all round, but for the leader to the figure */
        double turn = i * M_PI / 6;
        colour c = at_mm(all->picture, x + radius * cos(turn), y + radius * sin(turn));
        assert_true(c.red < 100 && c.green < 100 && c.blue < 100);
    }
}

/* Where the picture is dark on the way from (x, y), over 11 mm to the east or the south: the middle, in mm from there.
 */
static double dark_middle(cairo_surface_t *picture, double x_mm, double y_mm, int south)
{
    double weight = 0, sum = 0;
    for (double on = 0; on <= 11; on += 0.1) {
        double dark = fmax(0, 200 - at_mm(picture, x_mm + (south ? 0 : on), y_mm - (south ? on : 0)).red);
        weight += dark;
        sum += dark * on;
    }
    assert_true(weight > 0);
    return sum / weight;
}

/* Without seams drawn over it, the photo's own gaps must show as dark lines at their places, both ways: the grid and
 * the sampling. B2-C2 lies at x 451.5, C1-C2 at y -150.5. */
static void the_picture_lies_where_the_scale_says(void **state)
{
    drawn *all = *state;
    size_t count = all->inspection.seam_count;
    all->inspection.seam_count = 0;
    cairo_surface_t *bare = draw(all, &all->photo);
    all->inspection.seam_count = count;
    for (double along = 20; along < 290; along += 45) {
        assert_true(fabs(dark_middle(bare, 446, -151 - along, 0) - 5.5) < 0.5);
        assert_true(fabs(dark_middle(bare, 452 + along, -145, 1) - 5.5) < 0.5);
    }
    colour top = at_mm(bare, 100, 60), bench = at_mm(bare, 100, 165);
    assert_true(is_grey(top) && is_grey(bench) && top.red > bench.red + 60);
    cairo_surface_destroy(bare);
}

static void sixteen_bits_give_the_same_picture(void **state)
{
    drawn *all = *state;
    sw_photo deep = all->photo;
    size_t count = (size_t)deep.width_px * (size_t)deep.height_px;
    deep.bits = 16;
    deep.luma8 = NULL;
    deep.luma16 = malloc(count * sizeof *deep.luma16);
    for (size_t i = 0; i < count; i++)
        deep.luma16[i] = (uint16_t)(all->photo.luma8[i] * 257);
    cairo_surface_t *picture = draw(all, &deep);
    for (double y = 2; y < 1800; y += 7)
        for (double x = 2; x < 1800; x += 7)
            assert_true(abs(pixel(picture, x, y).red - pixel(all->picture, x, y).red) <= 5); /* one of 64 greys */
    cairo_surface_destroy(picture);
    free(deep.luma16);
}

static void a_place_outside_the_photo_is_paper(void **state)
{
    drawn *all = *state;
    all->inspection.scale.lens.cx -= 700; /* moves the table's west part out of the photo */
    cairo_surface_t *picture = draw(all, &all->photo);
    all->inspection.scale.lens.cx += 700;
    colour c = at_mm(picture, -20, -100);
    assert_true(c.red == 255 && c.green == 255 && c.blue == 255);
    cairo_surface_destroy(picture);
}

static void failures_say_what_is_wrong(void **state)
{
    drawn *all = *state;
    sw_error err = {""};
    sw_inspection nothing;
    memset(&nothing, 0, sizeof nothing);
    unlink(all->path);
    assert_int_equal(sw_report_overlay(&all->inspection, NULL, all->path, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "needs the photo"));
    assert_int_equal(sw_report_overlay(&nothing, &all->photo, all->path, &err), SW_BAD_INPUT);
    assert_int_not_equal(access(all->path, F_OK), 0);
    assert_int_equal(sw_report_overlay(&all->inspection, &all->photo, "/dev/full", &err), SW_CANNOT_WRITE);
    assert_int_equal(sw_report_overlay(&all->inspection, &all->photo, "/no such folder/overlay.png", NULL),
                     SW_CANNOT_WRITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(size_is_as_the_table_asks),
        cmocka_unit_test(the_widest_seam_is_where_and_as_wide_as_it_should_be),
        cmocka_unit_test(every_verdict_has_its_look),
        cmocka_unit_test(the_unseen_is_dotted_black_on_white),
        cmocka_unit_test(the_worst_place_is_ringed),
        cmocka_unit_test(the_picture_lies_where_the_scale_says),
        cmocka_unit_test(sixteen_bits_give_the_same_picture),
        cmocka_unit_test(a_place_outside_the_photo_is_paper),
        cmocka_unit_test(failures_say_what_is_wrong),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down); /* drawn once; each test leaves it as it was */
}
