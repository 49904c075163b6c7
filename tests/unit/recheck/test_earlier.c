/* What a second inspection takes from the first, and what it leaves. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/defaults_and_ranges.h"
#include "seamwright/earlier.h"
#include "support/fixture.h"

static int set_up(void **state)
{
    sw_earlier *e = calloc(1, sizeof *e);
    assert_non_null(e);
    fixture_inspection(&e->inspection);
    e->inspection.scale.reference = (sw_reference){99.6, 99.8, 59.7, 59.9};
    e->inspection.table.height_mm = 0;
    for (size_t i = 0; i < e->inspection.tile_count; i++)
        e->inspection.tiles[i].height_mm = e->inspection.tiles[i].height_u95_mm = NAN;
    *state = e;
    return 0;
}

static int tear_down(void **state)
{
    sw_earlier_free(*state);
    free(*state);
    return 0;
}

static void what_was_not_said_is_as_it_was(void **state)
{
    sw_earlier *e = *state;
    sw_options options = {.tile_mm = 0};
    sw_error err = {""};
    e->inspection.given.card_thickness = true;
    e->inspection.given.lens.source = SW_LENS_PROFILE;
    e->inspection.tolerance_mm = 0.7;
    e->inspection.lippage_mm = 1;
    assert_int_equal(sw_earlier_options(e, NULL, 1, &options, &err), SW_OK);
    assert_memory_equal(&options.reference, &e->inspection.scale.reference, sizeof options.reference);
    assert_true(options.tile_mm == 300 && options.tolerance_mm == 0.7 && options.lippage_mm == 1);
    assert_true(options.card_thickness_given && options.card_thickness_mm == 0); /* 0 is a thickness too */
    assert_ptr_equal(options.lens, &e->inspection.given.lens);
    assert_int_equal(options.columns + options.rows, 0);
    assert_true(options.height_mm == 0 && options.height_count == 0);
}

static void what_is_said_anew_holds(void **state)
{
    sw_earlier *e = *state;
    sw_lens lens = {.source = SW_LENS_PROFILE};
    const sw_options said = {.reference = {60, 60, 36, 36},
                             .tile_mm = 250,
                             .tolerance_mm = 0.4,
                             .lippage_mm = 2,
                             .height_mm = 30,
                             .lens = &lens,
                             .card_thickness_given = true,
                             .card_thickness_mm = 0.2};
    sw_options options = said;
    sw_error err = {""};
    e->inspection.given = (sw_given){
        .card_thickness = true, .card_thickness_mm = 1, .height_mm = 45, .lens = {.source = SW_LENS_PROFILE}};
    assert_int_equal(sw_earlier_options(e, NULL, 1, &options, &err), SW_OK);
    assert_memory_equal(&options, &said, sizeof said);
}

/* A1, B1 ... C3, by place; the name stands in front. */
static double height_at(const sw_options *options, const char *name)
{
    for (size_t i = 0; i < options->height_count; i++)
        if (strcmp(options->heights[i].tile, name) == 0)
            return options->heights[i].height_mm;
    return 0;
}

static void heights_go_with_their_tiles(void **state)
{
    sw_earlier *e = *state;
    sw_options options = {.tile_mm = 0};
    sw_layout layout;
    sw_error err = {""};
    e->inspection.given.height_mm = 45;
    e->inspection.given.heights = calloc(1, sizeof *e->inspection.given.heights);
    assert_non_null(e->inspection.given.heights);
    e->inspection.given.heights[0] = (sw_tile_height){"B1", 55};
    e->inspection.given.height_count = 1;
    assert_int_equal(sw_layout_read("C3 B3 A3 / A1 B2 C1 / A2 B1r C2", &e->inspection, &layout, &err), SW_OK);
    assert_int_equal(sw_earlier_options(e, &layout, 1, &options, &err), SW_OK);
    assert_int_equal(options.height_count, 1);
    assert_true(options.height_mm == 45 && height_at(&options, "B3") == 55);
    sw_layout_free(&layout);
}

static void measure_tops(sw_inspection *ins, double b2_mm)
{
    for (size_t i = 0; i < ins->tile_count; i++) {
        ins->tiles[i].height_mm = i == 4 ? b2_mm : 0;
        ins->tiles[i].height_u95_mm = 0.2;
    }
    ins->scale.square_count = 4;
}

