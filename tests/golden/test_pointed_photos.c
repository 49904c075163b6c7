/* The same photos, found by the program and pointed at by somebody whose clicks are as far off as promised: the figures agree to a small
 * part of their ±, and are as true. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

#include "golden/photo_score.h"
#include "maths/stats.h"
#include "seamwright/defaults_and_ranges.h"
#include "support/clicks.h"
#include "support/look.h"

/* Mean and widest gap of a seam, and the median seam's mean, as shares of their ±. The grid begins elsewhere by up to a millimetre, which moves
 * each station, alone makes 0.1, and now and then takes a chip's end in or out; the widest gap lies at a single place. */
static const double MEAN_SHARE = 0.6, WIDEST_SHARE = 1.0, MEDIAN_SHARE = 0.15;
/* How much worse than found against the truth: as what any change may cost clean photos. */
static const double WORSE = 1.05;

static sw_lens lens; /* of the samples' camera */

static int make_lens(void **state)
{
    (void)state;
    calibrate(SW_SAMPLES "/lens", "board%d.jpg", 8, &lens);
    return 0;
}

/* The table's outer corners as the photo is shown, each off as far as it may be. */
static sw_corners table_clicks(const sw_photo *photo, const sw_inspection *found, uint32_t *seed)
{
    const int c = found->table.columns, r = found->table.rows, tiles[4] = {0, c - 1, r * c - 1, (r - 1) * c};
    sw_point shown[4];
    for (int i = 0; i < 4; i++) {
        sw_point mm = click_near(found->tiles[tiles[i]].corners[i].mm, SW_POINTED_OFF_MM, seed);
        shown[i] = sw_photo_show(photo, sw_scale_to_px(&found->scale, mm));
    }
    return clicked(shown, seed);
}

static void card_clicks(const sw_photo *photo, const sw_scale *scale, sw_corners *cards, uint32_t *seed)
{
    for (int k = 0; k < scale->square_count; k++) {
        const sw_point *at = scale->squares[k].corners_px;
        double side = hypot(at[0].x - at[1].x, at[0].y - at[1].y);
        sw_point shown[4];
        for (int i = 0; i < 4; i++)
            shown[i] =
                sw_photo_show(photo, click_near(at[i], fmax(SW_POINTED_OFF_SHARE * side, SW_POINTED_OFF_PX), seed));
        cards[k] = clicked(shown, seed);
    }
}

static void expect_alike(const char *what, const sw_inspection *found, const sw_inspection *told)
{
    double means[2 * SW_TABLE_MOST * SW_TABLE_MOST];
    assert_int_equal(told->table.columns, found->table.columns);
    assert_int_equal(told->table.rows, found->table.rows);
    assert_int_equal(told->scale.square_count, found->scale.square_count);
    assert_int_equal(told->seam_count, found->seam_count);
    for (size_t i = 0; i < found->seam_count; i++) {
        const sw_seam *a = &found->seams[i], *b = &told->seams[i];
        double mean = fabs(a->mean_mm - b->mean_mm) / a->mean_u95_mm,
               widest = fabs(a->max_mm - b->max_mm) / a->max_u95_mm;
        if (!(mean < MEAN_SHARE && widest < WIDEST_SHARE))
            fail_msg("%s: %s mean %.3f, widest %.3f mm; pointed at %.3f and %.3f (± %.3f, %.3f)", what, a->name,
                     a->mean_mm, a->max_mm, b->mean_mm, b->max_mm, a->mean_u95_mm, a->max_u95_mm);
        means[i] = mean;
    }
    double median = sw_median(means, found->seam_count);
    print_message("  %-14s seams' means differ by %.3f of their ± (median)\n", what, median);
    if (!(median < MEDIAN_SHARE))
        fail_msg("%s: seams' means differ by %.3f of their ± (median)", what, median);
}

static bool is_said(const sw_inspection *ins)
{
    for (size_t i = 0; i < ins->notes.count; i++)
        if (ins->notes.list[i].kind == SW_NOTE_POINTED_AT)
            return true;
    return false;
}

