/* Noise that is gone from even faces but not from beside their edges is a filter's work; noise that is alike everywhere, or nowhere, is not. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "scale/smoothed.h"
#include "support/draw.h"

enum { PHOTO_PX = 700, ALIKE_LEVELS = 16, REACH = 4 };

static draw_view above(void)
{
    return draw_above(PHOTO_PX, PHOTO_PX, 4.5, 0);
}

/* A frame's photo with this noise, share of the light. */
static sw_photo photo_of_a_frame(double noise, sw_sighting *s)
{
    const draw_camera camera = {.noise = noise, .bits = 8, .seed = 11};
    draw_view view = above();
    draw_card card = {{0.3, 0.2}, 0.13, 100, 60, 12, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_point outer[4], inner[4];
    draw_put_card(&d, &card);
    draw_blur(&d, 0.7);
    draw_develop(&d, &camera, &photo);
    draw_card_corners(&view, &card, outer);
    card.outer_mm = card.inner_mm;
    draw_card_corners(&view, &card, inner);
    memset(s, 0, sizeof *s);
    s->rim_count = 2;
    s->quad.size_px = hypot(outer[1].x - outer[0].x, outer[1].y - outer[0].y);
    assert_int_equal(sw_sides_read(&photo, NULL, outer, true, 10, &s->rims[0], NULL), 4);
    assert_int_equal(sw_sides_read(&photo, NULL, inner, false, 10, &s->rims[1], NULL), 4);
    draw_free(&d);
    return photo;
}

/* Each value becomes the mean of those about it that differ by little: what is even is smoothed, edges stay. */
static void keep_edges(sw_photo *photo)
{
    size_t width = (size_t)photo->width_px, size = width * (size_t)photo->height_px;
    uint8_t *in = draw_room(size, 1);
    memcpy(in, photo->luma8, size);
    for (int y = REACH; y + REACH < photo->height_px; y++)
        for (int x = REACH; x + REACH < photo->width_px; x++) {
            size_t at = (size_t)y * width + (size_t)x;
            double sum = 0, n = 0;
            for (int dy = -REACH; dy <= REACH; dy++)
                for (int dx = -REACH; dx <= REACH; dx++) {
                    int value = in[(size_t)(y + dy) * width + (size_t)(x + dx)];
                    if (abs(value - in[at]) > ALIKE_LEVELS)
                        continue;
                    sum += value;
                    n++;
                }
            photo->luma8[at] = (uint8_t)lround(sum / n);
        }
    free(in);
}

static sw_flat_noise noise_of(double noise, bool filtered)
{
    sw_sighting s;
    sw_photo photo = photo_of_a_frame(noise, &s);
    if (filtered)
        keep_edges(&photo);
    sw_flat_noise got = sw_flat_noise_read(&photo, &s, 1);
    sw_photo_free(&photo);
    return got;
}

/* Of white noise the second differences tell its own standard deviation: a share of the light is levels by the slope of the curve, on paper of 0.8 and print of
 * 0.04 of it about 0.4 and 0.2 of the share times 255. */
static void a_cameras_noise_is_no_filter(void **state)
{
    (void)state;
    sw_flat_noise some = noise_of(0.01, false), more = noise_of(0.02, false), none = noise_of(0, false);
    assert_true(some.far > 0.6 && some.far < 1.4);
    assert_true(more.far > 1.7 * some.far && more.far < 2.2 * some.far);
    expect_near("alike", some.near / some.far, 1, 0.15);
    expect_near("a gap's", sw_smoothed_u_px(&some, 4), 0, 1e-12);
    expect_near("a drawing's", sw_smoothed_u_px(&none, 0), 0, 1e-12);
}

static void a_filter_that_keeps_edges_shows(void **state)
{
    (void)state;
    sw_flat_noise got = noise_of(0.01, true);
    assert_true(got.far < 0.3);
    assert_true(got.near > 0); /* how much is left there is the filter's affair */
    const sw_flat_noise smooth = {.far = 0.2, .near = 0.45};
    assert_true(sw_smoothed_u_px(&smooth, 0) > 0.05);
    assert_true(sw_smoothed_u_px(&smooth, 6) > 0.05);
}

static void what_compression_may_have_done_is_not_held_against_it(void **state)
{
    (void)state;
    const sw_flat_noise smooth = {.far = 0.2, .near = 0.45}, even = {.far = 0.2, .near = 0.22},
                        usual = {.far = 0.5, .near = 0.9}, unread = {NAN, NAN};
    expect_near("coarse", sw_smoothed_u_px(&smooth, 14), 0, 1e-12);
    expect_near("even", sw_smoothed_u_px(&even, 4), 0, 1e-12);
    expect_near("usual", sw_smoothed_u_px(&usual, 4), 0, 1e-12);
    expect_near("unread", sw_smoothed_u_px(&unread, 4), 0, 1e-12);
}

static void strong_ones_are_refused(void **state)
{
    (void)state;
    const sw_flat_noise smooth = {.far = 0.2, .near = 0.45}, usual = {.far = 0.7, .near = 0.9};
    sw_error err;
    assert_int_equal(sw_smoothed_refuse(&smooth, 4, 0.01, "photo.jpg", &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "photo.jpg"));
    assert_non_null(strstr(err.text, "noise reduction off"));
    assert_int_equal(sw_smoothed_refuse(&smooth, 4, 0.005, "photo.jpg", &err), SW_OK);
    assert_int_equal(sw_smoothed_refuse(&usual, 4, 0.01, "photo.jpg", &err), SW_OK);
    assert_int_equal(sw_smoothed_refuse(&smooth, 14, 0.01, "photo.jpg", &err), SW_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cameras_noise_is_no_filter),
        cmocka_unit_test(a_filter_that_keeps_edges_shows),
        cmocka_unit_test(what_compression_may_have_done_is_not_held_against_it),
        cmocka_unit_test(strong_ones_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
