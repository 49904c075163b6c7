/* Dark quadrilaterals of the reduced picture: what is found, where, in which order, and what is none. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "scale/squares.h"
#include "support/draw.h"

enum { WINDOW_PX = 70 };
static const double PI = 3.14159265358979323846;

static int find(const drawing *d, int orientation, sw_quad *quads, int *factor)
{
    sw_photo photo;
    sw_small small;
    draw_develop(d, &(draw_camera){.noise = 0.004, .bits = 8}, &photo);
    photo.orientation = orientation;
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    int count;
    assert_int_equal(sw_quads_find(&photo, &small, WINDOW_PX, quads, &count), SW_OK);
    *factor = small.factor;
    sw_small_free(&small);
    sw_photo_free(&photo);
    return count;
}

/* Corners in order, each within two pixels of the reduced picture. */
static void expect_corners(const sw_quad *quad, const sw_point *want, int factor)
{
    for (int c = 0; c < 4; c++)
        if (!(hypot(quad->corners[c].x - want[c].x, quad->corners[c].y - want[c].y) < 2 * factor))
            fail_msg("corner %d at %.1f, %.1f instead of %.1f, %.1f", c, quad->corners[c].x, quad->corners[c].y,
                     want[c].x, want[c].y);
}

/* Four frames of falling size at different turns, seen slantwise: all found, largest first, corners NW NE SE SW. */
static void frames_largest_first(void **state)
{
    (void)state;
    static const draw_card cards[] = {{{-200, 150}, 0.1, 140, 84, 12, 0},
                                      {{210, 160}, -0.3, 120, 72, 12, 0},
                                      {{-190, -160}, 0.5, 100, 60, 12, 0},
                                      {{200, -150}, 0, 80, 48, 12, 0}};
    draw_view view = draw_from(2400, 2000, 3000, (double[]){60, -180, 1000}, (sw_point){0, 0});
    drawing d = draw_start(&view, DRAW_TOP);
    sw_quad quads[SW_SQUARES_MAX];
    int factor;
    for (int i = 0; i < 4; i++)
        draw_put_card(&d, &cards[i]);
    draw_blur(&d, 0.8);
    assert_int_equal(find(&d, 1, quads, &factor), 4);
    for (int i = 0; i < 4; i++) {
        sw_point want[4];
        double side = 0;
        draw_card_corners(&view, &cards[i], want);
        for (int c = 0; c < 4; c++)
            side += hypot(want[c].x - want[(c + 1) % 4].x, want[c].y - want[(c + 1) % 4].y) / 4;
        expect_corners(&quads[i], want, factor);
        expect_near("size", quads[i].size_px, side, 2 * factor);
        expect_near("dark share of a frame 100/60", quads[i].dark_share, 1 - 0.6 * 0.6, 0.05);
    }
    draw_free(&d);
}

static void plain_squares_are_all_dark(void **state)
{
    (void)state;
    draw_view view = draw_above(1600, 1600, 3, 0.2);
    drawing d = draw_start(&view, DRAW_TOP);
    sw_quad quads[SW_SQUARES_MAX];
    int factor;
    draw_put_card(&d, &(draw_card){{0, 0}, 0.3, 100, 0, 15, 0});
    draw_blur(&d, 0.8);
    assert_int_equal(find(&d, 1, quads, &factor), 1);
    expect_near("dark share of a plain square", quads[0].dark_share, 1, 0.05);
    draw_free(&d);
}

/* The corner called NW is the one at the top left of the photo as it is shown, whichever way the camera was held. */
static void corners_follow_the_orientation_tag(void **state)
{
    (void)state;
    draw_view view = draw_above(1500, 1200, 3, 0);
    drawing d = draw_start(&view, DRAW_TOP);
    draw_card card = {{40, 30}, 0.15, 100, 60, 12, 0};
    sw_quad quads[SW_SQUARES_MAX];
    int factor;
    draw_put_card(&d, &card);
    for (int orientation = 1; orientation <= 8; orientation++) {
        assert_int_equal(find(&d, orientation, quads, &factor), 1);
        sw_photo tag = {.width_px = 1500, .height_px = 1200, .orientation = orientation};
        sw_point at[4], middle = {0, 0};
        for (int c = 0; c < 4; c++) {
            at[c] = sw_photo_show(&tag, quads[0].corners[c]);
            middle.x += at[c].x / 4;
            middle.y += at[c].y / 4;
        }
        static const int right[] = {0, 1, 1, 0}, below[] = {0, 0, 1, 1};
        for (int c = 0; c < 4; c++) {
            assert_int_equal(at[c].x > middle.x, right[c]);
            assert_int_equal(at[c].y > middle.y, below[c]);
        }
    }
    draw_free(&d);
}

/* No quadrilateral of about equal sides among them. */
static void other_dark_things_are_none(void **state)
{
    (void)state;
    draw_view view = draw_above(1600, 1200, 3, 0);
    drawing d = draw_start(&view, DRAW_TOP);
    sw_quad quads[SW_SQUARES_MAX];
    int factor;
    assert_int_equal(find(&d, 1, quads, &factor), 0);
    draw_polygon(&d, (sw_point[]){{-200, 100}, {-100, 100}, {-150, 180}}, 3, DRAW_BLACK); /* a triangle */
    draw_box(&d, (sw_point){0, 130}, 150, 40, 0.2, DRAW_BLACK);                           /* a ruler */
    draw_box(&d, (sw_point){0, 0}, 400, 2, 0, DRAW_BLACK);                                /* a seam */
    sw_point disc[24];
    for (int i = 0; i < 24; i++)
        disc[i] = (sw_point){150 + 50 * cos(2 * PI * i / 24), -100 + 50 * sin(2 * PI * i / 24)};
    draw_polygon(&d, disc, 24, DRAW_BLACK);
    draw_box(&d, (sw_point){-150, -100}, 5, 5, 0.2, DRAW_BLACK); /* a speck */
    assert_int_equal(find(&d, 1, quads, &factor), 0);
    draw_free(&d);
}

/* More squares than there is room for: the largest stay, in order, whichever way they come and whatever lay in the room
 * before. */
static void room_for_the_largest_only(void **state)
{
    (void)state;
    enum { ACROSS = 7, DOWN = 6, ALL = ACROSS * DOWN };
    draw_view view = draw_above(1900, 1700, 3, 0);
    for (int growing = 0; growing < 2; growing++) {
        drawing d = draw_start(&view, DRAW_WHITE);
        sw_quad quads[SW_SQUARES_MAX];
        int factor;
        for (int i = 0; i < SW_SQUARES_MAX; i++)
            quads[i].size_px = 1e9;
        for (int i = 0; i < ALL; i++) {
            sw_point at = {-240 + 80.0 * (i % ACROSS), -200 + 80.0 * (i / ACROSS)};
            double side = 20 + 1.1 * (growing ? ALL - 1 - i : i);
            draw_box(&d, at, side, side, 0.1, DRAW_BLACK);
        }
        assert_int_equal(find(&d, 1, quads, &factor), SW_SQUARES_MAX);
        for (int i = 0; i < SW_SQUARES_MAX; i++)
            expect_near("size in order", quads[i].size_px, 3 * (20 + 1.1 * (ALL - 1 - i)), 3.2);
        draw_free(&d);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_largest_first),
        cmocka_unit_test(plain_squares_are_all_dark),
        cmocka_unit_test(corners_follow_the_orientation_tag),
        cmocka_unit_test(other_dark_things_are_none),
        cmocka_unit_test(room_for_the_largest_only),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
