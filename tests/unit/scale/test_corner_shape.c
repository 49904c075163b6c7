/* Corners tell what edges cannot: linear blur and sharpening leave none of it, a median rounds them, a shake along a diagonal shows with its sign. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"
#include "scale/levels.h"
#include "scale/processed.h"
#include "support/draw.h"

/* Two frame cards from a slant, one of them turned. */
static drawing two_cards(const draw_view *view, draw_card cards[2])
{
    drawing d = draw_start(view, DRAW_TOP);
    cards[0] = (draw_card){.centre = {-70, 10}, .turn_rad = 0.05, .outer_mm = 100, .inner_mm = 60, .margin_mm = 15};
    cards[1] = (draw_card){.centre = {75, -20}, .turn_rad = -0.2, .outer_mm = 100, .inner_mm = 60, .margin_mm = 15};
    for (int i = 0; i < 2; i++)
        draw_put_card(&d, &cards[i]);
    return d;
}

static draw_view slanted(void)
{
    return draw_from(900, 600, 3000, (double[]){-100, -250, 900}, (sw_point){0, 0});
}

/* What the cards' sides tell of a photo, as sw_scale_find reads them. */
typedef struct looked {
    sw_sighting cards[2];
    sw_response response;
    sw_corner_shape shape;
} looked;

static looked look(const sw_photo *photo, const draw_view *view, const draw_card cards[2])
{
    looked l;
    sw_esf esf;
    memset(&l, 0, sizeof l);
    memset(&esf, 0, sizeof esf);
    for (int again = 0; again < 2; again++) {
        for (int i = 0; i < 2; i++) {
            sw_point outer[4], inner[4];
            draw_card small = cards[i];
            small.outer_mm = cards[i].inner_mm;
            draw_card_corners(view, &cards[i], outer);
            draw_card_corners(view, &small, inner);
            l.cards[i].rim_count = 2;
            l.cards[i].quad.size_px = hypot(outer[1].x - outer[0].x, outer[1].y - outer[0].y);
            const sw_response *known = again ? &l.response : NULL;
            assert_int_equal(sw_sides_read(photo, known, outer, true, 10, &l.cards[i].rims[0], again ? NULL : &esf), 4);
            assert_int_equal(sw_sides_read(photo, known, inner, false, 10, &l.cards[i].rims[1], again ? NULL : &esf),
                             4);
        }
        if (!again)
            l.response = sw_response_fit(&esf, true);
    }
    assert_int_equal(sw_corner_shape_read(photo, &l.response, &esf, l.cards, 2, &l.shape), SW_OK);
    assert_int_equal(l.shape.count, 4);
    return l;
}

static void linear_work_rounds_nothing(void **state)
{
    (void)state;
    static const draw_camera cameras[] = {{.noise = 0.004, .bits = 8, .seed = 3},
                                          {.noise = 0.02, .bits = 8, .seed = 4},
                                          {.noise = 0.004, .sharpen = 1.5, .radius_px = 1, .bits = 8, .seed = 5},
                                          {.noise = 0.004, .sharpen = 0.4, .radius_px = 1.3, .bits = 16, .seed = 6}};
    draw_view view = slanted();
    for (int k = 0; k < 4; k++)
        for (double blur = 0.6; blur < 1.7; blur += 0.5) {
            draw_card cards[2];
            drawing d = two_cards(&view, cards);
            sw_photo photo;
            sw_error err;
            draw_blur(&d, blur);
            draw_develop(&d, &cameras[k], &photo);
            looked l = look(&photo, &view, cards);
            expect_near("rounding", l.shape.rounding, 0, 0.02);
            expect_near("slant", l.shape.slant, 0, 0.1);
            expect_near("a gap's", sw_filter_u_px(&l.shape, 0), 0, 1e-12);
            assert_int_equal(sw_filter_refuse(&l.shape, "photo.jpg", &err), SW_OK);
            expect_near("paper", sw_paper_unevenness(&photo, l.cards, 2), 0, 0.02);
            expect_near("haze", sw_haze(l.cards, 2), 0, 1e-12);
            sw_photo_free(&photo);
            draw_free(&d);
        }
}

static unsigned at(const sw_photo *photo, int x, int y)
{
    x = x < 0 ? 0 : x >= photo->width_px ? photo->width_px - 1 : x;
    y = y < 0 ? 0 : y >= photo->height_px ? photo->height_px - 1 : y;
    return sw_photo_at(photo, x, y);
}

/* Replaces every value by the median, or the mean along a diagonal, of its neighbours. */
static void filter(sw_photo *photo, int reach, bool shake)
{
    size_t size = (size_t)photo->width_px * (size_t)photo->height_px;
    uint8_t *out = draw_room(size, 1);
    for (int y = 0; y < photo->height_px; y++)
        for (int x = 0; x < photo->width_px; x++) {
            double v[128], light = 0, taps = 2 * reach + 1;
            size_t n = 0;
            for (int dy = -reach; dy <= reach; dy++) {
                light += (double)photo->linear[at(photo, x + dy, y + dy)] / taps;
                for (int dx = -reach; dx <= reach; dx++)
                    v[n++] = at(photo, x + dx, y + dy);
            }
            double value = sw_median(v, n);
            if (shake) {
                int low = 0;
                while (low < 255 && photo->linear[low] < light)
                    low++;
                value = low;
            }
            out[(size_t)y * (size_t)photo->width_px + (size_t)x] = (uint8_t)value;
        }
    memcpy(photo->luma8, out, size);
    free(out);
}

