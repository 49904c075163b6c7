/* Whoever calls the library is refused what the program refuses: figures outside their range, ends included, NaN, and what
 * contradicts itself. Zero stays "nothing said". */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspect/options.h"
#include "seamwright/arrange.h"
#include "seamwright/card.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/recheck.h"

static const sw_photo SHOT = {.width_px = 4000, .height_px = 3000, .bits = 8, .orientation = 1, .file = "table.jpg"};

static void say(const char *what, const sw_error *err, const char *why)
{
    if (!strstr(err->text, why))
        fail_msg("%s: \"%s\" does not say \"%s\"", what, err->text, why);
}

/* Refused by sw_inspect, before it looks at a pixel. */
static void refuse(const sw_options *options, const char *why)
{
    sw_inspection inspection = {.tile_count = 9};
    sw_error err = {{0}};
    assert_int_equal(sw_inspect(&SHOT, options, NULL, NULL, &inspection, &err), SW_BAD_INPUT);
    say("sw_inspect", &err, why);
    assert_true(inspection.tile_count == 0 && inspection.tolerance_mm == 0);
}

static void take(const sw_options *options)
{
    sw_options settled;
    sw_error err = {{0}};
    if (sw_options_settle(options, &SHOT, &settled, &err) != SW_OK)
        fail_msg("refused: %s", err.text);
}

/* One figure: both ends and zero are taken; what lies beyond, a figure below zero and NaN are refused. */
static void ends(sw_options *options, double *figure, sw_range range, const char *why)
{
    const double fine[] = {range.least, range.most, 0};
    const double wrong[] = {range.least > 0 ? 0.999 * range.least : -0.001, 1.001 * range.most, -3, NAN, INFINITY};
    for (size_t i = 0; i < sizeof fine / sizeof fine[0]; i++) {
        *figure = fine[i];
        take(options);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        *figure = wrong[i];
        refuse(options, why);
    }
    *figure = 0;
}

/* Corners that cannot be a table's or a card's, how many cards; and places in one photo when there are several. */
static sw_status no_photo(void *context, int which, sw_photo *photo, sw_error *err)
{
    (void)context, (void)which, (void)photo, (void)err;
    fail_msg("a photo was loaded");
    return SW_BROKEN;
}

static void corners(void **state)
{
    (void)state;
    const sw_corners fine = {{{210, 180}, {3400, 190}, {3390, 2300}, {200, 2290}}},
                     outside = {{{210, 180}, {4000, 190}, {3390, 2300}, {200, 2290}}},
                     small = {{{210, 180}, {269, 190}, {262, 240}, {200, 242}}};
    const sw_corners cards[2] = {fine, small};
    sw_inspection combined = {.tile_count = 9};
    sw_error err = {{0}};
    int which = 7;
    take(&(sw_options){.corners = &fine, .squares = &fine, .square_count = 1});
    refuse(&(sw_options){.corners = &outside}, "--corners 4000,190 lies outside the picture");
    refuse(&(sw_options){.corners = &small}, "--corners");
    refuse(&(sw_options){.squares = &outside, .square_count = 1}, "--square 4000,190 lies outside the picture");
    refuse(&(sw_options){.squares = cards, .square_count = 2}, "less than 60 pixels apart");
    refuse(&(sw_options){.squares = cards, .square_count = 0}, "1 to 32 cards can be pointed at, not 0");
    refuse(&(sw_options){.squares = cards, .square_count = 33}, "not 33");
    for (int k = 0; k < 2; k++) {
        sw_options o = {.corners = k ? NULL : &fine, .squares = k ? &fine : NULL, .square_count = (size_t)k};
        assert_int_equal(sw_inspect_several(2, no_photo, NULL, &o, NULL, NULL, &combined, &which, &err), SW_BAD_INPUT);
        say("sw_inspect_several", &err, "places in one photo and cannot be those of 2");
        assert_true(combined.tile_count == 0 && which == -1);
    }
}

