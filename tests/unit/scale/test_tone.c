/* What the tone curve makes of narrow gaps: nothing where black is as print is, a lot where a program made all dark tones black. */
#include "support/maths_check.h"

#include <string.h>

#include "scale/develop.h"
#include "scale/squares.h"
#include "scale/tone.h"

static const double PAPER = 0.6, PRINT = 0.04, TOP = 0.35;

/* An edge from black to paper as a camera of sRGB's curve and then a program that makes all under `floor` black store it. */
static sw_response respond(double print, double floor)
{
    const sw_response lens = {.blur_px = 0.8, .radius_px = 1};
    double stored[SW_DEVELOP_GRID];
    sw_esf esf;
    memset(&esf, 0, sizeof esf);
    sw_develop_edge(&lens, print * PAPER, PAPER, stored);
    for (int i = 0; i < SW_DEVELOP_GRID; i++)
        stored[i] = fmax(0, (stored[i] - floor) / (1 - floor));
    double dark = stored[0], bright = stored[SW_DEVELOP_GRID - 1];
    for (int i = 0; i < SW_ESF_BINS; i++) {
        int at = SW_DEVELOP_HALF + 2 * (i - SW_ESF_BINS / 2) + 1;
        esf.sum[i] = 100 * (stored[at] - dark) / (bright - dark);
        esf.count[i] = 100;
    }
    esf.dark = sw_light_of(dark, 0);
    esf.bright = sw_light_of(bright, 0);
    esf.weight = 1;
    return sw_response_fit(&esf, true);
}

static sw_scale scale_of(const sw_response *r)
{
    return (sw_scale){.contrast = r->contrast, .contrast_u = r->contrast_u, .black_floor = r->black_floor};
}

static void usual_print_says_nothing(void **state)
{
    (void)state;
    sw_response r = respond(PRINT, 0);
    sw_scale scale = scale_of(&r);
    expect_near("floor", r.black_floor, 0, 0.002);
    expect_near("share", sw_tone_u_rel(&scale, TOP), 0, 0.01);
    r = respond(2 * PRINT, 0); /* sheen */
    expect_near("floor", r.black_floor, 0, 1e-12);
}

/* The logarithm of light over a small step of stored values; true light stands before a floor was taken away. */
static double slope_of(double stored, double contrast, double floor)
{
    const double step = 1e-4;
    return log(sw_light_of(floor + (1 - floor) * (stored + step), contrast) /
               sw_light_of(floor + (1 - floor) * stored, contrast)) /
           step;
}

/* Narrow gaps look wider by the ratio of the slope that is taken to the true one. */
static void crushed_blacks_make_narrow_gaps_wide(void **state)
{
    (void)state;
    for (double floor = 0.04; floor < 0.17; floor += 0.04) {
        sw_response r = respond(PRINT, floor);
        sw_scale scale = scale_of(&r);
        expect_near("floor", r.black_floor, floor, 0.005);
        double v = (sw_stored_of(TOP, 0) - floor) / (1 - floor);
        double wide = slope_of(v, r.contrast, 0) / slope_of(v, 0, floor) - 1;
        double u = sw_tone_u_rel(&scale, sw_light_of(v, r.contrast));
        if (!(2 * u > fabs(wide) && u > 0.03 && u < 0.2))
            fail_msg("floor %.2f: a gap looks %.2f wider, and the standard uncertainty is %.2f of it", floor, wide, u);
    }
}

/* A floor alone: narrow gaps look wider by f / ((1 - f) v), about, v the tops' stored level. */
static void a_floor_alone_counts(void **state)
{
    (void)state;
    const sw_scale scale = {.black_floor = 0.1};
    double v = sw_stored_of(TOP, 0), wide = 0.1 / (0.9 * v), u = sw_tone_u_rel(&scale, TOP);
    assert_true(u > 0.5 * wide && u < wide);
    expect_near("none", sw_tone_u_rel(&(sw_scale){.contrast = 0}, TOP), 0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(usual_print_says_nothing),
        cmocka_unit_test(a_floor_alone_counts),
        cmocka_unit_test(crushed_blacks_make_narrow_gaps_wide),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
