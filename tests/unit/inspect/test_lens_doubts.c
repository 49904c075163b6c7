/* A lens profile of another picture size is refused with both sizes; another camera or zoom is doubted. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "inspect/lens_doubts.h"

static sw_lens profile(void)
{
    return (sw_lens){
        .source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 3000, .camera = "Maker One", .focal_mm = 4.25};
}

static sw_photo photo(void)
{
    return (sw_photo){
        .width_px = 4000, .height_px = 3000, .camera = "Maker One", .focal_mm = 4.25, .file = "table.jpg"};
}

/* What is noted of `shot`; the number of notes, the last one's text in *last. */
static size_t doubts(const sw_lens *lens, const sw_photo *shot, char last[320])
{
    sw_notes notes = {0};
    assert_int_equal(sw_lens_doubts(lens, shot, &notes), SW_OK);
    size_t count = notes.count;
    strcpy(last, count ? notes.list[count - 1].text : "");
    for (size_t i = 0; i < count; i++)
        assert_int_equal(notes.list[i].kind, SW_NOTE_LENS_DOUBTFUL);
    sw_notes_free(&notes);
    return count;
}

static void sizes(void **state)
{
    (void)state;
    sw_lens lens = profile();
    sw_photo shot = photo();
    sw_error err = {{0}};
    assert_int_equal(sw_lens_check_photo(&lens, &shot, &err), SW_OK);
    shot.width_px = 3000;
    shot.height_px = 4000;
    assert_int_equal(sw_lens_check_photo(&lens, &shot, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "4000 x 3000"));
    assert_non_null(strstr(err.text, "table.jpg has 3000 x 4000"));
    shot = photo();
    shot.height_px = 2999;
    assert_int_equal(sw_lens_check_photo(&lens, &shot, &err), SW_BAD_INPUT);
}

static void cameras(void **state)
{
    (void)state;
    char last[320];
    sw_lens lens = profile();
    sw_photo shot = photo();
    assert_int_equal(doubts(&lens, &shot, last), 0);
    strcpy(shot.camera, "Maker Two");
    assert_int_equal(doubts(&lens, &shot, last), 1);
    assert_non_null(strstr(last, "(Maker One)"));
    assert_non_null(strstr(last, "(Maker Two)"));
    shot.camera[0] = '\0'; /* unknown: nothing to doubt */
    assert_int_equal(doubts(&lens, &shot, last), 0);
    shot = photo();
    lens.camera[0] = '\0';
    assert_int_equal(doubts(&lens, &shot, last), 0);
}

static void focal_lengths(void **state)
{
    (void)state;
    char last[320];
    sw_lens lens = profile();
    sw_photo shot = photo();
    shot.focal_mm = 4.3; /* 1.2 %: rounding */
    assert_int_equal(doubts(&lens, &shot, last), 0);
    shot.focal_mm = 4.4; /* 3.4 % */
    assert_int_equal(doubts(&lens, &shot, last), 1);
    assert_non_null(strstr(last, "4.25 mm"));
    assert_non_null(strstr(last, "4.4 mm"));
    strcpy(shot.camera, "Maker Two");
    assert_int_equal(doubts(&lens, &shot, last), 2);
    shot = photo();
    shot.focal_mm = 0.0; /* unknown */
    assert_int_equal(doubts(&lens, &shot, last), 0);
    shot = photo();
    lens.focal_mm = 0.0;
    assert_int_equal(doubts(&lens, &shot, last), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(sizes), cmocka_unit_test(cameras),
                                       cmocka_unit_test(focal_lengths)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
