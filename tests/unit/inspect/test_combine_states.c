/* What a place of a seam is when photos differ about it: a chip, an end, seen well or not at all; and whose readings count
 * then. */
#include "support/maths_check.h"

#include <string.h>

#include "seamwright/inspect.h"
#include "support/fixture_noise.h"

enum { MOST = 4, PLACE = 150 };

/* One letter a photo: o seen well, c chip, e end, u unseen. counts: those whose gaps make the mean. */
typedef struct meeting {
    const char *photos, *counts;
    sw_station_state is;
} meeting;

static const meeting MEETINGS[] = {
    {"oo", "11", SW_STATION_OK},     {"ou", "10", SW_STATION_OK},       {"uu", "00", SW_STATION_UNSEEN},
    {"co", "10", SW_STATION_CHIP},   {"ce", "10", SW_STATION_CHIP},     {"cu", "10", SW_STATION_CHIP},
    {"oe", "11", SW_STATION_OK},     {"cou", "100", SW_STATION_CHIP},   {"coo", "011", SW_STATION_OK},
    {"coe", "011", SW_STATION_OK},   {"cee", "011", SW_STATION_END},    {"cco", "110", SW_STATION_CHIP},
    {"eeo", "111", SW_STATION_END},  {"ccoo", "1100", SW_STATION_CHIP}, {"ccoe", "1100", SW_STATION_CHIP},
    {"cooe", "0111", SW_STATION_OK}, {"ceeo", "0111", SW_STATION_END},
};

static sw_station_state state_of(char letter)
{
    return letter == 'c'   ? SW_STATION_CHIP
           : letter == 'e' ? SW_STATION_END
           : letter == 'u' ? SW_STATION_UNSEEN
                           : SW_STATION_OK;
}

/* Gap of photo k where it differs: no two means of them are alike. */
static double gap_of(int k)
{
    return 1 + 0.1 * (1 << k);
}

/* A stretch of three stations, so that a neighbour's state does not matter. */
static void set_place(sw_seam *seam, char letter, double gap)
{
    for (int p = PLACE - 1; p <= PLACE + 1; p++) {
        sw_station *s = &seam->stations[p];
        s->state = state_of(letter);
        s->gap_mm = letter == 'u' ? NAN : gap;
        s->u95_mm = letter == 'u' ? NAN : 0.1;
    }
}

static void the_most_photos_decide(void **state)
{
    (void)state;
    static const fixture_noise even = {0, 0.03, 0.04};
    for (size_t m = 0; m < sizeof MEETINGS / sizeof *MEETINGS; m++) {
        const meeting *of = &MEETINGS[m];
        int count = (int)strlen(of->photos), n = 0;
        sw_inspection photos[MOST], out;
        sw_error err = {""};
        double sum = 0;
        for (int k = 0; k < count; k++) {
            char name[16] = {(char)('1' + k), '.', 'j', 'p', 'g'};
            fixture_shot(k, name, &even, &photos[k]);
            photos[k].seams[1].mean_mm += 1e-6 * k; /* or it would count as the same picture */
            set_place(fixture_seam(&photos[k], "A1-B1"), of->photos[k], gap_of(k));
            sum += of->counts[k] == '1' ? gap_of(k) : 0;
            n += of->counts[k] == '1';
        }
        if (sw_inspection_combine(photos, (size_t)count, &out, &err))
            fail_msg("%s: %s", of->photos, err.text);
        const sw_station *s = &fixture_seam(&out, "A1-B1")->stations[PLACE];
        if (s->state != of->is)
            fail_msg("%s: %s instead of %s", of->photos, sw_station_state_name(s->state),
                     sw_station_state_name(of->is));
        if (n)
            expect_near(of->photos, s->gap_mm, sum / n, 1e-6);
        else
            assert_true(isnan(s->gap_mm));
        sw_inspection_free(&out);
        for (int k = 0; k < count; k++)
            sw_inspection_free(&photos[k]);
    }
}

/* Outlines are the plain means of the photos'; chips at the table's rim come along. */
static void outlines_are_averaged(void **state)
{
    (void)state;
    static const fixture_noise even = {0.001, 0.03, 0.04};
    static const double off[] = {0.1, 0.2, 0.6};
    sw_inspection photos[3], out;
    sw_error err = {""};
    size_t seen = 0;
    for (int k = 0; k < 3; k++) {
        char name[16] = {(char)('1' + k), '.', 'j', 'p', 'g'};
        fixture_shot(k, name, &even, &photos[k]);
        for (size_t e = 0; e < 4 * photos[k].tile_count; e++)
            for (size_t p = 0; p < photos[k].tiles[e / 4].edges[e % 4].point_count; p++)
                photos[k].tiles[e / 4].edges[e % 4].points[p].proud_mm += off[k];
    }
    if (sw_inspection_combine(photos, 3, &out, &err))
        fail_msg("%s", err.text);
    for (size_t e = 0; e < 4 * out.tile_count; e++) {
        const sw_edge *one = &photos[0].tiles[e / 4].edges[e % 4], *all = &out.tiles[e / 4].edges[e % 4];
        for (size_t p = 0; p + 2 < all->point_count; p++)
            if (one->points[p].state == SW_STATION_OK && one->points[p + 1].state == SW_STATION_OK) {
                expect_near("proud", all->points[p].proud_mm - one->points[p].proud_mm, 0.3 - 0.1, 1e-9);
                seen++;
            }
    }
    assert_true(seen > 100);
    assert_int_equal(out.tiles[0].chip_count, 1); /* at the table's rim */
    expect_near("chip", out.tiles[0].chips[0].at_mm, photos[0].tiles[0].chips[0].at_mm, 1e-9);
    assert_true(out.tiles[0].chips[0].at_mm > 0);
    sw_inspection_free(&out);
    for (int k = 0; k < 3; k++)
        sw_inspection_free(&photos[k]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_most_photos_decide),
                                       cmocka_unit_test(outlines_are_averaged)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
