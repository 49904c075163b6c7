/* A lens profile of another picture size is refused with both sizes; another camera or zoom is doubted. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "cli/lens_match.h"

static sw_lens profile(void)
{
    return (sw_lens){
        .source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 3000, .camera = "Maker One", .focal_mm = 4.25};
}

static sw_photo photo(void)
{
    return (sw_photo){.width_px = 4000, .height_px = 3000, .camera = "Maker One", .focal_mm = 4.25};
}

static void sizes(void **state)
{
    (void)state;
    sw_lens lens = profile();
    sw_photo shot = photo();
    sw_error err = {{0}};
    assert_int_equal(lens_match_size(&lens, &shot, "table.jpg", &err), SW_OK);
    shot.width_px = 3000;
    shot.height_px = 4000;
    assert_int_equal(lens_match_size(&lens, &shot, "table.jpg", &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "4000 x 3000"));
    assert_non_null(strstr(err.text, "table.jpg has 3000 x 4000"));
    shot = photo();
    shot.height_px = 2999;
    assert_int_equal(lens_match_size(&lens, &shot, "table.jpg", &err), SW_BAD_INPUT);
}

static void cameras(void **state)
{
    (void)state;
    char doubts[LENS_DOUBTS_MOST][320];
    sw_lens lens = profile();
    sw_photo shot = photo();
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 0);
    strcpy(shot.camera, "Maker Two");
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 1);
    assert_non_null(strstr(doubts[0], "(Maker One)"));
    assert_non_null(strstr(doubts[0], "(Maker Two)"));
    shot.camera[0] = '\0'; /* unknown: nothing to doubt */
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 0);
    shot = photo();
    lens.camera[0] = '\0';
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 0);
}

static void focal_lengths(void **state)
{
    (void)state;
    char doubts[LENS_DOUBTS_MOST][320];
    sw_lens lens = profile();
    sw_photo shot = photo();
    shot.focal_mm = 4.3; /* 1.2 %: rounding */
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 0);
    shot.focal_mm = 4.4; /* 3.4 % */
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 1);
    assert_non_null(strstr(doubts[0], "4.25 mm"));
    assert_non_null(strstr(doubts[0], "4.4 mm"));
    strcpy(shot.camera, "Maker Two");
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 2);
    shot = photo();
    shot.focal_mm = 0.0; /* unknown */
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 0);
    shot = photo();
    lens.focal_mm = 0.0;
    assert_int_equal(lens_match_doubts(&lens, &shot, doubts), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(sizes), cmocka_unit_test(cameras),
                                       cmocka_unit_test(focal_lengths)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
