/* What came off, against what was taken off tiles made up for it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/defaults_and_ranges.h"
#include "support/recheck_make.h"

static const made_photo CALM = {.scale = 1, .gap_mm = 1.2, .seed = 1};

typedef struct result {
    sw_inspection before, after;
    sw_plan plan;
    sw_recheck recheck;
} result;

/* planned: cuts that the plan wanted, `times` as deep as made; NULL: no plan. */
static void compare(const made_photo *after, const made_cut *planned, int planned_count, double times, result *r)
{
    sw_error err = {""};
    sw_layout layout = {MADE_COLUMNS, MADE_ROWS, (sw_place *)after->places};
    made_photo before = CALM;
    before.noise_mm = after->noise_mm;
    before.shift_mm = after->shift_mm;
    before.seed = after->seed + 500;
    memset(&r->plan, 0, sizeof r->plan);
    made_inspection(&before, &r->before);
    made_inspection(after, &r->after);
    if (planned)
        made_plan(planned, planned_count, times, &r->plan);
    if (sw_recheck_make(&r->before, &r->after, after->places ? &layout : NULL, planned ? &r->plan : NULL, 0,
                        &r->recheck, &err) != SW_OK)
        fail_msg("%s", err.text);
}

static void done(result *r)
{
    sw_recheck_free(&r->recheck);
    sw_plan_free(&r->plan);
    sw_inspection_free(&r->before);
    sw_inspection_free(&r->after);
}

static const sw_edge_change *edge_of(const result *r, int tile, sw_side side)
{
    for (size_t i = 0; i < r->recheck.edge_count; i++)
        if (r->recheck.edges[i].tile == tile && r->recheck.edges[i].side == side)
            return &r->recheck.edges[i];
    return NULL;
}

static void near(double value, double expected, double slack)
{
    if (!(fabs(value - expected) <= slack))
        fail_msg("%.4f, expected %.4f within %.3f", value, expected, slack);
}

static int says(const result *r, const char *words)
{
    for (size_t i = 0; i < r->recheck.notes.count; i++)
        if (strstr(r->recheck.notes.list[i].text, words))
            return 1;
    return 0;
}

static void a_wedge_shows_without_a_plan(void **state)
{
    (void)state;
    const made_cut cut = {.tile = 0, .side = SW_EAST, .wedge_mm = 0.9};
    made_photo after = CALM;
    result r;
    after.cuts = &cut;
    after.cut_count = 1;
    after.seed = 2;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.edge_count, 1);
    const sw_edge_change *e = edge_of(&r, 0, SW_EAST);
    assert_non_null(e);
    near(e->taken_at_mm, 0, 6);
    /* Near the end where the wedge ends, a little could have come off all along without a sign: the middle of what fits
     * lies below the whole by no more than that. */
    near(e->taken_mm, 0.9, 0.1);
    near(e->taken_u95_mm, 0.3, 0.15);
    assert_int_equal(e->planned, 0);
    assert_int_equal(e->too_much, 0); /* without a plan nothing is too much */
    done(&r);
}

static void a_bow_shows_without_a_plan(void **state)
{
    (void)state;
    const made_cut cut = {.tile = 3, .side = SW_SOUTH, .bow_mm = 0.8};
    made_photo after = CALM;
    result r;
    after.cuts = &cut;
    after.cut_count = 1;
    after.seed = 3;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.edge_count, 1);
    const sw_edge_change *e = edge_of(&r, 3, SW_SOUTH);
    assert_non_null(e);
    near(e->taken_at_mm, 150, 25);
    near(e->taken_mm, 0.8, 0.08);
    done(&r);
}

/* Off east or west? Nothing tells, so both sides of the ± must hold either answer; together it is known. */
static void an_even_cut_is_known_only_together_or_with_a_plan(void **state)
{
    (void)state;
    const made_cut cut = {.tile = 1, .side = SW_EAST, .even_mm = 0.8};
    made_photo after = CALM;
    result r;
    after.cuts = &cut;
    after.cut_count = 1;
    after.seed = 4;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.edge_count, 1);
    const sw_edge_change *e = edge_of(&r, 1, SW_EAST);
    assert_non_null(e);
    near(e->together_mm, 0.8, 0.02);
    /* Before and after: a length to 0.19; two outlines, each a half of a minimum zone to 0.09 in variance; the light at
     * either edge, to 0.06 in the seam and 0.04 at the table's rim. */
    near(e->together_u95_mm, sqrt(2 * (0.19 * 0.19 + 0.09 * 0.09 + 0.06 * 0.06 + 0.04 * 0.04)), 0.003);
    near(e->taken_mm, 0.4, 0.1);
    assert_true(e->taken_mm + e->taken_u95_mm > 0.8 && e->taken_mm - e->taken_u95_mm < 0);
    assert_true(says(&r, "nothing on the tile tells them apart"));
    done(&r);
    compare(&after, &cut, 1, 1, &r);
    e = edge_of(&r, 1, SW_EAST);
    assert_int_equal(r.recheck.edge_count, 1);
    assert_non_null(e);
    near(e->taken_mm, 0.8, 0.02);
    assert_true(e->taken_u95_mm < 0.45);
    assert_int_equal(e->planned, 1);
    near(e->planned_mm, 0.8, 1e-9);
    assert_int_equal(e->too_much + e->not_enough + e->together_over, 0);
    assert_int_equal(r.recheck.notes.count, 0);
    done(&r);
}

