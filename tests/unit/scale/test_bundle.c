/* The scale from drawn cards: places, distances, ink that ran, and what the scale says of its own uncertainty. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "scale/bundle.h"
#include "scale/find.h"
#include "scale/frame.h"
#include "scale/plane.h"
#include "support/draw.h"

static const sw_reference FRAME = {100, 100, 60, 60}, PLAIN = {100, 100, 0, 0};
static const double DEGREE = 3.14159265358979323846 / 180;

/* Four cards near the corners of a table of three tiles of 300 mm. */
static const draw_card CORNERS[4] = {{{-330, 320}, 0.05, 100, 60, 12, 0},
                                     {{340, 310}, -0.4, 100, 60, 12, 0},
                                     {{-320, -330}, 0.6, 100, 60, 12, 0},
                                     {{330, -340}, 0.01, 100, 60, 12, 0}};

static void photograph(const draw_view *view, const draw_card *cards, int count, const draw_camera *camera,
                       sw_photo *photo)
{
    drawing d = draw_start(view, DRAW_TOP);
    for (int i = 0; i < count; i++)
        draw_put_card(&d, &cards[i]);
    draw_blur(&d, 0.8);
    draw_develop(&d, camera, photo);
    draw_free(&d);
}

/* The whole stage, with the camera known. */
static void find_scale(const draw_view *view, const draw_card *cards, int count, const draw_camera *camera,
                       const sw_reference *reference, sw_scale *scale)
{
    sw_photo photo;
    sw_small small;
    sw_error err = {""};
    sw_lens lens = draw_lens(view);
    photograph(view, cards, count, camera, &photo);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    if (sw_scale_find(&photo, &small, &lens, reference, NAN, scale, &err))
        fail_msg("%s", err.text);
    sw_small_free(&small);
    sw_photo_free(&photo);
}

/* Which of the scale's squares is this card. */
static int square_of(const sw_scale *scale, const draw_view *view, const draw_card *card)
{
    sw_point at = draw_px(view, card->centre);
    for (int i = 0; i < scale->square_count; i++) {
        const sw_point *c = scale->squares[i].corners_px;
        if (hypot((c[0].x + c[2].x) / 2 - at.x, (c[0].y + c[2].y) / 2 - at.y) < 30)
            return i;
    }
    fail_msg("card at %g, %g mm was not found", card->centre.x, card->centre.y);
    return -1;
}

static double distance_px(const sw_scale *scale, sw_point a_px, sw_point b_px)
{
    sw_point a = sw_scale_to_mm(scale, a_px), b = sw_scale_to_mm(scale, b_px);
    return hypot(a.x - b.x, a.y - b.y);
}

/* Standard uncertainty of a distance from where the squares were seen, as scale.h says it is worked out. */
static double seen_u(const sw_scale *scale, sw_point a_px, sw_point b_px)
{
    double here = distance_px(scale, a_px, b_px), sum = 0;
    for (int i = 0; i < scale->alternative_count; i++) {
        sw_scale other;
        sw_scale_take_alternative(scale, i, &other);
        double change = distance_px(&other, a_px, b_px) - here;
        sum += change * change;
    }
    return sqrt(sum);
}

/* The same with the reference's own. */
static double distance_u(const sw_scale *scale, sw_point a_px, sw_point b_px)
{
    return hypot(seen_u(scale, a_px, b_px), scale->reference_u_rel * distance_px(scale, a_px, b_px));
}

/* All distances between places spread over the table: the largest relative error, and how many lie within 2 u. The
 * drawing's cards have no thickness, the program's have: what it adds for that (at most `lowered`, relative) is taken
 * off first. */
static double worst_distance(const sw_scale *scale, const draw_view *view, double lowered, double *covered)
{
    double worst = 0, held = 0, all = 0;
    for (int i = 0; i < 16; i++)
        for (int j = 0; j < i; j++) {
            sw_point a = {-390 + 260 * (i % 4), -390 + 260 * (i / 4)}, b = {-390 + 260 * (j % 4), -390 + 260 * (j / 4)};
            sw_point ap = draw_px(view, a), bp = draw_px(view, b);
            double want = hypot(a.x - b.x, a.y - b.y), got = distance_px(scale, ap, bp) / (1 + lowered);
            worst = fmax(worst, fabs(got / want - 1));
            held += fabs(got - want) <= 2 * distance_u(scale, ap, bp);
            all++;
        }
    *covered = held / all;
    return worst;
}

