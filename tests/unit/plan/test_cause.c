/* What is wrong with a seam, told from cuts whose shape is plain. */
#include "support/maths_check.h"

#include <string.h>

#include "plan/cause.h"
#include "plan/removal_words.h"

enum { KNOTS = 13 };
static const double LENGTH_MM = 300;

/* The cause where so much comes off the first tile's edge, in hundredths of a mm at KNOTS places. */
static void expect_cause(const int first[KNOTS], const int second[KNOTS], bool upright, bool bevel, const char *cause)
{
    double mm[2][KNOTS];
    char text[120];
    sw_seam seam = {.upright = upright, .length_mm = LENGTH_MM};
    const sw_inspection ins = {.seams = &seam, .seam_count = 1};
    sw_cut cuts[2];
    for (int rim = 0; rim < 2; rim++) {
        for (int k = 0; k < KNOTS; k++)
            mm[rim][k] = (rim ? second : first)[k] / 100.0;
        cuts[rim] = (sw_cut){.rim = rim, .length_mm = LENGTH_MM, .knots = KNOTS, .remove_mm = mm[rim]};
    }
    const sw_closing closing = {.up = {.cuts = cuts, .count = 2}, .bevel = &bevel};
    sw_cause_say(&ins, &closing, 0, text, sizeof text);
    assert_string_equal(text, cause);
}

static const int NONE[KNOTS], NORTH[KNOTS] = {80, 70, 60, 50, 40, 30, 20, 10},
                              ALONG[KNOTS] = {30, 31, 32, 33, 32, 31, 30, 31, 32, 33, 32, 31, 30},
                              SOUTH[KNOTS] = {[10] = 20, [11] = 40, [12] = 60},
                              BUMP[KNOTS] = {[4] = 20, [5] = 50, [6] = 20},
                              WEDGE[KNOTS] = {100, 92, 83, 75, 67, 58, 50, 42, 33, 25, 17, 8, 0};

static void ends_bumps_and_whole_lengths(void **state)
{
    (void)state;
    expect_cause(NONE, NONE, true, false, "");
    expect_cause(NORTH, NONE, true, false, "held open at its north end");
    expect_cause(NONE, NORTH, false, false, "held open at its west end");
    expect_cause(SOUTH, NONE, true, false, "held open at its south end");
    expect_cause(NONE, SOUTH, false, false, "held open at its east end");
    expect_cause(NORTH, SOUTH, true, false, "held open at its ends");
    expect_cause(BUMP, NONE, true, false, "held open by a bump at 128 mm");
    expect_cause(ALONG, NONE, true, false, "its edges stand proud all along");
    expect_cause(WEDGE, NONE, true, false, "held open at its north end"); /* what tapers off holds at its thick end */
}

static void leaning_faces_come_first(void **state)
{
    (void)state;
    expect_cause(NONE, NONE, true, true, "open along its whole length");
    expect_cause(NORTH, NONE, true, true, "open along its whole length, and held open at its north end");
}

/* So much comes off a west or north edge, in hundredths of a mm at KNOTS places. */
static void expect_short(const int hundredths[KNOTS], sw_side side, const char *words)
{
    sw_removal places[KNOTS];
    sw_edge_plan edge = {.side = side, .length_mm = LENGTH_MM, .true_up = places, .true_up_count = KNOTS};
    char text[120];
    for (int k = 0; k < KNOTS; k++) {
        places[k] = (sw_removal){k * LENGTH_MM / (KNOTS - 1), hundredths[k] / 100.0};
        edge.deepest_mm = fmax(edge.deepest_mm, places[k].remove_mm);
    }
    sw_removal_words_short(&edge, text, sizeof text);
    assert_string_equal(text, words);
}

/* A stretch ends where less than 0.03 mm comes off, between two places in proportion: 0.10 to 0 over 25 mm is 17.5 mm. */
static void a_line_names_the_stretch(void **state)
{
    (void)state;
    expect_short(NONE, SW_WEST, "nothing off");
    expect_short(ALONG, SW_WEST, "all along, at most 0.3 mm off");
    expect_short(NORTH, SW_WEST, "from its north end to 192 mm, at most 0.8 mm off");
    expect_short(SOUTH, SW_NORTH, "from 229 mm to its east end, at most 0.6 mm off");
    expect_short(BUMP, SW_NORTH, "79 to 171 mm from its west end, at most 0.5 mm off");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(ends_bumps_and_whole_lengths),
                                       cmocka_unit_test(leaning_faces_come_first),
                                       cmocka_unit_test(a_line_names_the_stretch)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