static void several_edges_at_once(void **state)
{
    (void)state;
    const made_cut cuts[] = {{.tile = 0, .side = SW_EAST, .wedge_mm = 1.0},
                             {.tile = 0, .side = SW_NORTH, .bow_mm = 0.7},
                             {.tile = 2, .side = SW_WEST, .even_mm = 0.5, .wedge_mm = 0.4},
                             {.tile = 3, .side = SW_NORTH, .even_mm = 0.6}};
    made_photo after = CALM;
    result r;
    after.cuts = cuts;
    after.cut_count = 4;
    after.seed = 5;
    compare(&after, cuts, 4, 1, &r);
    assert_int_equal(r.recheck.edge_count, 4);
    for (int i = 0; i < 4; i++) {
        const sw_edge_change *e = edge_of(&r, cuts[i].tile, cuts[i].side);
        assert_non_null(e);
        near(e->taken_mm, made_taken(cuts, 4, e->tile, e->side, e->taken_at_mm), 0.08);
        near(e->planned_mm, made_taken(cuts, 4, e->tile, e->side, e->planned_at_mm), 1e-9);
        assert_int_equal(e->too_much + e->not_enough, 0);
    }
    done(&r);
}

static void too_much_is_told_and_comes_first(void **state)
{
    (void)state;
    const made_cut wanted[] = {{.tile = 0, .side = SW_EAST, .wedge_mm = 0.4},
                               {.tile = 2, .side = SW_EAST, .wedge_mm = 1.5}};
    const made_cut made[] = {{.tile = 0, .side = SW_EAST, .wedge_mm = 0.4, .bow_mm = 0.9},
                             {.tile = 2, .side = SW_EAST, .wedge_mm = 1.5}};
    made_photo after = CALM;
    result r;
    after.cuts = made;
    after.cut_count = 2;
    after.seed = 6;
    compare(&after, wanted, 2, 1, &r);
    const sw_edge_change *e = &r.recheck.edges[0];
    assert_int_equal(e->tile, 0);
    assert_int_equal(e->side, SW_EAST);
    assert_int_equal(e->too_much, 1);
    near(e->most_over_mm, 0.85, 0.15);
    near(e->most_over_at_mm, 160, 60);
    assert_true(says(&r, "Too much came off A1 east"));
    assert_int_equal(edge_of(&r, 2, SW_EAST)->too_much, 0);
    done(&r);
}

static void an_edge_that_was_not_planned_is_told(void **state)
{
    (void)state;
    const made_cut made[] = {{.tile = 1, .side = SW_SOUTH, .wedge_mm = 0.8},
                             {.tile = 1, .side = SW_WEST, .wedge_mm = 0.9}};
    made_photo after = CALM;
    result r;
    after.cuts = made;
    after.cut_count = 2;
    after.seed = 7;
    compare(&after, made, 1, 1, &r);
    const sw_edge_change *e = edge_of(&r, 1, SW_WEST);
    assert_non_null(e);
    assert_int_equal(e->planned, 0);
    assert_int_equal(e->too_much, 1);
    near(e->taken_mm, 0.9, 0.1);
    assert_true(says(&r, "Not in the plan, yet something came off: B1 west"));
    assert_int_equal(edge_of(&r, 1, SW_SOUTH)->too_much, 0);
    done(&r);
}

