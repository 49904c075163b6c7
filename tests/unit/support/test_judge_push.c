/* The judge's ways of pushing against a search by chance that knows no slopes and no linear programme: exact geometry, tiles
 * moved at random, overlaps paid for. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "support/made/rounds.h"
#include "support/made/shapes.h"

static const double SIDE = 300;
/* What a mm of overlap costs beside a mm of gap: no push gains so much. */
static const double OVERLAP_COST = 30;
/* A search may gain so much, mm of total: slips along seams, which the judge leaves out, stations STEP_MM apart, and what an
 * overlap within its rounding gains. */
static const double GAIN_MM = 0.01;
/* Least that a search gains from a push that is not the least total, mm. */
static const double SEEN_MM = 0.03;
enum { TRIES = 1500, SEEDS = 2, STEP_MM = 2 };

/* What is pushed: all tiles, or one against its west and north neighbours. */
typedef struct pushing {
    int only; /* 0: all but tile 0 */
} pushing;

static double seam_total(const made_table *t, const made_seam *seam)
{
    made_line line = made_seam_line(t, seam);
    double sum = 0, least = INFINITY;
    int n = 0;
    for (double at = 0; at <= line.length_mm; at += STEP_MM) {
        double clean = made_gap(t, seam, &line, at, MADE_CLEAN);
        least = fmin(least, fmin(made_gap(t, seam, &line, at, MADE_CHIPPED), made_gap(t, seam, &line, at, MADE_BASE)));
        if (at < judge_usual.end_mm || at > line.length_mm - judge_usual.end_mm ||
            made_chipped(t, seam, &line, at, judge_usual.step_mm))
            continue;
        sum += clean;
        n++;
    }
    return sum / n + OVERLAP_COST * fmax(0, -least);
}

static double total(const made_table *t, const pushing *p)
{
    made_seam seams[JUDGE_SEAMS];
    int count = made_seams(t, seams);
    double sum = 0;
    for (int j = 0; j < count; j++)
        if (!p->only || seams[j].second == p->only)
            sum += seam_total(t, &seams[j]);
    return sum + OVERLAP_COST * made_corner_overlap(t);
}

/* Moves tiles at random, keeps what lowers the total, with steps that grow when that works and shrink when not. Returns
 * what was gained. */
static double search(const made_table *from, const pushing *p, uint32_t seed)
{
    made_table here = made_copy(from);
    double start = total(&here, p), best = start, step = 0.1;
    int tiles = here.columns * here.rows;
    for (int k = 0; k < TRIES; k++) {
        made_table next = made_copy(&here);
        int one = chance(&seed) < 0.3 ? 1 + (int)(chance(&seed) * (tiles - 1)) : 0; /* or all at once */
        for (int i = 1; i < tiles; i++) {
            if ((p->only && i != p->only) || (!p->only && one && i != one))
                continue;
            next.tiles[i].x_mm += step * normal(&seed);
            next.tiles[i].y_mm += step * normal(&seed);
            next.tiles[i].turn_rad += step / (SIDE / 2) * normal(&seed);
        }
        double now = total(&next, p);
        if (now < best) {
            best = now;
            made_free(&here);
            here = next;
            step *= 1.5;
        } else {
            made_free(&next);
            step *= 0.97;
        }
        if (step < 1e-4)
            step = 0.1;
    }
    made_free(&here);
    return start - best;
}

static made_table chance_table(int columns, int rows, uint32_t seed)
{
    made_quality q = made_by_volunteers;
    q.chips = 0.3;
    q.lean_mm = seed % 2 ? 2 : 0;
    made_table t = made_new(columns, rows, SIDE);
    made_cut(&t, &q, seed);
    made_lay(&t, &q, seed);
    return t;
}

static const judge_rules *rules(void)
{
    return &rounds_judging;
}

/* Nothing that a search finds is better than the ordinary push; much is better than the push for the least widest gap. */
static void ordinary_push_is_the_least(void **state)
{
    (void)state;
    static const int sizes[][2] = {{2, 1}, {1, 2}, {2, 2}};
    double worst_gain = 0;
    for (int k = 0; k < 3; k++)
        for (uint32_t seed = 1; seed <= SEEDS; seed++) {
            made_table t = chance_table(sizes[k][0], sizes[k][1], seed);
            judge_settled sum, widest;
            pushing all = {0};
            assert_int_equal(judge_settle(&t, JUDGE_SUM, rules(), &sum), JUDGE_SOLVED);
            assert_int_equal(judge_settle(&t, JUDGE_WORST, rules(), &widest), JUDGE_SOLVED);
            expect_near("overlap", fmax(sum.overlap_mm, sum.corner_mm), 0, 2e-3);
            double least = total(&sum.table, &all), gain = search(&sum.table, &all, seed);
            assert_true(least <= total(&widest.table, &all) + GAIN_MM);
            print_message("  %dx%d %u: total %.3f, a search gains %.4f\n", sizes[k][0], sizes[k][1], (unsigned)seed,
                          least, gain);
            assert_true(gain < GAIN_MM);
            worst_gain = fmax(worst_gain, search(&widest.table, &all, seed));
            judge_settled_free(&sum);
            judge_settled_free(&widest);
            made_free(&t);
        }
    print_message("  from a push for the least widest gap it gains %.3f\n", worst_gain);
    assert_true(worst_gain > SEEN_MM);
}