/* What sw_scale_lower makes of a card on a table seen from this high: what header and method say, 0.15 mm of thickness.
 */
static double lowering(const sw_scale *scale)
{
    double camera[3];
    assert_int_equal(sw_camera_place(scale, camera), 0);
    sw_scale lower = *scale;
    sw_scale_lower(&lower, 0.15, 0.1);
    return lower.squares[0].corners_mm[0].x / scale->squares[0].corners_mm[0].x - 1;
}

static void four_frames_seen_slantwise(void **state)
{
    (void)state;
    draw_view view = draw_from(3200, 2600, 3300, (double[]){-120, -300, 1350}, (sw_point){0, 0});
    sw_scale scale;
    double covered;
    find_scale(&view, CORNERS, 4, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 3}, &FRAME, &scale);
    assert_int_equal(scale.square_count, 4);
    for (int i = 0; i < 4; i++) {
        sw_point want[4];
        int k = square_of(&scale, &view, &CORNERS[i]);
        draw_card_corners(&view, &CORNERS[i], want);
        for (int c = 0; c < 4; c++) {
            double off =
                hypot(scale.squares[k].corners_px[c].x - want[c].x, scale.squares[k].corners_px[c].y - want[c].y);
            if (!(off < 0.02))
                fail_msg("corner %d of card %d is off by %.4f px", c, i, off);
        }
    }
    double lowered = lowering(&scale), worst = worst_distance(&scale, &view, lowered, &covered);
    if (!(worst < 1e-4))
        fail_msg("a distance is off by %.2e of itself", worst);
    assert_true(covered >= 0.95);
    expect_near("edge spread", scale.edge_spread_px, 0, 0.01);
    /* The squares' own places, as the scale states them. */
    for (int i = 0; i < 4; i++)
        for (int j = 0; j < i; j++) {
            const sw_point *a = scale.squares[square_of(&scale, &view, &CORNERS[i])].corners_mm,
                           *b = scale.squares[square_of(&scale, &view, &CORNERS[j])].corners_mm;
            double got = hypot((a[0].x + a[2].x - b[0].x - b[2].x) / 2, (a[0].y + a[2].y - b[0].y - b[2].y) / 2),
                   want = hypot(CORNERS[i].centre.x - CORNERS[j].centre.x, CORNERS[i].centre.y - CORNERS[j].centre.y);
            expect_near("distance of two squares, relative", got / want / (1 + lowered), 1, 1e-4);
        }
    double camera[3];
    assert_int_equal(sw_camera_place(&scale, camera), 0);
    expect_near("camera's height", camera[2], 1350, 3);
    expect_near("px_per_mm", scale.px_per_mm, 3300 / hypot(1350, hypot(120, 300)), 0.25);
    assert_true(scale.residual_px < 0.03);
}

/* One card alone: right where it lies, uncertain far away, and it says so. */
static void one_frame_knows_what_it_does_not_know(void **state)
{
    (void)state;
    draw_view view = draw_from(3200, 2600, 3300, (double[]){-60, -200, 1350}, (sw_point){0, 0});
    draw_card card = {{20, -10}, 0.2, 100, 60, 12, 0};
    sw_scale scale;
    double covered;
    find_scale(&view, &card, 1, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 5}, &FRAME, &scale);
    double lowered = lowering(&scale);
    sw_point a = draw_px(&view, (sw_point){-30, 0}), b = draw_px(&view, (sw_point){70, 0});
    expect_near("100 mm beside the card", distance_px(&scale, a, b) / (1 + lowered), 100, 0.03);
    worst_distance(&scale, &view, lowered, &covered);
    assert_true(covered >= 0.9);
    sw_point c = draw_px(&view, (sw_point){250, 300}), d = draw_px(&view, (sw_point){350, 300});
    assert_true(seen_u(&scale, c, d) > 2 * seen_u(&scale, a, b));
}