/* Sanded to nothing at the top edge, it takes a little of that: 0.4 mm is said of another edge, not of a bevelled one. */
static void a_bevel_that_reaches_the_top_edge_is_no_fault(void **state)
{
    (void)state;
    const made_cut cut = {.tile = 0, .side = SW_EAST, .wedge_mm = 0.4};
    const sw_removal none[2] = {{0, 0}, {300, 0}};
    for (int bevelled = 0; bevelled < 2; bevelled++) {
        sw_edge_plan edge = {.tile = 0, .side = SW_EAST, .bevel_mm = bevelled ? 1.2 : 0};
        const sw_plan plan = {.edges = &edge, .edge_count = 1};
        made_photo after = CALM;
        sw_recheck recheck;
        sw_inspection ins[2];
        made_inspection(&CALM, &ins[0]);
        after.cuts = &cut;
        after.cut_count = 1;
        after.seed = 12;
        edge.true_up = (sw_removal *)none;
        edge.true_up_count = 2;
        made_inspection(&after, &ins[1]);
        assert_int_equal(sw_recheck_make(&ins[0], &ins[1], NULL, &plan, 0, &recheck, NULL), SW_OK);
        assert_int_equal(recheck.edge_count, bevelled ? 0 : 1);
        sw_recheck_free(&recheck);
        sw_inspection_free(&ins[0]);
        sw_inspection_free(&ins[1]);
    }
}

static void not_enough_is_the_next_thing_to_do(void **state)
{
    (void)state;
    const made_cut cut = {.tile = 0, .side = SW_EAST, .wedge_mm = 0.2};
    made_photo after = CALM;
    result r;
    after.cuts = &cut;
    after.cut_count = 1;
    after.seed = 8;
    compare(&after, &cut, 1, 6, &r); /* 1.2 mm were wanted */
    const sw_edge_change *e = edge_of(&r, 0, SW_EAST);
    assert_non_null(e);
    assert_int_equal(e->not_enough, 1);
    assert_int_equal(r.recheck.stop, 0);
    assert_non_null(strstr(r.recheck.next, "Go on with the plan: 0.2"));
    done(&r);
}

/* Everything was sanded, the plan wanted one edge: its "untouched" edges must not be believed to hold the outlines. */
static void a_plan_that_was_not_followed_is_not_believed(void **state)
{
    (void)state;
    made_cut cuts[16];
    made_photo after = CALM;
    result r;
    int inside = 0;
    for (int i = 0; i < 16; i++)
        cuts[i] = (made_cut){.tile = i / 4,
                             .side = (sw_side)(i % 4),
                             .even_mm = 0.5 + 0.1 * (i % 3),
                             .wedge_mm = 0.2 * (i % 4),
                             .bow_mm = 0.15 * (i % 5)};
    after.cuts = cuts;
    after.cut_count = 16;
    after.seed = 11;
    compare(&after, cuts, 1, 1, &r);
    assert_true(says(&r, "is this the plan that was carried out?"));
    for (size_t i = 0; i < r.recheck.edge_count; i++) {
        const sw_edge_change *e = &r.recheck.edges[i];
        inside += fabs(e->taken_mm - made_taken(cuts, 16, e->tile, e->side, e->taken_at_mm)) <= e->taken_u95_mm;
        assert_true(e->together_over);
    }
    assert_int_equal(inside, (int)r.recheck.edge_count);
    done(&r);
}

static void where_nothing_came_off_nothing_is_told(void **state)
{
    (void)state;
    made_photo after = CALM;
    result r;
    after.noise_mm = 0.02;
    after.shift_mm = 0.02;
    for (unsigned seed = 1; seed <= 5; seed++) {
        after.seed = seed;
        compare(&after, NULL, 0, 0, &r);
        assert_int_equal(r.recheck.edge_count, 0);
        done(&r);
    }
}

/* A tile's edges keep their names when it lies elsewhere and turned. */
static void turned_and_moved_it_is_the_same(void **state)
{
    (void)state;
    const made_cut cuts[] = {{.tile = 0, .side = SW_EAST, .wedge_mm = 0.9},
                             {.tile = 2, .side = SW_NORTH, .bow_mm = 0.8}};
    const sw_place places[MADE_TILES] = {{2, 1}, {0, 1}, {3, 2}, {1, 0}};
    made_photo after = CALM;
    result r;
    after.cuts = cuts;
    after.cut_count = 2;
    after.places = places;
    after.seed = 9;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.edge_count, 2);
    const sw_edge_change *a = edge_of(&r, 0, SW_EAST), *b = edge_of(&r, 2, SW_NORTH);
    assert_non_null(a);
    assert_non_null(b);
    near(a->taken_mm, 0.9, 0.1);
    near(a->taken_at_mm, 0, 6);
    near(b->taken_mm, 0.8, 0.08);
    /* A2 turned right lies west of A1 turned right: its north edge faces A1's south. */
    const sw_seam_change *s = NULL;
    for (size_t i = 0; i < r.recheck.seam_count; i++)
        if (r.recheck.seams[i].seam == 0)
            s = &r.recheck.seams[i];
    assert_non_null(s);
    assert_int_equal(s->tile[0], 2);
    assert_int_equal(s->side[0], SW_NORTH);
    assert_int_equal(s->tile[1], 0);
    assert_int_equal(s->side[1], SW_SOUTH);
    assert_int_equal(s->before, 1); /* A1-A2, the other way round */
    near(s->before_mm, 1.2, 1e-12);
    done(&r);
}

