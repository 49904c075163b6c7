/* What was done to a photo is said where it costs certainty, each in a note of its own kind, and nothing is said of a clean one. */
#include "support/maths_check.h"

#include <string.h>

#include "inspect/processing.h"

static const sw_scale CLEAN = {
    .px_per_mm = 3, .blur_px = 0.8, .blur_u_rel = 0.01, .sharpen = 0.3, .sharpen_radius_px = 1};

/* The one note of a scale; its text names a figure and what to do. */
static void assert_noted(const sw_scale *scale, sw_note_kind kind)
{
    sw_notes notes = {0};
    assert_int_equal(sw_note_processing(scale, &notes), SW_OK);
    assert_int_equal(notes.count, 1);
    assert_int_equal(notes.list[0].kind, kind);
    assert_true(notes.list[0].text[strlen(notes.list[0].text) - 1] == '.');
    sw_notes_free(&notes);
}

static void a_clean_photo_has_no_note(void **state)
{
    (void)state;
    sw_notes notes = {0};
    assert_int_equal(sw_note_processing(&CLEAN, &notes), SW_OK);
    assert_int_equal(notes.count, 0);
}

static void each_has_its_own(void **state)
{
    (void)state;
    sw_scale shaken = CLEAN, soft = CLEAN, denoised = CLEAN, levels = CLEAN, haze = CLEAN, sharpened = CLEAN;
    shaken.blur_u_rel = 0.15;
    soft.blur_px = 2.2;
    denoised.filter_u_px = 0.15;
    levels.levels_u_px = 0.15;
    haze.haze = 0.03;
    sharpened.sharpen = 2;
    assert_noted(&shaken, SW_NOTE_BLUR_UNEVEN);
    assert_noted(&soft, SW_NOTE_BLURRED);
    assert_noted(&denoised, SW_NOTE_DENOISED);
    assert_noted(&levels, SW_NOTE_LEVELS);
    assert_noted(&haze, SW_NOTE_HAZE);
    assert_noted(&sharpened, SW_NOTE_SHARPENED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clean_photo_has_no_note),
        cmocka_unit_test(each_has_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
