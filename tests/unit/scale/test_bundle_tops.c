/* The scale from drawn cards that lie on tops of unequal height and slant: known, these change nothing of what the cards tell. The geometry
 * is that of a pinhole (intercept theorem), as in test_heights.c. */
#include "support/maths_check.h"

#include "scale/find.h"
#include "scale/frame.h"
#include "support/draw.h"

static const double CAMERA[3] = {-150, -250, 1250}, CARD_MM = 100, INNER_MM = 60, MARGIN_MM = 12;
static const sw_reference FRAME = {100, 100, 60, 60};
enum { CARDS = 4 };

/* A card's middle and turn; its top there, slopes along the drawing's axes. */
typedef struct laid {
    sw_point middle;
    double turn;
    sw_top top;
} laid;

static const laid LAID[CARDS] = {{{-330, 320}, 0.05, {2, 0.005, -0.003, {-330, 320}}},
                                 {{340, 310}, -0.4, {12, -0.004, 0.006, {340, 310}}},
                                 {{-320, -330}, 0.6, {0, 0, -0.006, {-320, -330}}},
                                 {{330, -340}, 0.01, {-8, 0.006, 0.006, {330, -340}}}};

/* The place of the plane that a point of a top hides. */
static sw_point hidden(const sw_top *top, sw_point p)
{
    double k = CAMERA[2] / (CAMERA[2] - sw_top_rise(top, p));
    return (sw_point){CAMERA[0] + k * (p.x - CAMERA[0]), CAMERA[1] + k * (p.y - CAMERA[1])};
}

static void draw_square(drawing *d, const laid *card, double side, double light)
{
    static const double X[4] = {-0.5, 0.5, 0.5, -0.5}, Y[4] = {0.5, 0.5, -0.5, -0.5};
    sw_point corner[4];
    for (int k = 0; k < 4; k++) {
        double c = cos(card->turn), s = sin(card->turn), u = X[k] * side, v = Y[k] * side;
        corner[k] = hidden(&card->top, (sw_point){card->middle.x + c * u - s * v, card->middle.y + s * u + c * v});
    }
    draw_polygon(d, corner, 4, light);
}

static void photograph(const draw_view *view, sw_photo *photo)
{
    drawing d = draw_start(view, DRAW_TOP);
    for (int i = 0; i < CARDS; i++) {
        draw_square(&d, &LAID[i], CARD_MM + 2 * MARGIN_MM, DRAW_WHITE);
        draw_square(&d, &LAID[i], CARD_MM, DRAW_BLACK);
        draw_square(&d, &LAID[i], INNER_MM, DRAW_WHITE);
    }
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 3}, photo);
    draw_free(&d);
}

static const laid *laid_at(const draw_view *view, const sw_square *square)
{
    for (int i = 0; i < CARDS; i++) {
        sw_point at = draw_px(view, hidden(&LAID[i].top, LAID[i].middle)),
                 middle = sw_between(square->corners_px[0], square->corners_px[2], 0.5);
        if (sw_distance(at, middle) < 30)
            return &LAID[i];
    }
    fail_msg("a square where no card lies");
    return NULL;
}

/* A top with its slopes along axes turned by an angle. */
static sw_top turned(const sw_top *top, double angle)
{
    double c = cos(angle), s = sin(angle);
    return (sw_top){
        .rise_mm = top->rise_mm, .east = c * top->east + s * top->north, .north = -s * top->east + c * top->north};
}

/* Where a square's middle lies, read on its own top. */
static sw_point middle_on(const sw_scale *scale, int i, const sw_top *top)
{
    sw_scale on;
    sw_top its = *top;
    its.at = sw_square_middle(&scale->squares[i]);
    assert_int_equal(sw_scale_lift(scale, &its, &on), SW_OK);
    sw_point middle = {0, 0};
    for (int k = 0; k < 4; k++) {
        sw_point p = sw_scale_to_mm(&on, scale->squares[i].corners_px[k]),
                 next = sw_scale_to_mm(&on, scale->squares[i].corners_px[(k + 1) & 3]);
        expect_near("side", sw_distance(p, next), CARD_MM, 0.03);
        middle.x += p.x / 4;
        middle.y += p.y / 4;
    }
    return middle;
}

/* Relative error of the worst distance of two cards. */
static double worst(const sw_scale *scale, const laid *const *cards, const sw_top *tops)
{
    double most = 0;
    sw_point at[CARDS];
    for (int i = 0; i < CARDS; i++)
        at[i] = tops ? middle_on(scale, i, &tops[i]) : sw_square_middle(&scale->squares[i]);
    for (int i = 0; i < CARDS; i++)
        for (int j = 0; j < i; j++) {
            double want = sw_distance(cards[i]->middle, cards[j]->middle);
            most = fmax(most, fabs(sw_distance(at[i], at[j]) / want - 1));
        }
    return most;
}

static void cards_on_slanting_tops(void **state)
{
    (void)state;
    draw_view view = draw_from(3200, 2600, 3000, CAMERA, (sw_point){0, 0});
    sw_lens lens = draw_lens(&view);
    sw_photo photo;
    sw_small small;
    sw_scale flat, scale;
    sw_error err = {""};
    sw_top tops[SW_SQUARES_MAX] = {0};
    const laid *cards[CARDS];
    photograph(&view, &photo);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    assert_int_equal(sw_scale_find(&photo, &small, &lens, &FRAME, 0, &flat, &err), SW_OK);
    assert_int_equal(flat.square_count, CARDS);
    for (int i = 0; i < CARDS; i++)
        cards[i] = laid_at(&view, &flat.squares[i]);
    for (int i = 0; i < CARDS; i++)
        tops[i] = turned(&cards[i]->top, cards[0]->turn);
    const sw_scale_known known = {.lens = &lens, .reference = FRAME, .square_tops = tops};
    assert_int_equal(sw_scale_find_on(&photo, &small, &known, &scale, &err), SW_OK);
    double as_if_flat = worst(&flat, cards, NULL), on_tops = worst(&scale, cards, tops), camera[3];
    assert_int_equal(sw_camera_place(&scale, camera), SW_OK);
    print_message("  distances off by %.1e of themselves, as if flat %.1e; residual %.3f px, as if flat %.3f; camera "
                  "%.1f mm up\n",
                  on_tops, as_if_flat, scale.residual_px, flat.residual_px, camera[2]);
    assert_true(on_tops < 1e-4);
    assert_true(as_if_flat > 1e-3);
    expect_near("camera's height", camera[2], CAMERA[2], 2);
    assert_true(scale.residual_px < 0.03);
    sw_small_free(&small);
    sw_photo_free(&photo);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(cards_on_slanting_tops)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
