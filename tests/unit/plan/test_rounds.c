/* Whole rounds on small made-up tables, by support/made/rounds.h; the twenty of tests/study/rounds take minutes. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "support/made/rounds.h"

static const double LIMIT_MM = 0.5, BY_MM = 0.05;
/* Over by more than BY_MM after one round may be so many seams, after two none; so many forecasts hold. */
static const double ONE_ROUND = 0.05, HOLDS_LEAST = 0.90;
/* How much of an overlap is left by the judge's own rounding, mm. */
static const double OVERLAP_MM = 0.01;

static const struct {
    int columns, rows, leans;
    uint32_t seed;
} TABLES[] = {{2, 2, 0, 301}, {2, 2, 1, 302}, {2, 3, 0, 303}, {3, 2, 1, 304}};
enum { TABLE_COUNT = sizeof TABLES / sizeof *TABLES };

/* What is asked of plans, over all tables. */
typedef struct counts {
    int seams, over_once, over_twice, third_asks, forecasts, held, more_lines, lines_within;
    double area, least;
} counts;

static rounds_loop run(int k, rounds_way way, const made_noise *noise)
{
    made_quality q = made_by_volunteers;
    rounds_loop loop;
    q.chips = 0.2;
    q.lean_mm = TABLES[k].leans ? 3 : 0;
    made_table table = rounds_table(TABLES[k].columns, TABLES[k].rows, &q, TABLES[k].seed);
    rounds_rules rules = {way, LIMIT_MM, *noise, TABLES[k].seed, 0, 1};
    rounds_run(&table, &rules, &loop);
    made_free(&table);
    return loop;
}

/* Area that the outlines lost, of all edges. */
static double lost(const rounds_loop *loop)
{
    double area = 0;
    for (int e = 0; e < 4 * loop->columns * loop->rows; e++) {
        const made_edge *from = &loop->from.tiles[e / 4].edges[e % 4], *to = &loop->to.tiles[e / 4].edges[e % 4];
        double low, high;
        made_span(&loop->from.tiles[e / 4], (sw_side)(e % 4), &low, &high);
        for (int i = 0; i < from->count; i++) {
            double off = from->dev[i] - to->dev[i], u = i - from->count / 2;
            assert_true(off >= -1e-9); /* nothing grows */
            area += u >= low && u < high ? off : 0;
        }
        assert_true(to->lean_mm <= from->lean_mm);
        assert_true(to->lean_mm == from->lean_mm || from->lean_mm > 0.1);
    }
    return area;
}

/* The rounds themselves: the judge pushes, what is said to come off does, and what was asked for is what is counted. */
static void rounds_are_true(void **state)
{
    (void)state;
    for (int k = 0; k < TABLE_COUNT; k++)
        for (int way = 0; way < ROUNDS_WAYS; way++) {
            rounds_loop loop = run(k, (rounds_way)way, &made_as_photos);
            judge_settled s;
            assert_int_equal(loop.gave_up, 0);
            assert_true(loop.overlap_mm < OVERLAP_MM);
            assert_true(rounds_over(&loop, 0, 0) > 0);
            expect_near("area", lost(&loop), rounds_area(&loop), 0.02 * rounds_area(&loop) + 0.5);
            judge_look(&loop.to, &rounds_judging, &s); /* the figures are those of the last poses */
            for (int j = 0; j < loop.seam_count; j++)
                expect_near("came", loop.plans[ROUNDS_CARRIED - 1].seams[j].came_mm, s.max_mm[j], 1e-9);
            rounds_free(&loop);
        }
}

static void squares_need_nothing(void **state)
{
    (void)state;
    made_table table = made_new(3, 3, 300);
    for (int way = 0; way < ROUNDS_WAYS; way++) {
        rounds_loop loop;
        rounds_rules rules = {(rounds_way)way, LIMIT_MM, made_as_photos, 1, 0, 1};
        rounds_run(&table, &rules, &loop);
        for (int r = 0; r < ROUNDS_PLANS; r++)
            assert_int_equal(loop.plans[r].lines + loop.plans[r].true_ups + loop.plans[r].bevels, 0);
        expect_near("widest", rounds_widest(&loop, ROUNDS_CARRIED), 0, 1e-9);
        expect_near("area", rounds_area(&loop), 0, 1e-9);
        rounds_free(&loop);
    }
    made_free(&table);
}

static void add(const rounds_loop *loop, counts *c)
{
    c->seams += loop->seam_count;
    c->over_once += rounds_over(loop, 1, BY_MM);
    c->over_twice += rounds_over(loop, 2, BY_MM);
    c->third_asks += loop->plans[ROUNDS_PLANS - 1].true_ups + loop->plans[ROUNDS_PLANS - 1].bevels > 0;
    c->area += rounds_area(loop);
    c->least += rounds_least(loop, ROUNDS_LIMIT, rounds_judging.knot_mm);
    for (int r = 0; r < ROUNDS_CARRIED; r++) {
        const rounds_plan *p = &loop->plans[r];
        c->more_lines += p->listed && p->lines > p->over;
        c->lines_within += p->lines_within;
        for (int j = 0; j < loop->seam_count; j++) {
            c->forecasts++;
            c->held += fabs(p->seams[j].came_mm - p->seams[j].forecast_mm) <= p->seams[j].forecast_u95_mm;
        }
    }
}

/* The figures that are asked of plans, on these tables. Only printed, for they are not kept: from a corner; a third plan
 * that asks nothing; the area. */
static void plans_come_true(void **state)
{
    (void)state;
    for (int way = 0; way < ROUNDS_WAYS; way++) {
        counts c = {0};
        for (int k = 0; k < TABLE_COUNT; k++) {
            rounds_loop loop = run(k, (rounds_way)way, &made_as_photos);
            add(&loop, &c);
            rounds_free(&loop);
        }
        print_message("  %s: over by more than %.2f mm %d -> %d of %d seams, third plan asks at %d tables; %d of %d "
                      "forecasts hold; %.0f mm2 off, least %.0f; plans with more lines than seams over %d, lines at "
                      "seams within %d\n",
                      way ? "from a corner" : "ordinary", BY_MM, c.over_once, c.over_twice, c.seams, c.third_asks,
                      c.held, c.forecasts, c.area, c.least, c.more_lines, c.lines_within);
        assert_int_equal(c.more_lines, 0);
        assert_int_equal(c.lines_within, 0);
        if (way != ROUNDS_ORDINARY)
            continue;
        assert_true(c.over_once <= ONE_ROUND * c.seams);
        assert_int_equal(c.over_twice, 0);
        assert_true(c.held >= HOLDS_LEAST * c.forecasts);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(rounds_are_true), cmocka_unit_test(squares_need_nothing),
                                       cmocka_unit_test(plans_come_true)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