/* Several photos measured them; one photo alone could not. */
static void tops_stand_as_they_were_measured(void **state)
{
    sw_earlier *e = *state;
    sw_options options = {.tile_mm = 0};
    sw_inspection later;
    sw_error err = {""};
    measure_tops(&e->inspection, 1.5);
    assert_int_equal(sw_earlier_options(e, NULL, 1, &options, &err), SW_OK);
    assert_true(options.height_mm == SW_HEIGHT_MM.usual);
    assert_true(height_at(&options, "B2") == SW_HEIGHT_MM.usual + 1.5);
    assert_true(height_at(&options, "C3") == SW_HEIGHT_MM.usual);
    /* Nobody said how high they stand over the table, and no later round may think so. */
    fixture_inspection(&later);
    later.given.height_mm = later.table.height_mm = SW_HEIGHT_MM.usual;
    assert_int_equal(sw_earlier_follow(e, "a.seams", &later, &err), SW_OK);
    assert_true(later.given.height_mm == 0 && later.table.height_mm == 0);
    sw_inspection_free(&later);
}

static void nothing_is_said_of_tops_that(void **state, int photos, double b2_mm, int squares)
{
    sw_earlier *e = *state;
    sw_options options = {.tile_mm = 0};
    sw_error err = {""};
    measure_tops(&e->inspection, b2_mm);
    e->inspection.scale.square_count = squares;
    assert_int_equal(sw_earlier_options(e, NULL, photos, &options, &err), SW_OK);
    assert_true(options.height_mm == 0 && options.height_count == 0 && !e->tops_as_measured);
}

static void are_measured_anew_by_several_photos(void **state)
{
    nothing_is_said_of_tops_that(state, 2, 1.5, 4);
}

static void have_a_card_each(void **state)
{
    nothing_is_said_of_tops_that(state, 1, 1.5, 9);
}

static void are_level_as_far_as_is_known(void **state)
{
    nothing_is_said_of_tops_that(state, 1, 0.15, 4);
}

static void rounds_are_counted_on(void **state)
{
    sw_earlier *e = *state;
    sw_inspection later;
    sw_error err = {""};
    e->inspection.rounds = calloc(1, sizeof *e->inspection.rounds);
    assert_non_null(e->inspection.rounds);
    e->inspection.rounds[0] =
        (sw_round){.file = "first.jpg", .over = 9, .too_close = 1, .seams = 12, .tolerance_mm = 0.5};
    e->inspection.round_count = 1;
    fixture_all_within(&later);
    assert_int_equal(sw_earlier_follow(e, "rounds/second.seams", &later, &err), SW_OK);
    assert_int_equal(later.round_count, 2);
    assert_string_equal(later.after, "rounds/second.seams");
    assert_string_equal(later.rounds[0].file, "first.jpg");
    assert_int_equal(later.rounds[0].over, 9);
    assert_string_equal(later.rounds[1].file, e->inspection.file);
    assert_int_equal(later.rounds[1].over, 4); /* see fixture.h */
    assert_int_equal(later.rounds[1].seams, FIXTURE_SEAMS);
    assert_true(later.rounds[1].tolerance_mm == later.tolerance_mm);
    sw_inspection_free(&later);
}

static void an_older_file_lacks_the_lens(void **state)
{
    sw_earlier *e = *state;
    e->inspection.scale.lens.source = SW_LENS_PROFILE;
    assert_true(sw_earlier_lacks_lens(e));
    e->inspection.given.lens.source = SW_LENS_PROFILE;
    assert_false(sw_earlier_lacks_lens(e));
    e->inspection.given.lens.source = e->inspection.scale.lens.source = SW_LENS_NONE;
    assert_false(sw_earlier_lacks_lens(e));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_was_not_said_is_as_it_was, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_said_anew_holds, set_up, tear_down),
        cmocka_unit_test_setup_teardown(heights_go_with_their_tiles, set_up, tear_down),
        cmocka_unit_test_setup_teardown(tops_stand_as_they_were_measured, set_up, tear_down),
        cmocka_unit_test_setup_teardown(are_measured_anew_by_several_photos, set_up, tear_down),
        cmocka_unit_test_setup_teardown(have_a_card_each, set_up, tear_down),
        cmocka_unit_test_setup_teardown(are_level_as_far_as_is_known, set_up, tear_down),
        cmocka_unit_test_setup_teardown(rounds_are_counted_on, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_older_file_lacks_the_lens, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
