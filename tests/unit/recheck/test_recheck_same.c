/* Whether two inspections show the same tiles: sanding takes away, and nothing grows. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/defaults_and_ranges.h"
#include "support/recheck_make.h"

static const made_photo CALM = {.scale = 1, .gap_mm = 1.2, .seed = 1};

static bool says(const sw_recheck *recheck, const char *words)
{
    for (size_t i = 0; i < recheck->notes.count; i++)
        if (strstr(recheck->notes.list[i].text, words))
            return true;
    return false;
}

/* Tiles that are larger here and smaller there than those of before, as another table's are. */
static void other_tiles_are_refused(void **state)
{
    (void)state;
    const made_cut cuts[] = {{.tile = 0, .side = SW_EAST, .wedge_mm = 3},
                             {.tile = 3, .side = SW_NORTH, .bow_mm = 2},
                             {.tile = 1, .side = SW_EAST, .wedge_mm = 3},
                             {.tile = 2, .side = SW_NORTH, .bow_mm = 2}};
    sw_inspection one, other;
    sw_recheck recheck;
    sw_error err = {""};
    made_photo photo = CALM;
    photo.cuts = cuts;
    photo.cut_count = 2;
    made_inspection(&photo, &one);
    photo.cuts = cuts + 2;
    made_inspection(&photo, &other);
    assert_int_equal(sw_recheck_make(&one, &other, NULL, NULL, 0, &recheck, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "these are not the same tiles: 2 of 4"));
    assert_null(recheck.seams);
    assert_int_equal(sw_recheck_make(&other, &one, NULL, NULL, 0, &recheck, &err), SW_BAD_INPUT);
    sw_inspection_free(&one);
    sw_inspection_free(&other);
}

/* Photographed from another side of the table, and nobody says so. */
static void a_turned_table_is_known_again(void **state)
{
    (void)state;
    static const sw_place turned[3][MADE_TILES] = {
        {{2, 1}, {0, 1}, {3, 1}, {1, 1}}, {{3, 2}, {2, 2}, {1, 2}, {0, 2}}, {{1, 3}, {3, 3}, {0, 3}, {2, 3}}};
    const made_cut cuts[] = {{.tile = 0, .side = SW_EAST, .wedge_mm = 3}, {.tile = 2, .side = SW_NORTH, .bow_mm = 2}};
    for (int turns = 1; turns < 4; turns++) {
        sw_inspection before, after;
        sw_recheck recheck;
        made_photo photo = CALM;
        photo.cuts = cuts;
        photo.cut_count = 2;
        made_inspection(&photo, &before);
        photo.places = turned[turns - 1];
        made_inspection(&photo, &after);
        assert_int_equal(sw_recheck_make(&before, &after, NULL, NULL, 0, &recheck, NULL), SW_OK);
        for (int i = 0; i < MADE_TILES; i++) {
            assert_int_equal(recheck.places[i].tile, turned[turns - 1][i].tile);
            assert_int_equal(recheck.places[i].turns, turns);
        }
        assert_int_equal(recheck.edge_count, 0); /* nothing came off */
        assert_true(says(&recheck, "shows the table turned by"));
        sw_recheck_free(&recheck);
        sw_inspection_free(&before);
        sw_inspection_free(&after);
    }
}

/* Every edge sanded, evenly or not, and the two files the wrong way round: the same tiles for all that. */
static void sanded_tiles_are_the_same(void **state)
{
    (void)state;
    made_cut cuts[4 * MADE_TILES];
    for (int i = 0; i < 4 * MADE_TILES; i++)
        cuts[i] = (made_cut){.tile = i / 4,
                             .side = (sw_side)(i % 4),
                             .even_mm = i % 3 == 0 ? 1.2 : 0,
                             .wedge_mm = i % 3 == 1 ? 0.9 : 0,
                             .bow_mm = i % 3 == 2 ? 0.8 : 0};
    for (unsigned seed = 1; seed <= 10; seed++) {
        made_photo after = CALM;
        sw_inspection before, sanded;
        sw_recheck recheck;
        after.cuts = cuts;
        after.cut_count = 4 * MADE_TILES;
        after.noise_mm = 0.03;
        after.shift_mm = 0.03;
        after.seed = seed;
        made_inspection(&CALM, &before);
        made_inspection(&after, &sanded);
        assert_int_equal(sw_recheck_make(&before, &sanded, NULL, NULL, 0, &recheck, NULL), SW_OK);
        assert_false(says(&recheck, "the right way round"));
        sw_recheck_free(&recheck);
        assert_int_equal(sw_recheck_make(&sanded, &before, NULL, NULL, 0, &recheck, NULL), SW_OK);
        assert_true(says(&recheck, "the right way round"));
        sw_recheck_free(&recheck);
        sw_inspection_free(&before);
        sw_inspection_free(&sanded);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(other_tiles_are_refused),
        cmocka_unit_test(a_turned_table_is_known_again),
        cmocka_unit_test(sanded_tiles_are_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
