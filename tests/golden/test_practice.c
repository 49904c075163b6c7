/* The practice photos beside the source folder (../shared/photos): three tables, each in two lights, and the checkerboards of their camera.
 * They are not part of the project; where they are missing, every test says so and is skipped. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

#include "golden/photo_score.h"

#define PHOTOS SW_SAMPLES "/../../shared/photos"

/* What is asked of a table of nine tiles with four frames, and a lens profile. */
static const bounds FOUR_FRAMES = {.gap_rms_mm = 0.025,
                                   .gap_bias_mm = 0.01,
                                   .seam_bias_mm = 0.05,
                                   .measured = 0.98,
                                   .covered_least = 0.92,
                                   .covered_most = 1,
                                   .straightness_rms_mm = 0.05,
                                   .chips_share = 0.9,
                                   .no_false_chips = 1};

static sw_lens lens;

static int make_lens(void **state)
{
    (void)state;
    if (photo_is_there(PHOTOS, "lens01.jpg"))
        calibrate(PHOTOS, "lens%02d.jpg", 8, &lens);
    return 0;
}

static void check(const char *name, const bounds *wanted)
{
    sw_inspection ins;
    score got;
    char file[64];
    snprintf(file, sizeof file, "%s.jpg", name);
    if (!photo_is_there(PHOTOS, file) || !lens.fx) {
        print_message("  SKIPPED: there is no shared/photos/%s, or no lens photos, beside the source folder\n", file);
        skip();
    }
    inspect_photo(PHOTOS, name, &(sw_options){.lens = &lens}, &ins, &got);
    sw_inspection_free(&ins);
    expect_within(name, &got, wanted);
}

/* Number of half-way marks found, of steps between two, and their root mean square. */
static size_t find_marks(const char *name, double *steps, double *rms)
{
    char path[512];
    sw_photo photo;
    sw_inspection ins;
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/%s.jpg", PHOTOS, name);
    if (sw_photo_load(path, &photo, &err) || sw_inspect(&photo, &(sw_options){.lens = &lens}, NULL, NULL, &ins, &err))
        fail_msg("%s", err.text);
    double squares = 0, held = 0;
    *steps = 0;
    for (size_t i = 0; i < ins.mark_count; i++)
        if (isfinite(ins.marks[i].step_mm)) { /* each step stands with both its marks */
            squares += ins.marks[i].step_mm * ins.marks[i].step_mm / 2;
            *steps += 0.5;
            held += fabs(ins.marks[i].step_mm) <= ins.marks[i].step_u95_mm ? 0.5 : 0;
        }
    *rms = sqrt(squares / fmax(1, *steps));
    size_t count = ins.mark_count;
    print_message("  %s: %zu marks; step RMS %.3f mm, held %.0f of %.0f\n", name, count, *rms, held, *steps);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
    return count;
}

/* The truth files say nothing of half-way marks. Looked at by eye, p01 has none; every edge of p02 and p03 at a seam has one, but
 * for two under p02's card, and those of a seam lie on one line, so that all steps are 0. */
static void half_way_marks(void **state)
{
    (void)state;
    static const char *const names[] = {"p01", "p02", "p03"};
    static const size_t counts[] = {0, 12, 24};
    for (int k = 0; k < 3; k++) {
        char file[64];
        double steps, rms;
        snprintf(file, sizeof file, "%s.jpg", names[k]);
        if (!photo_is_there(PHOTOS, file) || !lens.fx) {
            print_message("  SKIPPED: there is no shared/photos/%s, or no lens photos, beside the source folder\n",
                          file);
            skip();
        }
        assert_int_equal(find_marks(names[k], &steps, &rms), counts[k]);
        assert_true(steps == (double)counts[k] / 2);
        assert_true(rms < 0.08);
    }
}

/* Gaps, in the photos whose light is right deep in the gaps. In the older three of the same tables (p01 to p03) walls some gaps down
 * are 3 to 10 times too bright, in patches, as no real gap's are; nothing is asked of those. What is covered may be more than
 * 98 % in photos as even as these two, which the variety study's are not (its own coverage: tests/study). */
static void gaps_in_right_light(void **state)
{
    (void)state;
    bounds wanted = FOUR_FRAMES, single = FOUR_FRAMES;
    check("p11", &wanted);
    check("p13", &wanted);
    /* One frame near the middle, over a seam: what lies under it is not seen, and straightness at the rim hangs on it alone. */
    single.gap_rms_mm = 0.03;
    single.measured = 0.85;
    /* A fifth of B1-C1 does not count, as a pencil line runs beside it; its mean is off by 0.0505 mm, by 0.0499 with that part. */
    single.seam_bias_mm = 0.055;
    single.straightness_rms_mm = 0.08;
    check("p12", &single);
}

