/* Finding a checkerboard's crossings in a photo: how near to where they are, and how many of those in sight. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "scale/calibrate/board.h"
#include "support/board_make.h"

static const board_scene SCENE = {
    .lens = {.width_px = 800, .height_px = 600, .fx = 580, .fy = 580, .cx = 396, .cy = 305, .k1 = -0.12, .k2 = 0.03},
    .board = {10, 7, 25},
    .stretch = 1,
    .blur_px = 0.7,
    .noise = 1.5,
};

/* RMS distance from the truth allowed: twice what is reached (0.005 to 0.011, then 0.004 to 0.005), so that a spoilt
 * refinement is seen. The second look has the lens, and a larger window. */
static const double FIRST_MISS_PX = 0.02, LAST_MISS_PX = 0.01;

/* Wraps a rendered picture up as a photo. Free with sw_photo_free: all three blocks are malloc's. */
static sw_photo photo_of(const board_scene *scene, const board_pose *pose)
{
    sw_photo photo = {
        .width_px = scene->lens.width_px, .height_px = scene->lens.height_px, .bits = 8, .orientation = 1};
    photo.luma8 = board_render(scene, pose);
    photo.linear = malloc(256 * sizeof *photo.linear);
    for (int i = 0; i < 256; i++) {
        double v = i / 255.0; /* IEC 61966-2-1 */
        photo.linear[i] = (float)(v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4));
    }
    return photo;
}

/* Which of the board's crossings lie inside the frame by `margin_px`. */
static int in_sight(const board_scene *scene, const board_pose *pose, double margin_px)
{
    int seen = 0, columns = scene->board.columns - 1, rows = scene->board.rows - 1;
    for (int i = 0; i < columns * rows; i++) {
        sw_point px = board_px(scene, pose, scene->board.square_mm * (i % columns - (columns - 1) / 2.0),
                               scene->board.square_mm * (i / columns - (rows - 1) / 2.0));
        seen += px.x > margin_px && px.y > margin_px && px.x < scene->lens.width_px - 1 - margin_px &&
                px.y < scene->lens.height_px - 1 - margin_px;
    }
    return seen;
}

/* RMS distance from the truth, the crossings' places on the board being shifted by (column0, row0) and turned by half a
 * turn or not, whichever is nearest. */
static double rms_miss(const board_scene *scene, const board_pose *pose, const sw_board_view *view)
{
    int columns = scene->board.columns - 1, rows = scene->board.rows - 1;
    double best = INFINITY, mm = scene->board.square_mm;
    for (int half = 0; half < 2; half++) {
        for (int c0 = 0; c0 <= columns - view->columns; c0++) {
            for (int r0 = 0; r0 <= rows - view->rows; r0++) {
                double sum = 0;
                for (size_t i = 0; i < view->count; i++) {
                    const sw_crossing *c = &view->crossings[i];
                    double x = c->column + c0 - (columns - 1) / 2.0, y = c->row + r0 - (rows - 1) / 2.0;
                    sw_point px = board_px(scene, pose, half ? -mm * x : mm * x, half ? -mm * y : mm * y);
                    sum += pow(px.x - c->px.x, 2) + pow(px.y - c->px.y, 2);
                }
                best = fmin(best, sqrt(sum / (double)view->count));
            }
        }
    }
    return best;
}

static void crossings_are_found_to_a_hundredth_of_a_pixel(void **state)
{
    (void)state;
    static const board_pose POSES[] = {
        {{0.4, -0.2, 0.3}, {10, 5, 330}},
        {{-0.5, 0.3, 1.7}, {-20, 15, 400}},
        {{0.1, 0.6, -2.8}, {30, -25, 420}},
        {{0, 0, 0}, {0, 0, 280}}, /* square-on, along the pixel grid */
    };
    for (size_t i = 0; i < sizeof POSES / sizeof *POSES; i++) {
        sw_photo photo = photo_of(&SCENE, &POSES[i]);
        sw_board_view view;
        sw_error err = {{0}};
        assert_int_equal(sw_board_find(&photo, SCENE.board, &view, &err), SW_OK);
        assert_int_equal(view.count, 54);
        assert_int_equal(view.columns, 9);
        assert_int_equal(view.rows, 6);
        assert_int_equal(view.sides_known, 1);
        assert_true(rms_miss(&SCENE, &POSES[i], &view) < FIRST_MISS_PX);
        sw_board_refine(&photo, &SCENE.lens, &view);
        assert_int_equal(view.count, 54);
        assert_true(rms_miss(&SCENE, &POSES[i], &view) < LAST_MISS_PX);
        for (size_t k = 0; k < view.count; k++) {
            const sw_crossing *c = &view.crossings[k];
            assert_true(c->u_px > 0.0005 && c->u_px < 0.05);
            assert_true(c->across.x * c->down.y - c->across.y * c->down.x > 0); /* never mirrored */
        }
        sw_board_view_free(&view);
        sw_board_view_free(&view);
        sw_photo_free(&photo);
    }
}