/* An angle too much where four tiles meet opens any of the four seams at the same total: hands differ in which, and no
 * hand's total is more than its unevenness above the least. */
static void hands_differ(void **state)
{
    (void)state;
    made_table t = made_new(2, 2, SIDE);
    const double taper = 0.8; /* mm */
    double slope = -taper / SIDE;
    int widest[4] = {0}, ways = 0, corners = 0;
    pushing all = {0};
    judge_rules r = *rules();
    made_shape(&t, 3, SW_WEST, wedge, &slope);
    for (int i = 0; i < 4; i++) {
        t.tiles[i].x_mm += taper * (i % 2);
        t.tiles[i].y_mm -= taper * (i / 2);
    }
    for (r.hand = 0; r.hand < 12; r.hand++) {
        judge_settled s;
        int most = 0;
        assert_int_equal(judge_settle(&t, JUDGE_SUM, &r, &s), JUDGE_SOLVED);
        for (int j = 0; j < 4; j++)
            most = s.max_mm[j] > s.max_mm[most] ? j : most;
        if (r.hand) {
            widest[most]++;
            corners += s.max_mm[most] > 0.9 * taper; /* all in one seam */
        }
        expect_near("total", total(&s.table, &all), taper / 2, 0.05 * taper);
        judge_settled_free(&s);
    }
    for (int j = 0; j < 4; j++)
        ways += widest[j] > 0;
    assert_true(ways >= 3);
    assert_true(corners >= 8);
    made_free(&t);
}

/* No tile's way against its west and north neighbours is bettered by a search that moves it alone. */
static void from_a_corner_one_by_one(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= SEEDS; seed++) {
        made_table t = chance_table(2, 2, seed);
        judge_settled s;
        assert_int_equal(judge_from_corner(&t, rules(), &s), JUDGE_SOLVED);
        expect_near("overlap", fmax(s.overlap_mm, s.corner_mm), 0, 5e-3);
        for (int i = 1; i < 4; i++) {
            pushing one = {i};
            double gain = search(&s.table, &one, seed);
            print_message("  %u, tile %d: a search gains %.4f\n", (unsigned)seed, i, gain);
            assert_true(gain < GAIN_MM);
        }
        judge_settled_free(&s);
        made_free(&t);
    }
}

/* Perfect squares close; one a mm too wide opens what lies below it by nothing, for its column slides; one a mm too tall
 * keeps its whole row apart no more than its own seam: B2 comes up against B1, A2 against A1. */
static void from_a_corner_by_pencil(void **state)
{
    (void)state;
    judge_settled s;
    double one = 1;
    made_table t = made_new(3, 2, SIDE);
    for (int i = 0; i < 6; i++) {
        t.tiles[i].x_mm += 1.7 * (i % 3);
        t.tiles[i].y_mm -= 2.3 * (i / 3);
        t.tiles[i].turn_rad = 1e-3 * (i % 2);
    }
    assert_int_equal(judge_from_corner(&t, rules(), &s), JUDGE_SOLVED);
    expect_near("squares", s.worst_mm, 0, 1e-3);
    judge_settled_free(&s);
    made_shape(&t, 1, SW_SOUTH, offset, &one); /* B1 is taller: B2 lies lower, C2 is pushed up beside it */
    assert_int_equal(judge_from_corner(&t, rules(), &s), JUDGE_SOLVED);
    expect_near("taller", s.worst_mm, 0, 1e-3);
    expect_near("B2", s.table.tiles[4].y_mm - s.table.tiles[3].y_mm, -1, 1e-3);
    expect_near("C2", s.table.tiles[5].y_mm - s.table.tiles[3].y_mm, 0, 1e-3);
    judge_settled_free(&s);
    t.tiles[4].edges[SW_NORTH].lean_mm = 0.8; /* B2's base holds its seam with B1 open, no other */
    assert_int_equal(judge_from_corner(&t, rules(), &s), JUDGE_SOLVED);
    expect_near("lean", s.worst_mm, 0.8, 1e-3);
    expect_near("sum", s.sum_mm, 0.8, 1e-2);
    judge_settled_free(&s);
    made_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(ordinary_push_is_the_least), cmocka_unit_test(hands_differ),
                                       cmocka_unit_test(from_a_corner_one_by_one),
                                       cmocka_unit_test(from_a_corner_by_pencil)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