static sw_status load_practice(void *context, int which, sw_photo *photo, sw_error *err)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s.jpg", PHOTOS, ((const char *const *)context)[which]);
    return sw_photo_load(path, photo, err);
}

static void skip_without(const char *name)
{
    char file[64];
    snprintf(file, sizeof file, "%s.jpg", name);
    if (photo_is_there(PHOTOS, file) && lens.fx)
        return;
    print_message("  SKIPPED: there is no shared/photos/%s, or no lens photos, beside the source folder\n", file);
    skip();
}

static void expect_heights(const char *name, const score *got, double rms_mm, double covered)
{
    print_message("  %s: heights of %zu tops RMS %.3f mm, covered %.3f; confidently wrong verdicts %d\n", name,
                  got->height_mm.n, got->height_mm.rms, got->height_mm.covered, got->wrong_verdicts);
    assert_true(got->height_mm.rms <= rms_mm);
    assert_true(got->height_mm.covered >= covered);
    assert_int_equal(got->wrong_verdicts, 0);
}

/* One table from several places: heights come out by themselves, and with them the gaps between top edges. */
static void together(const char *const *names, int count, double heights_mm, const bounds *wanted)
{
    char path[512];
    sw_inspection ins;
    score got;
    sw_error err = {""};
    skip_without(names[count - 1]);
    if (sw_inspect_several(count, load_practice, (void *)names, &(sw_options){.lens = &lens}, NULL, NULL, &ins, NULL,
                           &err))
        fail_msg("%s", err.text);
    snprintf(path, sizeof path, "%s/%s.truth.json", PHOTOS, names[0]);
    assert_int_equal(score_inspection(&ins, path, &got), 0);
    sw_inspection_free(&ins);
    expect_heights(names[0], &got, heights_mm, 0.85);
    expect_within(names[0], &got, wanted);
}

/* Tops of 45, 55 and 65 mm; tops scattered by 1 mm. */
static void several_photos_tell_heights(void **state)
{
    (void)state;
    static const char *const steps[] = {"q01a", "q01b", "q01c"}, *const scatter[] = {"q02a", "q02b"};
    together(steps, 3, 0.2,
             &(bounds){
                 .gap_rms_mm = 0.08, .gap_bias_mm = 0.02, .measured = 0.9, .covered_least = 0.9, .covered_most = 0.99});
    together(scatter, 2, 0.15, &(bounds){.gap_rms_mm = 0.06, .measured = 0.9, .covered_least = 0.9});
}

static void one_photo(const char *name, const sw_options *options, double heights_mm, const bounds *wanted)
{
    sw_inspection ins;
    score got;
    skip_without(name);
    inspect_photo(PHOTOS, name, options, &ins, &got);
    sw_inspection_free(&ins);
    expect_heights(name, &got, heights_mm, 0.85);
    if (wanted)
        expect_within(name, &got, wanted);
    assert_true(got.gap.covered >= 0.9);
}

/* A card on every tile tells all heights; four cards tell those of their own tiles, and that the rest is not known; given heights are
 * taken. */
static void one_photo_on_uneven_tops(void **state)
{
    (void)state;
    static const sw_tile_height given[] = {{"A1", 55}, {"B2", 65}, {"C2", 55}, {"A3", 55}, {"B3", 55}};
    one_photo("q03a", &(sw_options){.lens = &lens, .reference = {60, 60, 36, 36}}, 0.3,
              &(bounds){.gap_rms_mm = 0.1, .measured = 0.9, .covered_least = 0.9});
    one_photo("q01a", &(sw_options){.lens = &lens}, 0.3, NULL);
    one_photo("q02a", &(sw_options){.lens = &lens}, 0.3, NULL);
    one_photo("q01a", &(sw_options){.lens = &lens, .height_mm = 45, .heights = given, .height_count = 5}, 0.01,
              &(bounds){.gap_rms_mm = 0.08, .covered_least = 0.9, .covered_most = 0.995});
}

/* Rims of 0.12 to 0.73 mm radius: the gap lies between the side faces. The ± is as wide as other light and rims that differ edge by edge
 * need it; this photo, whose tiles have one radius each, is held by all of it. */
static void round_rims(void **state)
{
    (void)state;
    check("r01", &(bounds){.gap_rms_mm = 0.08, .gap_bias_mm = 0.03, .measured = 0.98, .covered_least = 0.9});
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(gaps_in_right_light), cmocka_unit_test(half_way_marks),
                                       cmocka_unit_test(several_photos_tell_heights),
                                       cmocka_unit_test(one_photo_on_uneven_tops), cmocka_unit_test(round_rims)};
    if (!photo_is_there(PHOTOS, "lens01.jpg")) {
        print_message("SKIPPED: there are no practice photos in ../shared/photos beside the source folder\n");
        return 77; /* "skipped" for CTest */
    }
    return cmocka_run_group_tests(tests, make_lens, NULL);
}
