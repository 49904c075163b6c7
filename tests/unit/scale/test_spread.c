/* Processing that spreads edges (sharpening, a steep tone curve, a program's blur) is measured on the frame cards and
 * taken back: gaps of a drawn table, 2x2 tiles of 160 mm at 3.5 px/mm, with all else known. The same by the hundred, on
 * ray-traced tiles: tests/study/spread. */
#include "support/maths_check.h"

#include <string.h>

#include "seamwright/seamwright.h"
#include "support/draw.h"

enum { SIDE_PX = 1300 };
static const double TILE_MM = 160, PX_PER_MM = 3.5, DEGREE = 3.14159265358979323846 / 180;

/* The table's gaps: middling ones. */
static const double UPRIGHT_MM = 1.5, LEVEL_MM = 1.0;

static void inspect(const draw_camera *camera, double blur_px, double ink_mm, sw_inspection *ins)
{
    static const double turns[] = {3, -5, 8, 0};
    draw_view view = draw_above(SIDE_PX, SIDE_PX, PX_PER_MM, 1.5 * DEGREE);
    draw_table table = {.columns = 2,
                        .rows = 2,
                        .tile_mm = TILE_MM,
                        .upright_mm = {UPRIGHT_MM},
                        .level_mm = {LEVEL_MM},
                        .slot = DRAW_BLACK};
    drawing d = draw_start(&view, DRAW_FLOOR);
    sw_photo photo;
    sw_error err = {""};
    sw_lens lens = draw_lens(&view);
    sw_options options = {.lens = &lens};
    draw_put_table(&d, &table);
    for (int i = 0; i < 4; i++) {
        draw_card card = {
            draw_on_tile(&table, i % 2, i / 2, TILE_MM / 2, TILE_MM / 2), turns[i] * DEGREE, 100, 60, 11, ink_mm};
        draw_put_card(&d, &card);
    }
    draw_blur(&d, blur_px);
    draw_develop(&d, camera, &photo);
    draw_free(&d);
    if (sw_inspect(&photo, &options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
    assert_int_equal(ins->seam_count, 4);
}

/* Mean error of all seams' gaps, and whether every one lies within what is stated. */
static double bias_of(const sw_inspection *ins, const char *what)
{
    double sum = 0;
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        double gap = s->name[0] == s->name[3] ? LEVEL_MM : UPRIGHT_MM, off = s->mean_mm - gap; /* A1-A2 or A1-B1 */
        if (!(fabs(off) <= s->mean_u95_mm))
            fail_msg("%s: %s is off by %+.3f mm, stated within %.3f", what, s->name, off, s->mean_u95_mm);
        sum += off / (double)ins->seam_count;
    }
    return sum;
}

static int warns(const sw_inspection *ins, const char *words)
{
    for (size_t i = 0; i < ins->notes.count; i++)
        if (strstr(ins->notes.list[i].text, words))
            return 1;
    return 0;
}

/* What is done to the photo, the gap error it may leave, and the error it makes when it is not taken back (seen with
 * sw_response_fit's answer replaced by its blur alone), mm. */
static const struct {
    const char *what;
    draw_camera camera;
    double most_mm, not_taken_back_mm;
    const char *warning;
} CASES[] = {
    {"nothing", {.bits = 8, .noise = 0.004}, 0.02, 0, NULL},
    {"sharpening 1 of 1.2 px", {.bits = 8, .noise = 0.004, .sharpen = 1, .radius_px = 1.2}, 0.025, -0.076, NULL},
    {"sharpening 0.8 of 1.8 px", {.bits = 8, .noise = 0.004, .sharpen = 0.8, .radius_px = 1.8}, 0.03, -0.069, NULL},
    {"sharpening 1.8 of 1.2 px",
     {.bits = 8, .noise = 0.004, .sharpen = 1.8, .radius_px = 1.2},
     0.05,
     -0.123,
     "sharpened so strongly"},
    {"contrast 0.7", {.bits = 8, .noise = 0.004, .contrast = 0.7}, 0.06, 0.096, "contrast is turned up"},
    {"blurred by 1 px", {.bits = 8, .noise = 0.004, .soften_px = 1}, 0.06, 0.172, "blurred by a program"},
};

static void processing_is_taken_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        sw_inspection ins;
        inspect(&CASES[i].camera, 0.6, 0, &ins);
        double bias = bias_of(&ins, CASES[i].what);
        if (!(fabs(bias) <= CASES[i].most_mm))
            fail_msg("%s: gaps are off by %+.3f mm (not taken back: %+.3f)", CASES[i].what, bias,
                     CASES[i].not_taken_back_mm);
        if (warns(&ins, "This photo") != (CASES[i].warning != NULL) ||
            (CASES[i].warning && !warns(&ins, CASES[i].warning)))
            fail_msg("%s: should be said: %s", CASES[i].what, CASES[i].warning ? CASES[i].warning : "nothing");
        sw_inspection_free(&ins);
    }
}

/* Ink that ran is the card's affair: the spread shows it, gaps do not feel it, and their bounds grow by little. */
static void ink_is_no_gap(void **state)
{
    (void)state;
    double u95_mm[2];
    for (int ran = 0; ran < 2; ran++) {
        sw_inspection ins;
        inspect(&(draw_camera){.bits = 8, .noise = 0.004}, 0.6, ran ? 0.15 : 0, &ins);
        expect_near("edge spread, px", ins.scale.edge_spread_px, ran ? -0.15 * PX_PER_MM : 0, 0.03);
        expect_near("bias", bias_of(&ins, "ink"), 0, 0.02);
        u95_mm[ran] = ins.seams[0].mean_u95_mm;
        sw_inspection_free(&ins);
    }
    assert_true(u95_mm[1] < u95_mm[0] + 0.08);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(processing_is_taken_back),
        cmocka_unit_test(ink_is_no_gap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