/* What the frame cuts off costs no more than what it cuts off. */
static void a_board_cut_by_the_frame_gives_the_rest(void **state)
{
    (void)state;
    static const board_pose POSES[] = {
        {{0.5, 0, -0.8}, {-107, -51, 260}}, /* a corner of the frame: OpenCV joins crossings that are no neighbours */
        {{0.3, 0.3, 0.4}, {120, 60, 300}},
        {{-0.3, 0.2, 2.0}, {0, -110, 320}},
    };
    for (size_t i = 0; i < sizeof POSES / sizeof *POSES; i++) {
        sw_photo photo = photo_of(&SCENE, &POSES[i]);
        sw_board_view view;
        sw_error err = {{0}};
        int seen = in_sight(&SCENE, &POSES[i], 12);
        assert_in_range(seen, 15, 52);
        assert_int_equal(sw_board_find(&photo, SCENE.board, &view, &err), SW_OK);
        assert_true((int)view.count >= seen - 2);
        sw_board_refine(&photo, &SCENE.lens, &view);
        assert_true(rms_miss(&SCENE, &POSES[i], &view) < LAST_MISS_PX);
        sw_board_view_free(&view);
        sw_photo_free(&photo);
    }
}

/* Light that falls off to a tenth across the frame, and a thumb over one crossing. */
static void uneven_light_and_a_thumb(void **state)
{
    (void)state;
    const board_pose pose = {{0.4, -0.2, 0.3}, {10, 5, 330}};
    sw_photo photo = photo_of(&SCENE, &pose);
    sw_point thumb = board_px(&SCENE, &pose, 0, 12.5);
    for (int y = 0; y < photo.height_px; y++) {
        for (int x = 0; x < photo.width_px; x++) {
            uint8_t *at = &photo.luma8[y * photo.width_px + x];
            *at = (uint8_t)(*at * (1 - 0.75 * x / photo.width_px));
            if (hypot(x - thumb.x - 9, y - thumb.y - 4) < 16)
                *at = 120;
        }
    }
    sw_board_view view;
    assert_int_equal(sw_board_find(&photo, SCENE.board, &view, NULL), SW_OK);
    sw_board_refine(&photo, &SCENE.lens, &view);
    assert_in_range(view.count, 51, 53);
    assert_true(rms_miss(&SCENE, &pose, &view) < 3 * LAST_MISS_PX); /* the thumb's rim shows in two windows */
    sw_board_view_free(&view);
    sw_photo_free(&photo);
}

/* The first and last columns of squares cut to half, as a sheet is trimmed: the outer crossings' large windows of the
 * second look reach over the cut, and must not cost the crossings. */
static void outer_squares_cut_short(void **state)
{
    (void)state;
    const board_pose pose = {{0.4, -0.2, 0.3}, {10, 5, 330}};
    sw_photo photo = photo_of(&SCENE, &pose);
    sw_point *at = board_trace(&SCENE, &pose);
    for (int i = 0; i < photo.width_px * photo.height_px; i++)
        if (at[i].x < 0.5 || at[i].x > SCENE.board.columns - 0.5)
            photo.luma8[i] = 216; /* like the sheet */
    free(at);
    sw_board_view view;
    assert_int_equal(sw_board_find(&photo, SCENE.board, &view, NULL), SW_OK);
    assert_int_equal(view.count, 54);
    sw_board_refine(&photo, &SCENE.lens, &view);
    assert_int_equal(view.count, 54);
    assert_true(rms_miss(&SCENE, &pose, &view) < LAST_MISS_PX);
    sw_board_view_free(&view);
    sw_photo_free(&photo);
}

/* Squares of 200 to 400 px, strongly slanted: a step differs from the next by tens of pixels, and an edge is blurred
 * over two. */
static void large_squares_in_strong_perspective(void **state)
{
    (void)state;
    const board_pose pose = {{0.55, 0.15, 1.3}, {5, -10, 125}};
    board_scene scene = SCENE;
    scene.lens =
        (sw_lens){.width_px = 2000, .height_px = 1500, .fx = 1450, .fy = 1450, .cx = 990, .cy = 760, .k1 = -0.12};
    sw_photo photo = photo_of(&scene, &pose);
    sw_board_view view;
    int seen = in_sight(&scene, &pose, 30);
    assert_in_range(seen, 15, 40);
    assert_int_equal(sw_board_find(&photo, scene.board, &view, NULL), SW_OK);
    assert_true((int)view.count >= seen - 1);
    assert_true(rms_miss(&scene, &pose, &view) < 0.2); /* the lens bends such large windows, until it is known */
    sw_board_refine(&photo, &scene.lens, &view);
    assert_true(rms_miss(&scene, &pose, &view) < LAST_MISS_PX);
    sw_board_view_free(&view);
    sw_photo_free(&photo);
}