/* Over many photos of one card, each with its own noise and turn: errors far from the card are of the size that the
 * alternatives state, neither larger nor much smaller. The reference's own uncertainty is left out, the drawn card
 * being exact. */
static void alternatives_over_many_photos(void **state)
{
    (void)state;
    enum { PHOTOS = 24 };
    static const sw_point pairs[][2] = {{{-350, 350}, {-50, 350}},
                                        {{350, -350}, {350, -50}},
                                        {{-400, -300}, {400, -300}},
                                        {{-350, -350}, {350, 350}},
                                        {{300, -20}, {400, 60}}};
    double held = 0, squares = 0, n = 0;
    for (uint32_t photo = 1; photo <= PHOTOS; photo++) {
        draw_view view = draw_from(1700, 1400, 1700, (double[]){-60 + 5.0 * photo, -200, 1350}, (sw_point){0, 0});
        draw_card card = {{20, -10}, 0.11 * photo, 100, 60, 12, 0};
        sw_scale scale;
        find_scale(&view, &card, 1, &(draw_camera){.bits = 8, .noise = 0.012, .seed = photo}, &FRAME, &scale);
        double lowered = lowering(&scale);
        for (int k = 0; k < 5; k++) {
            sw_point a = draw_px(&view, pairs[k][0]), b = draw_px(&view, pairs[k][1]);
            double want = hypot(pairs[k][0].x - pairs[k][1].x, pairs[k][0].y - pairs[k][1].y);
            double error = (distance_px(&scale, a, b) / (1 + lowered) - want) / seen_u(&scale, a, b);
            held += fabs(error) <= 2;
            squares += error * error;
            n++;
        }
    }
    if (!(held >= 0.88 * n && squares / n > 0.1 && squares / n < 1.6))
        fail_msg("%.2f of the distances within 2 u, errors over u %.2f RMS", held / n, sqrt(squares / n));
}

/* Ink that ran by a tenth of a millimetre makes the frame wider outside and narrower inside: it is found, and the scale
 * stays. */
static void ink_that_ran(void **state)
{
    (void)state;
    draw_view view = draw_above(3400, 3400, 4, 0.03);
    for (int thin = 0; thin < 2; thin++) {
        draw_card cards[4];
        double ink = thin ? -0.06 : 0.1, covered;
        sw_scale scale;
        for (int i = 0; i < 4; i++) {
            cards[i] = CORNERS[i];
            cards[i].ink_mm = ink;
        }
        find_scale(&view, cards, 4, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 9}, &FRAME, &scale);
        expect_near("edge spread, +: dark reads narrow", scale.edge_spread_px, -ink * 4, 0.02);
        assert_true(scale.edge_spread_u_px > 0 && scale.edge_spread_u_px < 0.03);
        double worst = worst_distance(&scale, &view, lowering(&scale), &covered);
        if (!(worst < 1e-4))
            fail_msg("a distance is off by %.2e of itself", worst);
    }
}

/* A plain square cannot tell ink from scale: its edge spread stays near nothing and is uncertain. */
static void plain_squares(void **state)
{
    (void)state;
    draw_view view = draw_from(3200, 2600, 3300, (double[]){-120, -300, 1350}, (sw_point){0, 0});
    draw_card cards[4];
    sw_scale scale;
    double covered;
    for (int i = 0; i < 4; i++) {
        cards[i] = CORNERS[i];
        cards[i].inner_mm = 0;
    }
    find_scale(&view, cards, 4, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 4}, &PLAIN, &scale);
    assert_int_equal(scale.square_count, 4);
    double worst = worst_distance(&scale, &view, lowering(&scale), &covered);
    if (!(worst < 2e-4))
        fail_msg("a distance is off by %.2e of itself", worst);
    assert_true(covered >= 0.95);
    assert_true(scale.edge_spread_u_px > 0.03);
    expect_near("edge spread", scale.edge_spread_px, 0, 2 * scale.edge_spread_u_px);
}