static void seams_are_judged_and_told_apart(void **state)
{
    (void)state;
    made_photo after = CALM;
    result r;
    after.gap_mm = 0.3;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.within, 4);
    assert_int_equal(r.recheck.stop, 1);
    assert_non_null(strstr(r.recheck.next, "Stop here: every seam is within 0.50 mm"));
    near(r.recheck.seams[0].change_mm, -0.9, 1e-12);
    near(r.recheck.seams[0].change_u95_mm, 0.08 * M_SQRT2, 1e-12);
    done(&r);
    after.gap_mm = 0.47;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.too_close, 4);
    assert_int_equal(r.recheck.stop, 1);
    assert_non_null(strstr(r.recheck.next, "Sand no more"));
    done(&r);
    after.gap_mm = 1.9;
    compare(&after, NULL, 0, 0, &r);
    assert_int_equal(r.recheck.over, 4);
    assert_int_equal(r.recheck.stop, 0);
    assert_true(says(&r, "Wider than before"));
    assert_non_null(strstr(r.recheck.next, "Push the tiles together and photograph again before any work: "));
    done(&r);
}

static void what_cannot_be_compared_is_refused(void **state)
{
    (void)state;
    sw_inspection before, after;
    sw_recheck recheck;
    sw_error err = {""};
    made_photo larger = CALM;
    made_inspection(&CALM, &before);
    larger.scale = 1.02;
    made_inspection(&larger, &after);
    assert_int_equal(sw_recheck_make(&before, &after, NULL, NULL, 0, &recheck, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "mm larger in the later inspection"));
    assert_null(recheck.seams);
    assert_int_equal(sw_recheck_make(&before, &before, NULL, NULL, SW_TOLERANCE_LEAST_MM / 2, &recheck, &err),
                     SW_BAD_INPUT);
    before.tile_count = 3;
    assert_int_equal(sw_recheck_make(&before, &after, NULL, NULL, 0, &recheck, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "3 tiles and the later one 4"));
    before.tile_count = 4;
    after.table = (sw_table){4, 1, 300, 1, 0};
    assert_int_equal(sw_recheck_make(&before, &after, NULL, NULL, 0, &recheck, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "--layout"));
    sw_inspection_free(&before);
    sw_inspection_free(&after);
}

static void a_tile_that_was_not_measured_is_told(void **state)
{
    (void)state;
    const made_cut cut = {.tile = 0, .side = SW_EAST, .wedge_mm = 0.9};
    sw_inspection before, after;
    sw_plan plan;
    sw_recheck recheck;
    sw_error err = {""};
    made_inspection(&CALM, &before);
    made_inspection(&CALM, &after);
    made_plan(&cut, 1, 1, &plan);
    after.tiles[0].side_mm = after.tiles[0].turn_rad = NAN;
    after.seams[0].max_mm = after.seams[0].max_u95_mm = NAN;
    assert_int_equal(sw_recheck_make(&before, &after, NULL, &plan, 0, &recheck, &err), SW_OK);
    assert_int_equal(recheck.edge_count, 1);
    assert_true(isnan(recheck.edges[0].taken_mm));
    result r = {.recheck = recheck};
    assert_true(says(&r, "What came off tile A1 is not known"));
    assert_true(says(&r, "Not seen in the later photo: A1-B1"));
    sw_recheck_free(&recheck);
    sw_plan_free(&plan);
    sw_inspection_free(&before);
    sw_inspection_free(&after);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wedge_shows_without_a_plan),
        cmocka_unit_test(a_bow_shows_without_a_plan),
        cmocka_unit_test(an_even_cut_is_known_only_together_or_with_a_plan),
        cmocka_unit_test(several_edges_at_once),
        cmocka_unit_test(too_much_is_told_and_comes_first),
        cmocka_unit_test(an_edge_that_was_not_planned_is_told),
        cmocka_unit_test(a_bevel_that_reaches_the_top_edge_is_no_fault),
        cmocka_unit_test(not_enough_is_the_next_thing_to_do),
        cmocka_unit_test(a_plan_that_was_not_followed_is_not_believed),
        cmocka_unit_test(where_nothing_came_off_nothing_is_told),
        cmocka_unit_test(turned_and_moved_it_is_the_same),
        cmocka_unit_test(seams_are_judged_and_told_apart),
        cmocka_unit_test(what_cannot_be_compared_is_refused),
        cmocka_unit_test(a_tile_that_was_not_measured_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
