/* Pushing tiles together, on cases whose answer is plain. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "push/settle.h"

static const double SIDE = 300;

typedef double (*shape)(double at);

static double wedge_1(double at)
{
    return at / SIDE;
}

/* Two edges that bow towards each other by 0.6 mm together: open by 0.6 at both ends when the middles touch. */
static double bow_0_6(double at)
{
    return 0.6 * pow(at / 150 - 1, 2) + 0.25;
}

static double open_1(double at)
{
    (void)at;
    return 1;
}

static void give(sw_joint *j, int first, int second, sw_point start, sw_point along, sw_point across, shape gap)
{
    *j = (sw_joint){.first = first, .second = second, .start_mm = start, .along = along, .across = across};
    j->point_count = 61;
    j->points = calloc(j->point_count, sizeof *j->points);
    for (size_t i = 0; i < j->point_count; i++)
        j->points[i] =
            (sw_joint_point){.at_mm = 5.0 * (double)i, .gap_mm = gap(5.0 * (double)i), .limits = 1, .apart = 1};
}

/* Upright joint between tiles whose centres are `x` apart; level one below. North is up. */
static void upright(sw_joint *j, int first, int second, sw_point middle, shape gap)
{
    give(j, first, second, (sw_point){middle.x, middle.y + SIDE / 2}, (sw_point){0, -1}, (sw_point){1, 0}, gap);
}

static void level(sw_joint *j, int first, int second, sw_point middle, shape gap)
{
    give(j, first, second, (sw_point){middle.x - SIDE / 2, middle.y}, (sw_point){1, 0}, (sw_point){0, -1}, gap);
}

static void drop(sw_joint *joints, size_t count)
{
    for (size_t j = 0; j < count; j++)
        free(joints[j].points);
}

/* Between two tiles alone a wedge closes by turning, a bow keeps its height, an open seam closes. */
static void two_tiles(void **state)
{
    (void)state;
    const sw_point centres[] = {{0, 0}, {SIDE, 0}};
    const struct {
        shape gap;
        double left;
    } cases[] = {{wedge_1, 0}, {open_1, 0}, {bow_0_6, 0.6}};
    for (size_t i = 0; i < 3; i++) {
        sw_joint j;
        sw_settled s;
        upright(&j, 0, 1, (sw_point){SIDE / 2, 0}, cases[i].gap);
        assert_int_equal(sw_settle(centres, 2, &j, 1, &s, NULL), SW_OK);
        expect_near("widest", s.worst_mm, cases[i].left, 1e-6);
        expect_near("widest of the joint", s.max_mm[0], cases[i].left, 1e-6);
        sw_settled_free(&s);
        j.floor_mm = 0.4; /* leaning faces hold the tops apart */
        assert_int_equal(sw_settle(centres, 2, &j, 1, &s, NULL), SW_OK);
        expect_near("widest over a lean", s.worst_mm, cases[i].left + 0.4, 1e-6);
        sw_settled_free(&s);
        drop(&j, 1);
    }
}

/* 2x2 with one corner of 4 mm over 300 mm too wide at the middle of the table: round that point the four seams must
 * hold 4 mm of taper between them, 1 mm each at best. All of it lies in one seam now. */
static double wedge_4(double at)
{
    return 4 * at / SIDE;
}

static double closed(double at)
{
    (void)at;
    return 0;
}

static void taper_is_shared(void **state)
{
    (void)state;
    const sw_point centres[] = {{0, 0}, {SIDE, 0}, {0, -SIDE}, {SIDE, -SIDE}};
    sw_joint j[4];
    sw_settled s;
    upright(&j[0], 0, 1, (sw_point){SIDE / 2, 0}, wedge_4); /* open at the table's middle */
    upright(&j[1], 2, 3, (sw_point){SIDE / 2, -SIDE}, closed);
    level(&j[2], 0, 2, (sw_point){0, -SIDE / 2}, closed);
    level(&j[3], 1, 3, (sw_point){SIDE, -SIDE / 2}, closed);
    assert_int_equal(sw_settle(centres, 4, j, 4, &s, NULL), SW_OK);
    for (int k = 0; k < 4; k++)
        expect_near("widest", s.max_mm[k], 1, 1e-6);
    sw_settled_free(&s);
    drop(j, 4);
}

/* A point that does not limit keeps tiles apart but is not counted. */
static void chips_do_not_count(void **state)
{
    (void)state;
    const sw_point centres[] = {{0, 0}, {SIDE, 0}};
    sw_joint j;
    sw_settled s;
    upright(&j, 0, 1, (sw_point){SIDE / 2, 0}, closed);
    j.points[30].gap_mm = 2;
    j.points[30].limits = 0;
    assert_int_equal(sw_settle(centres, 2, &j, 1, &s, NULL), SW_OK);
    expect_near("widest", s.worst_mm, 0, 1e-9);
    sw_settled_free(&s);
    drop(&j, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(two_tiles), cmocka_unit_test(taper_is_shared),
                                       cmocka_unit_test(chips_do_not_count)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
