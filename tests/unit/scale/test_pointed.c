/* Cards that somebody points at, on drawings: clicks as far off as promised bring the same edges, to a hundredth of a pixel; where there
 * is no card, none is made up. */
#include "support/maths_check.h"

#include <string.h>

#include "photo/corners.h"
#include "scale/find.h"
#include "scale/pointed.h"
#include "seamwright/defaults_and_ranges.h"
#include "support/clicks.h"
#include "support/draw.h"

static const sw_reference FRAME = {100, 100, 60, 60}, PLAIN = {100, 100, 0, 0};

/* Corners that are off as far as they may be. */
static sw_corners clicks(const sw_photo *photo, const sw_point *corners, uint32_t *seed)
{
    double side = hypot(corners[0].x - corners[1].x, corners[0].y - corners[1].y);
    sw_point shown[4];
    for (int c = 0; c < 4; c++)
        shown[c] =
            sw_photo_show(photo, click_near(corners[c], fmax(SW_POINTED_OFF_SHARE * side, SW_POINTED_OFF_PX), seed));
    return clicked(shown, seed);
}

/* Frames, plain black squares and white cut ones, at several turns and sizes, of 80 to 400 px. */
static void clicks_are_pulled_in(void **state)
{
    (void)state;
    uint32_t seed = 11;
    for (int kind = 0; kind < 3; kind++)
        for (int turn = 0; turn < 6; turn++)
            for (int size = 0; size < 3; size++) {
                double scale = (double[]){0.8, 2.5, 4}[size], white = kind == 2 ? DRAW_TOP : DRAW_WHITE;
                draw_view view = draw_above(700, 700, scale, 0.02);
                draw_card card = {{5, -8}, 0.16 * turn - 0.3, 100, kind ? 0 : 60, 12, 0};
                drawing d = draw_start(&view, DRAW_TOP);
                sw_photo photo;
                sw_point want[4];
                draw_put_card(&d, &card);
                if (kind == 2) { /* a white square on the tile itself */
                    draw_box(&d, card.centre, 130, 130, card.turn_rad, white);
                    draw_box(&d, card.centre, 100, 100, card.turn_rad, DRAW_WHITE);
                }
                draw_blur(&d, 0.8);
                draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 5}, &photo);
                photo.orientation = 1 + (int)between(&seed, 0, 8);
                draw_card_corners(&view, &card, want);
                sw_corners told = clicks(&photo, want, &seed);
                sw_quad quad;
                bool light;
                sw_corners_take(&photo, &told, quad.corners);
                sw_corners_order(&photo, want);
                if (!sw_quad_pull_in(&photo, kind == 0, &quad, &light))
                    fail_msg("kind %d, turn %g, %g px/mm: no edges", kind, card.turn_rad, scale);
                assert_int_equal(light, kind == 2);
                for (int c = 0; c < 4; c++)
                    if (!(hypot(quad.corners[c].x - want[c].x, quad.corners[c].y - want[c].y) < 3.5))
                        fail_msg("kind %d, turn %g, %g px/mm: corner %d at %.1f,%.1f, not %.1f,%.1f", kind,
                                 card.turn_rad, scale, c, quad.corners[c].x, quad.corners[c].y, want[c].x, want[c].y);
                sw_photo_free(&photo);
                draw_free(&d);
            }
}

static sw_status find(const sw_photo *photo, const draw_view *view, const sw_scale_known *known, sw_scale *scale,
                      sw_error *err)
{
    sw_small small;
    sw_lens lens = draw_lens(view);
    sw_scale_known with_lens = *known;
    with_lens.lens = &lens;
    assert_int_equal(sw_small_make(photo, &small, NULL), SW_OK);
    sw_status status = sw_scale_find_on(photo, &small, &with_lens, scale, err);
    sw_small_free(&small);
    return status;
}

/* A cable that reaches the black makes one dark thing with it, and no square: the finder says so and names the way out. Pointed at, the
 * card is measured. */
