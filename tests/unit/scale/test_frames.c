/* Each printed size of frame has a ratio of its own: told as another, a card is named. */
#include "support/maths_check.h"

#include <stdio.h>
#include <string.h>

#include "scale/find.h"
#include "scale/frames.h"
#include "support/draw.h"

static void ratios_of_sizes(void **state)
{
    (void)state;
    assert_true(sw_frame_inner_mm(100) == 60);
    assert_true(sw_frame_inner_mm(60) == 30);
    assert_true(sw_frame_inner_mm(80) == 44);
    assert_true(sw_frame_inner_mm(120) == 78);
    for (double outer = 20; outer <= 1000; outer += 1) {
        const sw_reference r = {outer, outer, sw_frame_inner_mm(outer), sw_frame_inner_mm(outer)};
        if (outer >= 24 && sw_reference_check(&r, NULL))
            fail_msg("%g/%g is no card", outer, r.inner_x_mm);
    }
    for (int i = 1; i < sw_frame_sizes(); i++)
        if (!(sw_frame_ratio_of(i) - sw_frame_ratio_of(i - 1) > 0.035))
            fail_msg("sizes %d and %d have ratios %.3f and %.3f", i - 1, i, sw_frame_ratio_of(i - 1),
                     sw_frame_ratio_of(i));
}

/* Two cards of `outer`/`inner` mm, looked at as `told`. */
static sw_status look(double outer_mm, double inner_mm, double ink_mm, const sw_reference *told, sw_error *err)
{
    draw_view view = draw_above(1000, 600, 3, 0.03);
    sw_lens lens = draw_lens(&view);
    drawing d = draw_start(&view, DRAW_TOP);
    for (int i = 0; i < 2; i++) {
        draw_card card = {{i ? 80 : -80, 5}, 0.05, outer_mm, inner_mm, 12, ink_mm};
        draw_put_card(&d, &card);
    }
    sw_photo photo;
    sw_small small;
    sw_scale scale;
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    draw_free(&d);
    err->text[0] = 0;
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    sw_status status = sw_scale_find(&photo, &small, &lens, told, NAN, &scale, err);
    sw_small_free(&small);
    sw_photo_free(&photo);
    return status;
}

/* Cards so printed and told are taken, with ink that ran; told as any other printed size they are refused by name. */
static void told_as_another(void **state)
{
    (void)state;
    static const double sizes[] = {60, 80, 100, 120};
    sw_error err;
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 4; k++) {
            double inner = sw_frame_inner_mm(sizes[i]), as = sw_frame_inner_mm(sizes[k]);
            const sw_reference told = {sizes[k], sizes[k], as, as};
            char name[64];
            snprintf(name, sizeof name, "as frames of %g/%g have it", sizes[i], inner);
            sw_status status = look(sizes[i], inner, 0.1, &told, &err);
            if (i == k ? status != SW_OK : status != SW_BAD_INPUT || !strstr(err.text, name))
                fail_msg("%g/%g told as %g/%g: status %d, \"%s\"", sizes[i], inner, sizes[k], as, status, err.text);
        }
    /* A frame that we do not print. */
    const sw_reference measured = {99.6, 99.8, 42.1, 42.3}, usual = {100, 100, 60, 60};
    assert_int_equal(look(100, 42, 0.1, &measured, &err), SW_OK);
    assert_int_equal(look(100, 42, 0.1, &usual, &err), SW_NOT_FOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ratios_of_sizes),
        cmocka_unit_test(told_as_another),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