static void figures_of_an_inspection(void **state)
{
    (void)state;
    sw_options o = {.card_thickness_given = true};
    ends(&o, &o.tolerance_mm, SW_TOLERANCE_MM, "the tolerance must be from 0.01 to 20 mm");
    ends(&o, &o.step_mm, SW_STEP_MM, "between stations must be from 0.1 to 50 mm");
    ends(&o, &o.tile_mm, SW_TILE_MM, "a tile's side must be from 20 to 2000 mm");
    ends(&o, &o.height_mm, SW_HEIGHT_MM, "the height of the tops must be from 0.5 to 500 mm");
    ends(&o, &o.card_thickness_mm, SW_CARD_THICKNESS_MM, "the cards' thickness must be from 0 to 20 mm");
}

static void defaults(void **state)
{
    (void)state;
    sw_options settled;
    assert_int_equal(sw_options_settle(NULL, &SHOT, &settled, NULL), SW_OK);
    assert_true(settled.tolerance_mm == 0.5 && settled.step_mm == 1 && settled.tile_mm == 0);
    assert_true(settled.reference.outer_x_mm == 100 && settled.reference.outer_y_mm == 100);
    assert_true(settled.reference.inner_x_mm == 60 && settled.reference.inner_y_mm == 60);
    const sw_options plain = {.reference = {80, 80, 0, 0}};
    assert_int_equal(sw_options_settle(&plain, &SHOT, &settled, NULL), SW_OK);
    assert_true(settled.reference.outer_x_mm == 80 && settled.reference.inner_x_mm == 0);
}

static void what_contradicts_itself(void **state)
{
    (void)state;
    refuse(&(sw_options){.columns = 27}, "1 to 26 tiles across and 1 to 26 down");
    refuse(&(sw_options){.rows = 27}, "1 to 26 tiles");
    refuse(&(sw_options){.columns = -1, .rows = 3}, "1 to 26 tiles");
    take(&(sw_options){.columns = 26, .rows = 26});
    refuse(&(sw_options){.reference = {100, 80, 60, 60}}, "no square");
    refuse(&(sw_options){.reference = {60, 60, 100, 100}}, "outer side first");
    refuse(&(sw_options){.reference = {100, NAN, 60, 60}}, "outer sides must be from 20 to 1000 mm");
    refuse(&(sw_options){.reference = {100, 100, NAN, 60}}, "no square");
    refuse(&(sw_options){.reference = {0, 0, 60, 60}}, "outer sides");
    const sw_tile_height twice[] = {{"A1", 45}, {"A1", 46}};
    refuse(&(sw_options){.heights = twice, .height_count = 2}, "named twice");
    const sw_lens lens = {.width_px = 3000, .height_px = 4000};
    refuse(&(sw_options){.lens = &lens}, "pictures of 3000 x 4000 pixels, but table.jpg has 4000 x 3000");
    const sw_lens same = {.width_px = 4000, .height_px = 3000};
    take(&(sw_options){.lens = &same});
}

static sw_inspection one_tile(void)
{
    static sw_tile tile = {.name = "A1"};
    return (sw_inspection){.tolerance_mm = 0.5, .table = {1, 1, .tile_mm = 300}, .tiles = &tile, .tile_count = 1};
}

