/* A blur that differs between directions and cards is seen, refused when it is large, and counted when it is not. */
#include "support/maths_check.h"

#include <string.h>

#include "scale/processed.h"

static void assert_close(double is, double should, double within)
{
    assert_true(fabs(is - should) <= within);
}

/* The pooled edge of a Gaussian blur, 40 crossings a bin. */
static sw_esf edge_of(double blur_px)
{
    sw_esf esf;
    memset(&esf, 0, sizeof esf);
    for (int i = 0; i < SW_ESF_BINS; i++) {
        double at = (i - SW_ESF_BINS / 2 + 0.5) / 5;
        esf.count[i] = 40;
        esf.sum[i] = 40 * 0.5 * erfc(-at / blur_px / sqrt(2.0));
    }
    esf.weight = 40;
    return esf;
}

static void width_is_the_blur(void **state)
{
    (void)state;
    for (double blur = 0.6; blur < 3; blur += 0.3) {
        sw_esf esf = edge_of(blur);
        assert_close(sw_edge_width(&esf), blur, 0.02);
    }
    sw_esf gaps = edge_of(1.2), nothing;
    for (int i = 0; i < SW_ESF_BINS; i += 3) /* phases that no crossing has */
        gaps.sum[i] = gaps.count[i] = 0;
    assert_close(sw_edge_width(&gaps), 1.2, 0.04);
    memset(&nothing, 0, sizeof nothing);
    assert_true(isnan(sw_edge_width(&nothing)));
}

/* Two cards whose sides along rows and columns have these widths. */
static sw_unevenness of_cards(double level0, double upright0, double level1, double upright1)
{
    sw_sighting cards[2];
    memset(cards, 0, sizeof cards);
    for (int which = 0; which < 4; which++) {
        cards[0].rims[0].width_px[which] = which % 2 ? upright0 : level0;
        cards[1].rims[0].width_px[which] = which % 2 ? upright1 : level1;
    }
    cards[0].rim_count = cards[1].rim_count = 1;
    return sw_blur_unevenness(cards, 2);
}

static void shake_and_focus_are_told_apart(void **state)
{
    (void)state;
    sw_unevenness even = of_cards(1, 1, 1, 1), shaken = of_cards(1, 1.5, 1, 1.5), half = of_cards(1, 1, 1.5, 1.5);
    assert_close(even.direction, 0, 1e-12);
    assert_close(even.place, 0, 1e-12);
    assert_close(shaken.direction, 0.4, 1e-12);
    assert_close(shaken.place, 0, 1e-12);
    assert_close(half.direction, 0, 1e-12);
    assert_close(half.place, 0.4, 1e-12);
    sw_unevenness unread = of_cards(NAN, NAN, NAN, NAN);
    assert_close(unread.direction + unread.place, 0, 1e-12);
}

static void refused(sw_unevenness uneven, double misfit, const char *word)
{
    sw_error err;
    assert_int_equal(sw_blur_refuse(&uneven, misfit, "photo.jpg", &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, word));
    assert_non_null(strstr(err.text, "photo.jpg"));
}

static void large_ones_are_refused_by_name(void **state)
{
    (void)state;
    refused(of_cards(1, 1.5, 1, 1.5), 0.002, "shaken");
    refused(of_cards(1, 1, 1.5, 1.5), 0.002, "out of focus");
    refused((sw_unevenness){0, 0}, 0.03, "doubled");
}

static void small_ones_widen(void **state)
{
    (void)state;
    sw_error err;
    sw_unevenness clean = {0.02, 0.03}, some = {0.15, 0.02}, more = {0.15, 0.2};
    assert_int_equal(sw_blur_refuse(&more, 0.01, "photo.jpg", &err), SW_OK);
    assert_close(sw_blur_u_rel(&clean, 0.004), 0, 1e-12);
    assert_close(sw_blur_u_rel(&some, 0.004), 0.1, 1e-12);
    assert_true(sw_blur_u_rel(&more, 0.004) > 0.15);
    assert_true(sw_blur_u_rel(&clean, 0.015) > 0.1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(width_is_the_blur),
        cmocka_unit_test(shake_and_focus_are_told_apart),
        cmocka_unit_test(large_ones_are_refused_by_name),
        cmocka_unit_test(small_ones_widen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