enum { TABLE = 1, CARDS = 2 };

/* tag: an orientation put on the photo, which turns names but no pixels; 0: its own. */
static void check(const char *name, sw_options options, int tag, int what)
{
    char path[512], truth[512];
    sw_photo photo;
    sw_inspection found, told;
    sw_corners corners, cards[SW_POINTED_CARDS_MOST];
    sw_error err = {{0}};
    score before, after;
    uint32_t seed = 23;
    snprintf(path, sizeof path, "%s/%s.jpg", SW_SAMPLES, name);
    snprintf(truth, sizeof truth, "%s/%s.truth.json", SW_SAMPLES, name);
    assert_int_equal(sw_photo_load(path, &photo, NULL), SW_OK);
    if (tag)
        photo.orientation = tag;
    assert_int_equal(sw_inspect(&photo, &options, NULL, NULL, &found, &err), SW_OK);
    corners = table_clicks(&photo, &found, &seed);
    card_clicks(&photo, &found.scale, cards, &seed);
    if (what & TABLE)
        options.corners = &corners;
    if (what & CARDS) {
        options.squares = cards;
        options.square_count = (size_t)found.scale.square_count;
    }
    if (sw_inspect(&photo, &options, NULL, NULL, &told, &err))
        fail_msg("%s: %s", name, err.text);
    expect_alike(name, &found, &told);
    assert_false(is_said(&found));
    assert_true(is_said(&told));
    if (!tag) {
        assert_true(score_inspection(&found, truth, &before) == 0 && score_inspection(&told, truth, &after) == 0);
        if (!(after.gap.rms < WORSE * before.gap.rms && after.gap.covered > before.gap.covered - 0.02 &&
              after.measured > before.measured - 0.01 && after.wrong_verdicts <= before.wrong_verdicts))
            fail_msg("%s: RMS %.4f, held %.3f, measured %.3f; pointed at %.4f, %.3f, %.3f", name, before.gap.rms,
                     before.gap.covered, before.measured, after.gap.rms, after.gap.covered, after.measured);
    }
    sw_inspection_free(&found);
    sw_inspection_free(&told);
    sw_photo_free(&photo);
}

static const sw_reference PLAIN = {100, 100, 0, 0}, SMALL = {80, 80, 48, 48};

static void frames_with_a_profile(void **state)
{
    (void)state;
    check("valley-north", (sw_options){.lens = &lens}, 0, TABLE | CARDS);
}

static void one_frame(void **state)
{
    (void)state;
    check("river-bend", (sw_options){0}, 0, TABLE | CARDS);
}

static void plain_and_cut_cards(void **state)
{
    (void)state;
    check("mill-meadow", (sw_options){.reference = PLAIN}, 0, TABLE | CARDS);
    check("millpond", (sw_options){.reference = PLAIN}, 0, TABLE | CARDS);
}

/* Turned by 22 degrees and tilted; told how many tiles, and how large, too. */
static void either_alone(void **state)
{
    (void)state;
    check("weir", (sw_options){.columns = 4, .rows = 3}, 0, TABLE);
    check("weir", (sw_options){.tile_mm = 200}, 0, CARDS);
}

/* Shown turned, and mirrored. */
static void tagged_photos(void **state)
{
    (void)state;
    check("ferry-1", (sw_options){.reference = SMALL}, 6, TABLE | CARDS);
    check("ferry-1", (sw_options){.reference = SMALL}, 3, TABLE | CARDS);
    check("ferry-1", (sw_options){.reference = SMALL}, 5, TABLE | CARDS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_with_a_profile), cmocka_unit_test(one_frame),     cmocka_unit_test(plain_and_cut_cards),
        cmocka_unit_test(either_alone),          cmocka_unit_test(tagged_photos),
    };
    return cmocka_run_group_tests(tests, make_lens, NULL);
}