/* One range for all: what an inspection may be asked for, a plan, a recheck and an arrangement may be, too. */
static void tolerances_of_what_follows(void **state)
{
    (void)state;
    static const double all[] = {0.01, 20, 0.0099, 20.1, -3, NAN};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        const sw_inspection first = one_tile();
        const bool fine = i < 2;
        sw_plan plan;
        sw_recheck recheck;
        sw_arrangement arrangement;
        sw_error planned = {{0}}, rechecked = {{0}}, arranged = {{0}};
        const sw_plan_options for_plan = {.tolerance_mm = all[i]};
        const sw_arrange_options for_arrange = {.tolerance_mm = all[i]};
        sw_plan_make(&first, 1, NULL, &for_plan, &plan, &planned);
        sw_recheck_make(&first, &first, NULL, NULL, all[i], &recheck, &rechecked);
        sw_arrange(&first, 1, NULL, &for_arrange, NULL, NULL, &arrangement, &arranged);
        const char *why = "the tolerance must be from 0.01 to 20 mm";
        assert_true(fine == !strstr(planned.text, why));
        assert_true(fine == !strstr(rechecked.text, why));
        assert_true(fine == !strstr(arranged.text, why));
        sw_plan_free(&plan);
        sw_recheck_free(&recheck);
        sw_arrangement_free(&arrangement);
    }
}

static void cuts_heights_and_seconds(void **state)
{
    (void)state;
    const sw_inspection first = one_tile();
    sw_plan plan;
    sw_arrangement arrangement;
    sw_error err = {{0}};
    assert_int_equal(sw_plan_make(&first, 1, NULL, &(sw_plan_options){.deepest_cut_mm = 21}, &plan, &err),
                     SW_BAD_INPUT);
    say("plan", &err, "the deepest cut must be from 0.1 to 20 mm");
    assert_int_equal(sw_plan_make(&first, 1, NULL, &(sw_plan_options){.height_mm = -1}, &plan, &err), SW_BAD_INPUT);
    say("plan", &err, "the height of the side faces must be from 0.5 to 500 mm");
    const sw_arrange_options never = {.seconds = -1};
    assert_int_equal(sw_arrange(&first, 1, NULL, &never, NULL, NULL, &arrangement, &err), SW_BAD_INPUT);
    say("arrange", &err, "-1 seconds");
}

static void photos_of_one_table(void **state)
{
    (void)state;
    const char *many[SW_TABLE_PHOTOS_MOST + 1] = {0};
    int which = -1;
    sw_error err = {{0}};
    assert_int_equal(sw_photos_check(many, SW_TABLE_PHOTOS_MOST + 1, &which, &err), SW_BAD_INPUT);
    say("photos", &err, "51 photos of one table are too many");
    sw_inspection combined;
    assert_int_equal(sw_inspection_combine(NULL, SW_TABLE_PHOTOS_MOST + 1, &combined, &err), SW_BAD_INPUT);
    say("combine", &err, "51 photos of one table are too many");
}

static void cards(void **state)
{
    (void)state;
    const struct {
        sw_card card;
        const char *why;
    } wrong[] = {{{.outer_mm = 100}, "a frame has two sides"},
                 {{.kind = SW_CARD_PLAIN, .outer_mm = 100, .inner_mm = 60}, "a plain square has one side"},
                 {{.kind = SW_CARD_PLAIN, .outer_mm = 10}, "from 20 to 1000 mm"},
                 {{.kind = SW_CARD_CHECKERBOARD, .board = {3, 7, 25}}, "4 to 40 squares each way"},
                 {{.kind = SW_CARD_CHECKERBOARD, .board = {10, 7, 201}}, "from 3 to 200 mm"},
                 {{.kind = SW_CARD_PLAIN, .outer_mm = 200}, "does not fit on A4 paper"}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        sw_error err = {{0}};
        assert_int_equal(sw_card_write(&wrong[i].card, "refused.pdf", &err), SW_BAD_INPUT);
        say("card", &err, wrong[i].why);
        assert_null(fopen("refused.pdf", "r"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners),
        cmocka_unit_test(figures_of_an_inspection),
        cmocka_unit_test(defaults),
        cmocka_unit_test(what_contradicts_itself),
        cmocka_unit_test(tolerances_of_what_follows),
        cmocka_unit_test(cuts_heights_and_seconds),
        cmocka_unit_test(photos_of_one_table),
        cmocka_unit_test(cards),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