/* Sides that were measured and differ: the printed card is 99.4 mm by 100.2 mm, so its own scale is taken. */
static void measured_sides(void **state)
{
    (void)state;
    draw_view view = draw_above(2000, 2000, 4, 0);
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_small small;
    sw_scale scale;
    sw_lens lens = draw_lens(&view);
    sw_reference reference = {99.4, 100.2, 59.6, 60.1};
    draw_box(&d, (sw_point){0, 0}, 124, 124, 0, DRAW_WHITE);
    draw_box(&d, (sw_point){0, 0}, 99.4, 100.2, 0, DRAW_BLACK);
    draw_box(&d, (sw_point){0, 0}, 59.6, 60.1, 0, DRAW_WHITE);
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    assert_int_equal(sw_scale_find(&photo, &small, &lens, &reference, NAN, &scale, NULL), SW_OK);
    sw_point west = draw_px(&view, (sw_point){-100, 0}), east = draw_px(&view, (sw_point){100, 0}),
             south = draw_px(&view, (sw_point){0, -100}), north = draw_px(&view, (sw_point){0, 100});
    double lowered = lowering(&scale);
    expect_near("200 mm across", distance_px(&scale, west, east) / (1 + lowered), 200, 0.04);
    expect_near("200 mm down", distance_px(&scale, south, north) / (1 + lowered), 200, 0.04);
    sw_small_free(&small);
    sw_photo_free(&photo);
    draw_free(&d);
}

/* There and back, turned into another frame, for the scale and each of its alternatives. */
static void there_and_back_in_any_frame(void **state)
{
    (void)state;
    draw_view view = draw_from(3200, 2600, 3300, (double[]){-120, -300, 1350}, (sw_point){0, 0});
    sw_scale scale, turned;
    find_scale(&view, CORNERS, 4, &(draw_camera){.bits = 8, .seed = 3}, &FRAME, &scale);
    assert_true(scale.alternative_count > 0);
    turned = scale;
    sw_point origin = {37, -12};
    double angle = 31 * DEGREE;
    sw_scale_turn(&turned, origin, angle);
    for (int i = -1; i < scale.alternative_count; i++) {
        sw_scale s = scale, t = turned;
        if (i >= 0) {
            sw_scale_take_alternative(&scale, i, &s);
            sw_scale_take_alternative(&turned, i, &t);
        }
        for (int k = 0; k < 9; k++) {
            sw_point px = {200 + 1300 * (k % 3), 150 + 1100 * (k / 3)};
            sw_point mm = sw_scale_to_mm(&s, px), back = sw_scale_to_px(&s, mm), other = sw_scale_to_mm(&t, px);
            expect_near("x there and back", back.x, px.x, 1e-6);
            expect_near("y there and back", back.y, px.y, 1e-6);
            double x = mm.x - origin.x, y = mm.y - origin.y;
            expect_near("x turned", other.x, cos(angle) * x + sin(angle) * y, 1e-6);
            expect_near("y turned", other.y, -sin(angle) * x + cos(angle) * y, 1e-6);
        }
    }
    for (int i = 0; i < 4; i++)
        for (int c = 0; c < 4; c++) {
            sw_point a = scale.squares[i].corners_mm[c], b = turned.squares[i].corners_mm[c];
            double x = a.x - origin.x, y = a.y - origin.y;
            expect_near("square's corner turned, x", b.x, cos(angle) * x + sin(angle) * y, 1e-9);
            expect_near("square's corner turned, y", b.y, -sin(angle) * x + cos(angle) * y, 1e-9);
        }
}

/* A card t over the tops, seen from h over them, looks h / (h - t) times as large: the tops' millimetres are that much
 * longer. */
static void cards_have_a_thickness(void **state)
{
    (void)state;
    draw_view view = draw_from(3200, 2600, 3300, (double[]){-120, -300, 1350}, (sw_point){0, 0});
    sw_scale scale, lower;
    find_scale(&view, CORNERS, 4, &(draw_camera){.bits = 8, .seed = 3}, &FRAME, &scale);
    lower = scale;
    sw_scale_lower(&lower, 3, 0.3);
    sw_point a = {500, 600}, b = {2700, 1900};
    expect_near("3 mm of thickness", distance_px(&lower, a, b) / distance_px(&scale, a, b), 1350.0 / (1350 - 3), 3e-5);
    assert_true(lower.reference_u_rel > scale.reference_u_rel);
}

