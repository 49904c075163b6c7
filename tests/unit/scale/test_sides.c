/* Sides and corners of drawn squares: the crossings' places against where the ink was put. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "scale/squares.h"
#include "seamwright/table.h"
#include "support/draw.h"

/* What the corner of a square is wanted to: a hundredth of a pixel is what fitting four sides can reach (method notes:
 * 0.007 px on renders); this allows for 8 bits and noise. */
static const double CORNER_PX = 0.02;

static double worst_corner(const sw_rim_square *rim, const sw_point *want)
{
    sw_point got[4];
    double worst = 0;
    assert_int_equal(sw_sides_corners(rim, got), 0);
    for (int c = 0; c < 4; c++)
        worst = fmax(worst, hypot(got[c].x - want[c].x, got[c].y - want[c].y));
    return worst;
}

/* Reads outer and inner rim from corners that are a pixel or two off, as those of the reduced picture are, and checks
 * them. */
static void check_card(const drawing *d, const draw_card *card, const draw_camera *camera, const sw_response *response)
{
    sw_photo photo;
    sw_rim_square outer, inner;
    sw_point want[4], start[4];
    uint32_t seed = 3;
    draw_develop(d, camera, &photo);
    draw_card_corners(&d->view, card, want);
    for (int c = 0; c < 4; c++)
        start[c] = (sw_point){want[c].x + between(&seed, -1.5, 1.5), want[c].y + between(&seed, -1.5, 1.5)};
    assert_int_equal(sw_sides_read(&photo, response, start, 1, 10, &outer, NULL), 4);
    assert_int_equal(sw_sides_corners(&outer, start), 0);
    assert_int_equal(sw_sides_read(&photo, response, start, 1, 10, &outer, NULL), 4);
    double off = worst_corner(&outer, want);
    if (!(off < CORNER_PX))
        fail_msg("outer corner is off by %.4f px (turn %g)", off, card->turn_rad);
    for (int s = 0; s < 4; s++) {
        double n = hypot(want[(s + 1) % 4].x - want[s].x, want[(s + 1) % 4].y - want[s].y);
        for (int i = 0; i < outer.counts[s]; i++) {
            sw_point p = outer.points[s][i].px, a = want[s], b = want[(s + 1) % 4];
            double across = ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)) / n;
            expect_near("a side's point", across, 0, 0.05);
            assert_true(outer.points[s][i].weight >= 1);
        }
        assert_true(outer.counts[s] > SW_SIDE_POINTS / 2);
    }
    draw_card small = *card;
    small.outer_mm = card->inner_mm;
    draw_card_corners(&d->view, &small, want);
    for (int c = 0; c < 4; c++)
        start[c] = (sw_point){want[c].x + between(&seed, -1, 1), want[c].y + between(&seed, -1, 1)};
    assert_int_equal(sw_sides_read(&photo, response, start, 0, 10, &inner, NULL), 4);
    off = worst_corner(&inner, want);
    if (!(off < CORNER_PX))
        fail_msg("inner corner is off by %.4f px (turn %g)", off, card->turn_rad);
    sw_photo_free(&photo);
}

/* Slanted view, blurs from sharp to soft, turns through the change from rows to columns at 45 degrees. */
static void corners_of_frames(void **state)
{
    (void)state;
    static const double blurs[] = {0.5, 0.9, 1.4}, turns[] = {0, 0.02, 0.3, 0.7, 0.785, -0.5};
    draw_view view = draw_from(700, 600, 3000, (double[]){-100, -250, 900}, (sw_point){0, 0});
    for (int b = 0; b < 3; b++)
        for (int t = 0; t < 6; t++) {
            draw_card card = {{3.3, -2.1}, turns[t], 100, 60, 15, 0};
            drawing d = draw_start(&view, DRAW_TOP);
            draw_put_card(&d, &card);
            draw_blur(&d, blurs[b]);
            check_card(&d, &card, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 7}, NULL);
            draw_free(&d);
        }
}

/* Sharpened photos read right once the response is known, and would not otherwise. */
static void corners_of_sharpened_frames(void **state)
{
    (void)state;
    draw_view view = draw_from(700, 600, 3000, (double[]){-100, -250, 900}, (sw_point){0, 0});
    draw_card card = {{3.3, -2.1}, 0.3, 100, 60, 15, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    draw_camera camera = {.bits = 8, .noise = 0.004, .sharpen = 1.2, .radius_px = 1.1, .seed = 7};
    sw_response known = {.blur_px = 0.85, .sharpen = 1.2, .radius_px = 1.1};
    draw_put_card(&d, &card);
    draw_blur(&d, 0.8);
    check_card(&d, &card, &camera, &known);
    sw_photo photo;
    sw_rim_square rim;
    sw_point want[4];
    draw_card_corners(&view, &card, want);
    draw_develop(&d, &camera, &photo);
    assert_int_equal(sw_sides_read(&photo, NULL, want, 1, 10, &rim, NULL), 4);
    assert_true(worst_corner(&rim, want) > 2 * CORNER_PX);
    sw_photo_free(&photo);
    draw_free(&d);
}

/* A side that something hides, or that lies outside the photo, is not made up. */
static void sides_that_are_not_there(void **state)
{
    (void)state;
    draw_view view = draw_above(600, 500, 4, 0);
    draw_card card = {{0, 0}, 0, 100, 60, 12, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_rim_square rim;
    sw_point corner[4], got[4];
    draw_put_card(&d, &card);
    draw_box(&d, (sw_point){60, 0}, 40, 140, 0, DRAW_BLACK); /* something dark lies over the east side */
    draw_develop(&d, &(draw_camera){.bits = 8}, &photo);
    draw_card_corners(&view, &card, corner);
    assert_int_equal(sw_sides_read(&photo, NULL, corner, 1, 10, &rim, NULL), 3);
    assert_int_equal(rim.counts[SW_EAST], 0);
    assert_int_equal(sw_sides_corners(&rim, got), SW_NOT_FOUND);
    for (int c = 0; c < 4; c++)
        corner[c].x += 400;
    assert_int_equal(sw_sides_read(&photo, NULL, corner, 1, 10, &rim, NULL), 0);
    assert_int_equal(sw_sides_corners(&rim, got), SW_NOT_FOUND);
    sw_photo_free(&photo);
    draw_free(&d);
}

/* A blot on a side moves no corner: crossings that stray are left out. */
static void a_blot_is_left_out(void **state)
{
    (void)state;
    draw_view view = draw_above(600, 500, 4, 0.02);
    draw_card card = {{0, 0}, 0, 100, 60, 12, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    draw_put_card(&d, &card);
    draw_box(&d, (sw_point){50, 10}, 2, 9, 0, DRAW_BLACK);
    draw_box(&d, (sw_point){-20, 50}, 8, 2, 0, DRAW_WHITE);
    draw_box(&d, (sw_point){-29.5, 5}, 2, 6, 0, DRAW_BLACK);
    draw_blur(&d, 0.8);
    sw_photo photo;
    sw_rim_square rim;
    sw_point want[4];
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    draw_card_corners(&view, &card, want);
    assert_int_equal(sw_sides_read(&photo, NULL, want, 1, 10, &rim, NULL), 4);
    double off = worst_corner(&rim, want);
    if (!(off < CORNER_PX))
        fail_msg("corner is off by %.4f px", off);
    sw_photo_free(&photo);
    draw_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners_of_frames),
        cmocka_unit_test(corners_of_sharpened_frames),
        cmocka_unit_test(sides_that_are_not_there),
        cmocka_unit_test(a_blot_is_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
