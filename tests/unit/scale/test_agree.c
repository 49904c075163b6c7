/* Cards weighed against each other: drawn as a pinhole sees them, each of its own size, on its own top, flat or curled. */
#include "support/maths_check.h"

#include <string.h>

#include "maths/point.h"
#include "scale/find.h"
#include "support/draw.h"

static const double CAMERA[3] = {-150, -250, 1250}, MARGIN_MM = 12;
static const sw_reference FRAME = {100, 100, 60, 60};
enum { CARDS_MOST = 5, EDGE_PARTS = 8 };

/* side_mm of the outer square, the inner one is 0.6 of it; curl_mm: how much the middle line stands above the two sides. */
typedef struct laid {
    sw_point middle;
    double turn, side_mm, rise_mm, curl_mm;
} laid;

static const laid FLAT[CARDS_MOST] = {{{-330, 320}, 0.05, 100, 0, 0},
                                      {{340, 310}, -0.4, 100, 0, 0},
                                      {{-320, -330}, 0.6, 100, 0, 0},
                                      {{330, -340}, 0.01, 100, 0, 0},
                                      {{10, 20}, 0.3, 100, 0, 0}};

/* The place of the plane that a point above it hides (intercept theorem). */
static sw_point hidden(double x, double y, double up)
{
    double k = CAMERA[2] / (CAMERA[2] - up);
    return (sw_point){CAMERA[0] + k * (x - CAMERA[0]), CAMERA[1] + k * (y - CAMERA[1])};
}

static void draw_square(drawing *d, const laid *card, double side, double light)
{
    static const double X[5] = {-0.5, 0.5, 0.5, -0.5, -0.5}, Y[5] = {0.5, 0.5, -0.5, -0.5, 0.5};
    double c = cos(card->turn), s = sin(card->turn);
    sw_point corner[4 * EDGE_PARTS];
    for (int i = 0; i < 4 * EDGE_PARTS; i++) {
        int k = i / EDGE_PARTS;
        double part = (double)(i % EDGE_PARTS) / EDGE_PARTS;
        double u = (X[k] + (X[k + 1] - X[k]) * part) * side, v = (Y[k] + (Y[k + 1] - Y[k]) * part) * side;
        double across = 2 * u / card->side_mm, up = card->rise_mm + card->curl_mm * (1 - across * across);
        corner[i] = hidden(card->middle.x + c * u - s * v, card->middle.y + s * u + c * v, up);
    }
    draw_polygon(d, corner, 4 * EDGE_PARTS, light);
}

static sw_status look(const laid *cards, int count, bool profile, sw_scale *scale, sw_error *err)
{
    draw_view view = draw_from(3200, 2600, 3300, CAMERA, (sw_point){0, 0});
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_small small;
    sw_lens lens = draw_lens(&view);
    for (int i = 0; i < count; i++) {
        draw_square(&d, &cards[i], cards[i].side_mm + 2 * MARGIN_MM, DRAW_WHITE);
        draw_square(&d, &cards[i], cards[i].side_mm, DRAW_BLACK);
        draw_square(&d, &cards[i], 0.6 * cards[i].side_mm, DRAW_WHITE);
    }
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 5}, &photo);
    draw_free(&d);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    sw_status status = sw_scale_find(&photo, &small, profile ? &lens : NULL, &FRAME, 0, scale, err);
    sw_small_free(&small);
    sw_photo_free(&photo);
    return status;
}

/* Table of one change to the flat cards, and what must come of it, with a lens profile and without. */
static void expect(const char *what, const laid *cards, int count, int left_out, sw_card_fault fault, double size)
{
    for (int profile = 0; profile < 2; profile++) {
        sw_scale scale;
        sw_error err = {""};
        if (look(cards, count, profile, &scale, &err))
            fail_msg("%s, profile %d: %s", what, profile, err.text);
        if (scale.left_out_count != left_out || scale.square_count != count - left_out)
            fail_msg("%s, profile %d: %d cards left out, not %d", what, profile, scale.left_out_count, left_out);
        for (int i = 0; i < left_out; i++) {
            assert_int_equal(scale.left_out[i].fault, fault);
            if (size > 0 && !(fabs(scale.left_out[i].size - size) < 0.004))
                fail_msg("%s, profile %d: said to be %g of the others' size, not %g", what, profile,
                         scale.left_out[i].size, size);
        }
    }
}

static void expect_refused(const char *what, const laid *cards, int count, const char *sentence)
{
    for (int profile = 0; profile < 2; profile++) {
        sw_scale scale;
        sw_error err = {""};
        assert_int_equal(look(cards, count, profile, &scale, &err), SW_BAD_INPUT);
        if (!strstr(err.text, sentence))
            fail_msg("%s, profile %d: %s", what, profile, err.text);
    }
}

static void flat_ones_stay(void **state)
{
    laid cards[CARDS_MOST];
    (void)state;
    memcpy(cards, FLAT, sizeof cards);
    expect("alike", cards, 4, 0, SW_CARD_GOOD, 0);
    expect("one", cards, 1, 0, SW_CARD_GOOD, 0);
    cards[1].rise_mm = 19;
    cards[2].rise_mm = 7;
    expect("steps of 19 mm", cards, 5, 0, SW_CARD_GOOD, 0);
    for (int i = 0; i < 4; i++)
        cards[i].side_mm = 100.03 - 0.02 * i; /* one print run (steps.md: 0.03 mm) */
    expect("steps and a print run's differences", cards, 5, 0, SW_CARD_GOOD, 0);
}

static void other_sizes_go(void **state)
{
    laid cards[CARDS_MOST];
    (void)state;
    memcpy(cards, FLAT, sizeof cards);
    cards[2].side_mm = 97;
    expect("one of 97 %", cards, 4, 1, SW_CARD_OTHER_SIZE, 0.97);
    expect("one of 97 % in five", cards, 5, 1, SW_CARD_OTHER_SIZE, 0.97);
    cards[2].side_mm = 100;
    cards[4].side_mm = 60;
    expect("a fifth of 60 mm", cards, 5, 1, SW_CARD_OTHER_SIZE, 0.6);
    cards[4].side_mm = 170;
    expect("a fifth of 170 mm", cards, 5, 1, SW_CARD_OTHER_SIZE, 1.7);
}

static void bent_ones_go(void **state)
{
    laid cards[CARDS_MOST];
    (void)state;
    memcpy(cards, FLAT, sizeof cards);
    cards[1].curl_mm = 3;
    expect("one curled", cards, 4, 1, SW_CARD_BENT, 0);
    expect_refused("the only one curled", cards + 1, 1, "no reference card lies flat");
}

static void two_against_two_are_refused(void **state)
{
    laid cards[CARDS_MOST];
    (void)state;
    memcpy(cards, FLAT, sizeof cards);
    cards[0].side_mm = cards[1].side_mm = 97;
    expect_refused("two against two", cards, 4, "the cards disagree");
    expect_refused("one against one", cards + 1, 2, "the cards disagree");
    cards[3].side_mm = 60;
    expect_refused("one against one, far apart", cards + 2, 2, "the cards disagree");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(flat_ones_stay), cmocka_unit_test(other_sizes_go),
                                       cmocka_unit_test(bent_ones_go), cmocka_unit_test(two_against_two_are_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