static void inverse_of_a_matrix(void **state)
{
    (void)state;
    const double m[3][3] = {{2, 1, -3}, {0.5, 4, 1}, {1e-3, -2e-3, 1}}, flat[3][3] = {{1, 2, 3}, {2, 4, 6}, {0, 1, 1}};
    double inverse[3][3];
    assert_int_equal(sw_invert3(m, inverse), 0);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = 0;
            for (int k = 0; k < 3; k++)
                sum += m[i][k] * inverse[k][j];
            expect_near("identity", sum, i == j, 1e-14);
        }
    assert_int_equal(sw_invert3(flat, inverse), SW_BAD_INPUT);
}

/* Nine plain squares of 100 mm, every other 1.5 mm too large and the others too small, as loose cards or a board that
 * is not flat may seem: their scale is the mean one. Nothing in them tells of the edges' spread, so it stays at the
 * middle of its prior. (Residuals in millimetres once let the scale shrink until the misfit was small.) */
static void plain_squares_that_fit_badly_keep_their_scale(void **state)
{
    (void)state;
    static sw_sighting sightings[9];
    sw_scale scale = {.reference = PLAIN};
    sw_error err = {""};
    scale.lens = (sw_lens){.source = SW_LENS_PROFILE,
                           .width_px = 4000,
                           .height_px = 3000,
                           .fx = 2900,
                           .fy = 2900,
                           .cx = 1999.5,
                           .cy = 1499.5};
    const double h[3][3] = {{1e-3, 2e-5, 0.01}, {-2e-5, -1e-3, -0.02}, {4e-5, -1e-4, 1}};
    for (int i = 0; i < 9; i++) {
        sw_sighting *s = &sightings[i];
        double half = 50 + (i % 2 ? 0.75 : -0.75), x0 = 250 * (i % 3 - 1), y0 = 250 * (i / 3 - 1);
        const sw_point corners[4] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
        *s = (sw_sighting){.rim_count = 1, .quad = {.size_px = 290, .dark_share = 1}};
        s->rims[0].scatter_px = 0.1;
        for (int side = 0; side < 4; side++) {
            sw_point a = corners[side], b = corners[(side + 1) % 4];
            s->quad.corners[side] =
                sw_lens_distort(&scale.lens, sw_plane_apply(h, (sw_point){x0 + half * a.x, y0 + half * a.y}));
            for (int k = 0; k < SW_SIDE_POINTS; k++) {
                double part = (k + 0.5) / SW_SIDE_POINTS;
                sw_point mm = {x0 + half * (a.x + part * (b.x - a.x)), y0 + half * (a.y + part * (b.y - a.y))};
                s->rims[0].points[side][s->rims[0].counts[side]++] =
                    (sw_side_point){sw_lens_distort(&scale.lens, sw_plane_apply(h, mm)), 10};
            }
        }
    }
    assert_int_equal(sw_bundle_fit(sightings, 9, &scale, &err), SW_OK);
    assert_true(fabs(scale.edge_spread_px) < 1e-3);
    sw_point west = sw_scale_to_mm(&scale, sw_lens_distort(&scale.lens, sw_plane_apply(h, (sw_point){-250, 0})));
    sw_point east = sw_scale_to_mm(&scale, sw_lens_distort(&scale.lens, sw_plane_apply(h, (sw_point){250, 0})));
    assert_true(fabs(hypot(east.x - west.x, east.y - west.y) / 500 - 1) < 0.004); /* 5 of the 9 are the small ones */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(four_frames_seen_slantwise),
        cmocka_unit_test(one_frame_knows_what_it_does_not_know),
        cmocka_unit_test(alternatives_over_many_photos),
        cmocka_unit_test(ink_that_ran),
        cmocka_unit_test(plain_squares),
        cmocka_unit_test(measured_sides),
        cmocka_unit_test(there_and_back_in_any_frame),
        cmocka_unit_test(cards_have_a_thickness),
        cmocka_unit_test(inverse_of_a_matrix),
        cmocka_unit_test(plain_squares_that_fit_badly_keep_their_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