static void a_cable_touches_the_card(void **state)
{
    (void)state;
    uint32_t seed = 3;
    draw_view view = draw_above(1600, 1200, 3, 0.05);
    draw_card card = {{2, 3}, 0.1, 100, 60, 12, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_scale scale;
    sw_error err = {{0}};
    sw_point want[4];
    draw_put_card(&d, &card);
    draw_box(&d, (sw_point){70, 10}, 60, 5, 0.3, 0.04);
    draw_box(&d, (sw_point){-30, 70}, 5, 50, 0.1, 0.04);
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.003, .seed = 2}, &photo);
    sw_scale_known known = {.reference = FRAME};
    assert_int_equal(find(&photo, &view, &known, &scale, &err), SW_NOT_FOUND);
    if (!strstr(err.text, "reference square") || !strstr(err.text, "--square x,y"))
        fail_msg("\"%s\"", err.text);
    draw_card_corners(&view, &card, want);
    for (int round = 0; round < 5; round++) {
        sw_corners told = clicks(&photo, want, &seed);
        known.cards = &told;
        known.card_count = 1;
        if (find(&photo, &view, &known, &scale, &err))
            fail_msg("pointed at: %s", err.text);
        assert_int_equal(scale.square_count, 1);
        for (int c = 0; c < 4; c++) {
            sw_point got = scale.squares[0].corners_px[c];
            if (!(hypot(got.x - want[c].x, got.y - want[c].y) < 0.15))
                fail_msg("corner %d at %.2f,%.2f, not %.2f,%.2f", c, got.x, got.y, want[c].x, want[c].y);
        }
    }
    sw_photo_free(&photo);
    draw_free(&d);
}

static void refuse(const sw_photo *photo, const draw_view *view, const sw_scale_known *known, sw_status status,
                   const char *why)
{
    sw_scale scale;
    sw_error err = {{0}};
    sw_status got = find(photo, view, known, &scale, &err);
    if (got != status || !strstr(err.text, why))
        fail_msg("status %d, \"%s\" instead of \"%s\"", got, err.text, why);
}

/* On the bare tile, at twice the distance that clicks may be off, on the frame's inside, at a plain square where a frame was said; and
 * the same card twice. */
static void what_is_no_card(void **state)
{
    (void)state;
    draw_view view = draw_above(1600, 1200, 3, 0.05);
    draw_card card = {{80, 3}, 0.1, 100, 60, 12, 0}, plain = {{-120, 60}, 0, 100, 0, 12, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_corners told[2];
    sw_point at[4];
    draw_put_card(&d, &card);
    draw_put_card(&d, &plain);
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.003, .seed = 2}, &photo);
    sw_scale_known known = {.reference = FRAME, .cards = told, .card_count = 1};

    told[0] = (sw_corners){{{200, 800}, {500, 800}, {500, 1100}, {200, 1100}}};
    refuse(&photo, &view, &known, SW_NOT_FOUND,
           "no edges of the reference square (--reference) were found at the card's place");
    draw_card inside = {card.centre, card.turn_rad, 60, 0, 12, 0};
    draw_card_corners(&view, &inside, told[0].shown_px);
    refuse(&photo, &view, &known, SW_NOT_FOUND, "--square");
    draw_card far = {{card.centre.x + 18, card.centre.y}, card.turn_rad, 100, 0, 12, 0};
    draw_card_corners(&view, &far, told[0].shown_px);
    refuse(&photo, &view, &known, SW_NOT_FOUND, "--square");
    draw_card_corners(&view, &plain, told[0].shown_px);
    refuse(&photo, &view, &known, SW_NOT_FOUND, "--square");
    draw_card_corners(&view, &card, at);
    memcpy(told[0].shown_px, at, sizeof at);
    for (int c = 0; c < 4; c++)
        told[1].shown_px[c] = (sw_point){at[(c + 2) % 4].x + 4, at[(c + 2) % 4].y - 3};
    known.card_count = 2;
    refuse(&photo, &view, &known, SW_BAD_INPUT, "names the same card twice");
    /* Pointed at alone, the plain one is the only card: the frame beside it does not count. */
    sw_scale scale;
    draw_card_corners(&view, &plain, told[0].shown_px);
    known = (sw_scale_known){.reference = PLAIN, .cards = told, .card_count = 1};
    assert_int_equal(find(&photo, &view, &known, &scale, NULL), SW_OK);
    assert_int_equal(scale.square_count, 1);
    sw_photo_free(&photo);
    draw_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clicks_are_pulled_in),
        cmocka_unit_test(a_cable_touches_the_card),
        cmocka_unit_test(what_is_no_card),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