/* A small board on a poster behind the large one in the hand. */
static void the_larger_of_two_boards_counts(void **state)
{
    (void)state;
    const board_pose large = {{0.4, -0.2, 0.3}, {-60, 5, 330}}, small = {{0, 0, 0.1}, {730, -200, 1300}};
    sw_photo photo = photo_of(&SCENE, &large), other = photo_of(&SCENE, &small);
    for (int y = 0; y < photo.height_px; y++)
        for (int x = 640; x < photo.width_px; x++)
            photo.luma8[y * photo.width_px + x] = other.luma8[y * photo.width_px + x];
    sw_board_view view;
    assert_int_equal(sw_board_find(&photo, SCENE.board, &view, NULL), SW_OK);
    assert_true(rms_miss(&SCENE, &large, &view) < FIRST_MISS_PX);
    sw_board_view_free(&view);
    for (int y = 0; y < photo.height_px; y++) /* the poster alone is a board as well */
        for (int x = 0; x < 640; x++)
            photo.luma8[y * photo.width_px + x] = 140;
    assert_int_equal(sw_board_find(&photo, SCENE.board, &view, NULL), SW_OK);
    assert_true(rms_miss(&SCENE, &small, &view) < 0.05);
    sw_board_view_free(&view);
    sw_photo_free(&photo);
    sw_photo_free(&other);
}

/* Two dark squares beside the pattern make crossings of its rim's corners; the board is no larger for it. */
static void dark_things_beside_the_board(void **state)
{
    (void)state;
    const board_pose pose = {{0.4, -0.2, 0.3}, {10, 5, 330}};
    sw_photo photo = photo_of(&SCENE, &pose);
    sw_point *at = board_trace(&SCENE, &pose);
    for (int i = 0; i < photo.width_px * photo.height_px; i++)
        if ((at[i].x < 0 && at[i].x > -0.9 && at[i].y > 1 && at[i].y < 2) ||
            (at[i].y < 0 && at[i].y > -0.9 && at[i].x > 3 && at[i].x < 4))
            photo.luma8[i] = 48;
    sw_board_view view;
    assert_int_equal(sw_board_find(&photo, SCENE.board, &view, NULL), SW_OK);
    assert_int_equal(view.columns, 9);
    assert_int_equal(view.rows, 6);
    assert_int_equal(view.count, 54);
    assert_true(rms_miss(&SCENE, &pose, &view) < FIRST_MISS_PX);
    sw_board_view_free(&view);
    sw_photo_free(&photo);
    free(at);
}

static void assert_not_found(const sw_photo *photo, sw_checkerboard board, const char *words)
{
    sw_board_view view;
    sw_error err = {{0}};
    memset(&view, 1, sizeof view);
    assert_int_equal(sw_board_find(photo, board, &view, &err), SW_NOT_FOUND);
    assert_non_null(strstr(err.text, words));
    assert_null(view.crossings);
    assert_int_equal(view.count, 0);
}

static void what_is_no_such_board_is_said(void **state)
{
    (void)state;
    const board_pose pose = {{0.4, -0.2, 0.3}, {10, 5, 330}}, away = {{0.4, -0.2, 0.3}, {500, 500, 330}};
    sw_photo photo = photo_of(&SCENE, &pose);
    assert_not_found(&photo, (sw_checkerboard){9, 6, 25}, "at least 10 x 7 squares, not of 9 x 6");
    /* A larger board may be cut off; the other way round is the same board. */
    sw_board_view view;
    assert_int_equal(sw_board_find(&photo, (sw_checkerboard){7, 10, 25}, &view, NULL), SW_OK);
    assert_int_equal(view.columns, 6);
    assert_int_equal(view.rows, 9);
    sw_board_view_free(&view);
    sw_photo_free(&photo);
    photo = photo_of(&SCENE, &away);
    assert_not_found(&photo, SCENE.board, "no checkerboard");
    sw_photo_free(&photo);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crossings_are_found_to_a_hundredth_of_a_pixel),
        cmocka_unit_test(a_board_cut_by_the_frame_gives_the_rest),
        cmocka_unit_test(uneven_light_and_a_thumb),
        cmocka_unit_test(outer_squares_cut_short),
        cmocka_unit_test(large_squares_in_strong_perspective),
        cmocka_unit_test(the_larger_of_two_boards_counts),
        cmocka_unit_test(dark_things_beside_the_board),
        cmocka_unit_test(what_is_no_such_board_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