static looked filtered(int reach, bool shake)
{
    static const draw_camera camera = {.noise = 0.004, .bits = 8, .seed = 7};
    draw_view view = slanted();
    draw_card cards[2];
    drawing d = two_cards(&view, cards);
    sw_photo photo;
    draw_blur(&d, 0.7);
    draw_develop(&d, &camera, &photo);
    filter(&photo, reach, shake);
    looked l = look(&photo, &view, cards);
    sw_photo_free(&photo);
    draw_free(&d);
    return l;
}

static void a_median_rounds_corners(void **state)
{
    (void)state;
    sw_error err;
    looked little = filtered(1, false), much = filtered(2, false);
    assert_true(little.shape.rounding > 0.05 && little.shape.rounding < 0.12);
    assert_true(sw_filter_u_px(&little.shape, 0) > 0.05);
    assert_int_equal(sw_filter_refuse(&little.shape, "photo.jpg", &err), SW_OK);
    assert_true(much.shape.rounding > 0.14);
    assert_int_equal(sw_filter_refuse(&much.shape, "photo.jpg", &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "noise reduction"));
    assert_non_null(strstr(err.text, "photo.jpg"));
}

/* A mean over three pixels of a diagonal: a variance of 2/3 px^2 along x, y and both, so a correlation of 0.67 / (0.67 + 0.49 and the pixel's
 * 0.08) = 0.54. */
static void a_shake_along_a_diagonal_shows(void **state)
{
    (void)state;
    looked l = filtered(1, true);
    expect_near("slant", l.shape.slant, 0.54, 0.1);
    expect_near("rounding", l.shape.rounding, 0, 0.02);
    assert_true(sw_slant_u_rel(&l.shape) > 0.03);
    assert_true(sw_slant_u_rel(&(sw_corner_shape){.slant = 0.3, .slant_u = 0.2}) == 0);
    assert_true(sw_slant_u_rel(&(sw_corner_shape){.slant = -0.3, .slant_u = 0.02}) > 0);
}

/* Light that lies over everything lifts the black. */
static void haze_is_what_black_has_too_much(void **state)
{
    (void)state;
    sw_sighting cards[3];
    memset(cards, 0, sizeof cards);
    cards[0].rims[0].dark = 0.03;
    cards[0].rims[0].bright = 0.6;
    expect_near("none", sw_haze(cards, 1), 0, 1e-12);
    cards[1].rims[0].dark = 0.08 * 0.6 + 0.1;
    cards[1].rims[0].bright = 0.7;
    expect_near("the most", sw_haze(cards, 2), 0.1, 1e-12);
    cards[2].rims[0].dark = 0.4; /* a cut card's tile is no black */
    cards[2].rims[0].bright = 0.7;
    cards[2].light = true;
    expect_near("printed ones only", sw_haze(cards, 3), 0.1, 1e-12);
}

/* Paper lightened beside the black, as local tone mapping does it, and a photo rounded to few levels. */
static void levels_that_were_changed_show(void **state)
{
    (void)state;
    static const draw_camera camera = {.noise = 0.01, .bits = 8, .seed = 8};
    draw_view view = slanted();
    draw_card cards[2];
    drawing d = two_cards(&view, cards);
    sw_photo photo;
    for (int i = 0; i < 2; i++)
        draw_box(&d, cards[i].centre, 20, 20, cards[i].turn_rad, 0.75 * DRAW_WHITE);
    draw_blur(&d, 0.7);
    draw_develop(&d, &camera, &photo);
    looked l = look(&photo, &view, cards);
    expect_near("paper", sw_paper_unevenness(&photo, l.cards, 2), log(1 / 0.75), 0.02);
    assert_true(sw_levels_jaggedness(&photo) < 0.06);
    for (int i = 0; i < photo.width_px * photo.height_px; i++) /* light that falls off to one side */
        photo.luma8[i] = (uint8_t)(40 + i % photo.width_px * 180 / photo.width_px);
    assert_true(sw_levels_jaggedness(&photo) < 0.06);
    for (int i = 0; i < photo.width_px * photo.height_px; i++)
        photo.luma8[i] = (uint8_t)(photo.luma8[i] / 10 * 10);
    assert_true(sw_levels_jaggedness(&photo) > 0.5);
    expect_near("clean", sw_levels_u_px(0.03, 0.06), 0, 1e-12);
    assert_true(sw_levels_u_px(0.3, 0.1) > 0.08);
    assert_true(sw_levels_u_px(0, 0.3) > 0.05);
    sw_photo_free(&photo);
    draw_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(linear_work_rounds_nothing),     cmocka_unit_test(a_median_rounds_corners),
        cmocka_unit_test(a_shake_along_a_diagonal_shows), cmocka_unit_test(haze_is_what_black_has_too_much),
        cmocka_unit_test(levels_that_were_changed_show),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
