/* The sample photos against their truth (samples/README.md), with the bounds the project wants to keep. Each is
 * inspected as a first user would, without a lens profile, and once more with the profile of the samples' own camera.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "golden/photo_score.h"
#include "support/look.h"

/* What the project accepts for any photo it has not seen. */
static const bounds WANTED = {
    .gap_rms_mm = 0.06, .gap_bias_mm = 0.03, .covered_least = 0.85, .chips_share = 0.9, .no_false_chips = 1};

static sw_lens lens; /* of the samples' camera */

static int make_lens(void **state)
{
    (void)state;
    calibrate(SW_SAMPLES "/lens", "board%d.jpg", 8, &lens);
    return 0;
}

/* got: without a profile and with one. */
static void check_both(const char *name, const sw_options *options, const bounds *wanted, score got[2])
{
    for (int with_lens = 0; with_lens < 2; with_lens++) {
        sw_inspection ins;
        sw_options o = *options;
        o.lens = with_lens ? &lens : NULL;
        inspect_photo(SW_SAMPLES, name, &o, &ins, &got[with_lens]);
        sw_inspection_free(&ins);
    }
    expect_within("without a profile", &got[0], wanted);
    expect_within("with a profile", &got[1], wanted);
}

static void check(const char *name, const sw_options *options, const bounds *wanted)
{
    score got[2];
    check_both(name, options, wanted, got);
}

/* The lamps of this one and of weir shine across the gaps from the camera's side and light the upper part of the far wall as
 * brightly as the tile's top. */
static void valley_north(void **state)
{
    (void)state;
    check("valley-north", &(sw_options){0}, &WANTED);
}

static void valley_north_sanded(void **state)
{
    (void)state;
    score got[2];
    check_both("valley-north-sanded", &(sw_options){0}, &WANTED, got);
    assert_true(got[1].angle_deg.u95 < got[0].angle_deg.u95); /* a profile tells something of the lens */
}

static void river_bend(void **state)
{
    (void)state;
    bounds wanted = WANTED;
    wanted.chips_share = 0.75; /* known shortfall: C2's west edge has one of 7 mm that is not found */
    check("river-bend", &(sw_options){0}, &wanted);
}

/* Two plain squares instead of frames. */
static void mill_meadow(void **state)
{
    (void)state;
    check("mill-meadow", &(sw_options){.reference = {.outer_x_mm = 100, .outer_y_mm = 100}}, &WANTED);
}

/* White cards cut to size; a small picture by another camera, so without the profile. */
static void millpond(void **state)
{
    (void)state;
    score got;
    sw_inspection ins;
    inspect_photo(SW_SAMPLES, "millpond", &(sw_options){.reference = {.outer_x_mm = 100, .outer_y_mm = 100}}, &ins,
                  &got);
    assert_int_equal(ins.scale.square_count, 2);
    sw_inspection_free(&ins);
    expect_within("cut cards", &got, &WANTED);
}

static void weir(void **state)
{
    (void)state;
    check("weir", &(sw_options){0}, &WANTED);
}

/* Two tiles stand 10 mm higher than the other two; with the heights given. Known shortfall: all seams read wide (bias),
 * as the light model of a slot knows neither the wall that stands free above the lower top nor the shade at a step's
 * foot. */
static const sw_tile_height TERRACES[] = {{"A1", 55}, {"B2", 55}};
static const sw_options TERRACE = {
    .reference = {60, 60, 36, 36}, .height_mm = 45, .heights = TERRACES, .height_count = 2};
static const bounds STEPPED = {.gap_rms_mm = 0.03,
                               .gap_bias_mm = 0.025,
                               .seam_bias_mm = 0.035,
                               .measured = 0.95,
                               .covered_least = 0.85,
                               .chips_share = 0.9,
                               .no_false_chips = 1};

static void terrace(void **state)
{
    (void)state;
    check("terrace", &TERRACE, &STEPPED);
}

/* The same without heights: each tile has a card, and cards tell them. The camera is 532 mm up and sees the seams at a tangent of 0.12 at
 * most, so that a step wrong by 0.3 mm moves no gap by more than 0.04. */
static void terrace_without_heights(void **state)
{
    (void)state;
    sw_options level = {.reference = TERRACE.reference, .lens = &lens};
    sw_inspection ins, with;
    score found, given;
    inspect_photo(SW_SAMPLES, "terrace", &level, &ins, &found);
    sw_options stepped = TERRACE;
    stepped.lens = &lens;
    inspect_photo(SW_SAMPLES, "terrace", &stepped, &with, &given);
    for (size_t i = 0; i < 4; i++) {
        const sw_tile *tile = &ins.tiles[i];
        double off = tile->height_mm - (with.tiles[i].rise_mm > 5 ? 5 : -5);
        if (!(fabs(off) < 0.3 && fabs(off) <= tile->height_u95_mm))
            fail_msg("%s: height off by %.3f, stated ± %.3f", tile->name, off, tile->height_u95_mm);
        const sw_seam *a = &ins.seams[i], *b = seam_called(&with, a->name);
        if (!(fabs(a->mean_mm - b->mean_mm) < 0.04))
            fail_msg("%s: %.3f mm, with heights %.3f", a->name, a->mean_mm, b->mean_mm);
    }
    sw_inspection_free(&ins);
    sw_inspection_free(&with);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(valley_north), cmocka_unit_test(valley_north_sanded),
        cmocka_unit_test(river_bend),   cmocka_unit_test(mill_meadow),
        cmocka_unit_test(weir),         cmocka_unit_test(millpond),
        cmocka_unit_test(terrace),      cmocka_unit_test(terrace_without_heights),
    };
    return cmocka_run_group_tests(tests, make_lens, NULL);
}
