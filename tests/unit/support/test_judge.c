/* The judge against answers found with pencil and paper. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "support/made/judge.h"
#include "support/made/shapes.h"

static const double SIDE = 300;

/* ---- the solver ---- */

static void row(judge_lp *lp, int terms, const int *column, const double *factor, double most)
{
    judge_lp_row(lp, terms, column, factor, most);
}

static void small_programmes(void **state)
{
    (void)state;
    double x[3];
    int rounds;
    /* 3 x + 5 y at most, x <= 4, 2 y <= 12, 3 x + 2 y <= 18: 36 at (2, 6) (the textbooks' window-making firm). */
    judge_lp *lp = judge_lp_new(2);
    judge_lp_cost(lp, 0, -3);
    judge_lp_cost(lp, 1, -5);
    judge_lp_box(lp, 0, 0, 4);
    judge_lp_box(lp, 1, 0, 6);
    row(lp, 2, (int[]){0, 1}, (double[]){3, 2}, 18);
    assert_int_equal(judge_lp_solve(lp, x, &rounds), JUDGE_SOLVED);
    expect_near("x", x[0], 2, 1e-7);
    expect_near("y", x[1], 6, 1e-7);
    assert_true(rounds < 20);
    judge_lp_free(lp);
    /* Smallest widest distance of one number to 1, 4 and 9: 4 at 5. Free columns, one term given twice. */
    lp = judge_lp_new(2);
    judge_lp_cost(lp, 1, 1);
    const double to[] = {1, 4, 9};
    for (int k = 0; k < 3; k++) {
        row(lp, 3, (int[]){0, 1, 0}, (double[]){0.5, -1, 0.5}, to[k]);
        row(lp, 2, (int[]){0, 1}, (double[]){-1, -1}, -to[k]);
    }
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    expect_near("middle", x[0], 5, 1e-7);
    expect_near("widest", x[1], 4, 1e-7);
    judge_lp_free(lp);
}

/* Every point of an edge is best; rows come twice; a corner where more rows meet than columns; a column in no row. */
static void degenerate(void **state)
{
    (void)state;
    double x[3];
    judge_lp *lp = judge_lp_new(3);
    judge_lp_cost(lp, 0, -1);
    judge_lp_cost(lp, 1, -1);
    for (int k = 0; k < 5; k++) {
        row(lp, 2, (int[]){0, 1}, (double[]){1, 1}, 1);
        row(lp, 1, (int[]){0}, (double[]){-1}, 0);
        row(lp, 1, (int[]){1}, (double[]){-1}, 0);
    }
    row(lp, 2, (int[]){0, 1}, (double[]){1, -1}, 1);
    row(lp, 2, (int[]){0, 1}, (double[]){3, 1}, 3);
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    expect_near("sum", x[0] + x[1], 1, 1e-7);
    judge_lp_free(lp);
    /* One point only: 0 <= x <= 0, so no inside. */
    lp = judge_lp_new(1);
    judge_lp_cost(lp, 0, 1);
    judge_lp_box(lp, 0, 0, 0);
    judge_lp_box(lp, 0, -1, 1);
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    expect_near("point", x[0], 0, 1e-6);
    judge_lp_free(lp);
}

static void no_answer(void **state)
{
    (void)state;
    double x[2];
    judge_lp *lp = judge_lp_new(2);
    judge_lp_cost(lp, 0, 1);
    judge_lp_box(lp, 0, 0, 5);
    judge_lp_box(lp, 1, 0, 5);
    row(lp, 2, (int[]){0, 1}, (double[]){1, 1}, 3);
    row(lp, 2, (int[]){0, 1}, (double[]){-1, -1}, -3.001); /* x + y <= 3 and >= 3.001 */
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_INFEASIBLE);
    judge_lp_free(lp);
    lp = judge_lp_new(2);
    judge_lp_cost(lp, 0, -1);
    row(lp, 2, (int[]){0, 1}, (double[]){1, -1}, 2);
    row(lp, 1, (int[]){0}, (double[]){-1}, 0);
    row(lp, 1, (int[]){1}, (double[]){-1}, 0);
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_UNBOUNDED);
    judge_lp_free(lp);
}

/* Made from its solution: x and prices chosen, then rows and cost to fit (so the optimum is known by duality). */
static void by_chance(void **state)
{
    (void)state;
    enum { COLUMNS = 120, ROWS = 600, TERMS = 7 };
    uint32_t seed = 17;
    for (int round = 0; round < 10; round++) {
        double best[COLUMNS], cost[COLUMNS] = {0}, x[COLUMNS], value = 0, got = 0;
        judge_lp *lp = judge_lp_new(COLUMNS);
        for (int j = 0; j < COLUMNS; j++)
            best[j] = normal(&seed);
        for (int i = 0; i < ROWS; i++) {
            int column[TERMS], tight = chance(&seed) < 0.25;
            double factor[TERMS], sum = 0, price = tight ? between(&seed, 0, 2) : 0;
            for (int k = 0; k < TERMS; k++) {
                column[k] = (int)(chance(&seed) * (COLUMNS - 1));
                factor[k] = normal(&seed);
                sum += factor[k] * best[column[k]];
                cost[column[k]] -= price * factor[k];
            }
            row(lp, TERMS, column, factor, sum + (tight ? 0 : between(&seed, 0.1, 3)));
        }
        for (int j = 0; j < COLUMNS; j++) {
            judge_lp_cost(lp, j, cost[j]);
            judge_lp_box(lp, j, -50, 50);
            value += cost[j] * best[j];
        }
        assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
        for (int j = 0; j < COLUMNS; j++)
            got += cost[j] * x[j];
        expect_near("cost", got, value, 1e-6 * fabs(value));
        judge_lp_free(lp);
    }
}

/* ---- pushing ---- */

static void settle(const made_table *table, judge_aim aim, const judge_rules *rules, judge_settled *s)
{
    assert_int_equal(judge_settle(table, aim, rules, s), JUDGE_SOLVED);
    expect_near("overlap", s->overlap_mm, 0, 1e-3);
}

/* Between two tiles a wedge closes by turning, an open seam closes, a bow keeps its height (0.3 a tile, ends left out:
 * 0.6 (1 - (10/300)^2 ...) at 5 mm from the end, (145/150)^2 of it). */
static void two_tiles(void **state)
{
    (void)state;
    judge_settled s;
    double slope = 1 / SIDE, height = 0.3;
    made_table t = made_new(2, 1, SIDE);
    t.tiles[1].x_mm += 1.5;
    made_shape(&t, 0, SW_EAST, wedge, &slope);
    settle(&t, JUDGE_WORST, &judge_usual, &s);
    expect_near("wedge", s.worst_mm, 0, 1e-4);
    judge_settled_free(&s);
    settle(&t, JUDGE_SUM, &judge_usual, &s);
    expect_near("wedge, summed", s.worst_mm, 0, 1e-4);
    judge_settled_free(&s);
    made_shape(&t, 0, SW_EAST, bowed, &height);
    made_shape(&t, 1, SW_WEST, bowed, &height);
    settle(&t, JUDGE_WORST, &judge_usual, &s);
    expect_near("bow", s.worst_mm, 0.6 * 145 * 145 / 150 / 150, 1e-4);
    expect_near("bow's ends", s.whole_mm[0], 0.6, 1e-3);
    judge_settled_free(&s);
    judge_rules rules = judge_usual;
    rules.leans = 1;
    t.tiles[0].edges[SW_EAST].lean_mm = 0.25;
    settle(&t, JUDGE_WORST, &rules, &s);
    expect_near("bow over a lean", s.worst_mm, 0.6 * 145 * 145 / 150 / 150 + 0.25, 1e-4);
    judge_settled_free(&s);
    t.tiles[1].edges[SW_WEST].chips[0] = (made_chip){148, 10, 2}; /* the widest places lie in a chip now */
    t.tiles[1].edges[SW_WEST].chip_count = 1;
    settle(&t, JUDGE_WORST, &judge_usual, &s);
    assert_true(s.worst_mm < 0.6 * 145 * 145 / 150 / 150 - 0.02);
    judge_settled_free(&s);
    made_free(&t);
}

/* 2x2, tile B2's inner corner too narrow by `by` over 300 mm: the four seams share so much taper, a quarter each at
 * best. Its north edge gets shorter by half of it, so seams face each other over that much less: answers by pencil hold
 * to about 2 parts in 300 for 4 mm. */
static made_table narrow_corner(double by)
{
    made_table t = made_new(2, 2, SIDE);
    double slope = -by / SIDE; /* B2's west edge falls back towards the north, where the table's middle is */
    made_shape(&t, 3, SW_WEST, wedge, &slope);
    for (int i = 0; i < 4; i++) {
        t.tiles[i].x_mm += by * (i % 2);
        t.tiles[i].y_mm -= by * (i / 2);
    }
    return t;
}

/* The seams touch at one end (0) and are open at the other, ends left out: 295 of 300. */
static void taper_is_shared(void **state)
{
    (void)state;
    judge_settled s;
    judge_rules rules = judge_usual;
    made_table t = narrow_corner(4);
    rules.end_mm = 0;
    settle(&t, JUDGE_WORST, &rules, &s);
    for (int j = 0; j < 4; j++)
        expect_near("seam", s.max_mm[j], 1, 0.01);
    judge_settled_free(&s);
    settle(&t, JUDGE_WORST, &judge_usual, &s);
    expect_near("ends left out", s.worst_mm, 295 / 300.0, 0.01);
    judge_settled_free(&s);
    /* Summed gaps: any sharing has the same mean in all, 4 x 0.5. */
    settle(&t, JUDGE_SUM, &rules, &s);
    expect_near("sum of the widest", s.sum_mm, 4, 0.06);
    judge_settled_free(&s);
    made_free(&t);
}

/* A 2x2 with one tile 1 mm too long each way: it holds its neighbours apart... no: its neighbours' far seams open by
 * 1 mm, since tiles cannot shrink; turning cannot help, the seam stays open by 1 mm or tapers from 0 to 2. */
static void longer_tile(void **state)
{
    (void)state;
    judge_settled s;
    made_table t = made_new(2, 2, SIDE);
    double half = 0.5;
    made_shape(&t, 0, SW_EAST, offset, &half);
    made_shape(&t, 0, SW_WEST, offset, &half);
    for (int i = 0; i < 4; i++) {
        t.tiles[i].x_mm += 2 * (i % 2);
        t.tiles[i].y_mm -= 2 * (i / 2);
    }
    /* Two tiles wide: B1 slides along A1's and B2's edges freely, so all close. */
    settle(&t, JUDGE_WORST, &judge_usual, &s);
    expect_near("2x2", s.worst_mm, 0, 1e-3);
    judge_settled_free(&s);
    made_free(&t);
}

/* Four perfect tiles with two seams out of line both ways: A1's south-east corner reaches 1 mm over B2's north-west one
 * when all seams close. Kept apart, all close just the same, for rows slide freely. */
static void corners_pass(void **state)
{
    (void)state;
    judge_settled s;
    judge_rules rules = judge_usual;
    made_table t = made_new(2, 2, SIDE);
    const double x[] = {1, 301.5, -1, 300.2}, y[] = {-0.6, 0.6, -301.2, -300};
    for (int i = 0; i < 4; i++) {
        t.tiles[i].x_mm = x[i];
        t.tiles[i].y_mm = y[i];
    }
    settle(&t, JUDGE_WORST, &rules, &s);
    expect_near("closed", s.worst_mm, 0, 1e-3);
    assert_true(s.corner_mm > 0.3);
    judge_settled_free(&s);
    rules.corners = 1;
    settle(&t, JUDGE_WORST, &rules, &s);
    expect_near("closed", s.worst_mm, 0, 1e-3);
    expect_near("corners", s.corner_mm, 0, 1e-3);
    judge_settled_free(&s);
    made_free(&t);
}

/* ---- least removal ---- */

/* gap = kappa s, turns fixed: what lies nearer than kappa L - T comes off, (kappa L - T)^2 / (2 kappa). */
static void wedge_without_turns(void **state)
{
    (void)state;
    judge_removal r;
    judge_rules rules = judge_usual;
    double kappa = 0.005, slope = kappa, tolerance = 0.5;
    made_table t = made_new(2, 1, SIDE);
    t.tiles[1].x_mm += 2;
    made_shape(&t, 0, SW_EAST, wedge, &slope);
    rules.end_mm = 0;
    rules.fixed_turns = 1;
    assert_int_equal(judge_least_removal(&t, tolerance, &rules, &r), JUDGE_SOLVED);
    expect_near("area", r.area_mm2, pow(kappa * SIDE - tolerance, 2) / (2 * kappa), 0.2);
    /* Carried out, it is so. */
    judge_settled s;
    judge_carry_out(&r, &t);
    settle(&t, JUDGE_WORST, &rules, &s);
    expect_near("after", s.worst_mm, tolerance, 1e-3);
    judge_settled_free(&s);
    judge_removal_free(&r);
    made_free(&t);
    /* With turns nothing need come off. */
    t = made_new(2, 1, SIDE);
    made_shape(&t, 0, SW_EAST, wedge, &slope);
    assert_int_equal(judge_least_removal(&t, tolerance, &judge_usual, &r), JUDGE_SOLVED);
    expect_near("with turns", r.area_mm2, 0, 1e-4);
    judge_removal_free(&r);
    made_free(&t);
}

/* Four seams of 1 mm of taper: each loses what lies nearer than 1 - T, (1 - T)^2 L / (2 x 1). */
static void corner_shared(void **state)
{
    (void)state;
    judge_removal r;
    judge_settled s;
    judge_rules rules = judge_usual;
    rules.end_mm = 0;
    for (int size = 0; size < 2; size++) {
        double by = size ? 4 : 0.4, tolerance = by / 8, each = by / 4;
        made_table t = narrow_corner(by);
        assert_int_equal(judge_least_removal(&t, tolerance, &rules, &r), JUDGE_SOLVED);
        double want = 4 * (each - tolerance) * (each - tolerance) * SIDE / (2 * each);
        expect_near("area", r.area_mm2, want, want * (size ? 0.04 : 0.004));
        judge_carry_out(&r, &t);
        settle(&t, JUDGE_WORST, &rules, &s);
        expect_near("after", s.worst_mm, tolerance, 0.001 * by + 0.001);
        judge_settled_free(&s);
        judge_removal_free(&r);
        made_free(&t);
    }
}

static void forbidden_edges(void **state)
{
    (void)state;
    judge_removal r;
    judge_rules rules = judge_usual;
    rules.end_mm = 0;
    /* Sanding one seam's two edges only: that seam takes the 0.4 mm less three times 0.05: (0.25 - 0.05)^2 300 / (2 x
     * 0.25). */
    unsigned char forbidden[16];
    made_table t = narrow_corner(0.4);
    for (int e = 0; e < 16; e++)
        forbidden[e] = e != 4 * 0 + SW_EAST && e != 4 * 1 + SW_WEST;
    rules.forbidden = forbidden;
    assert_int_equal(judge_least_removal(&t, 0.05, &rules, &r), JUDGE_SOLVED);
    expect_near("one seam", r.area_mm2, 0.2 * 0.2 * SIDE / 0.5, 0.1);
    judge_removal_free(&r);
    for (int e = 0; e < 16; e++)
        forbidden[e] = 1;
    assert_int_equal(judge_least_removal(&t, 0.05, &rules, &r), JUDGE_INFEASIBLE);
    judge_removal_free(&r);
    made_free(&t);
}

/* A table cut by chance: what comes off brings it within; 5 % less leaves it over. */
static void chance_table(void **state)
{
    (void)state;
    const double tolerance = 0.25;
    judge_removal r;
    judge_settled s;
    made_quality q = made_by_volunteers;
    q.chips = 0.2;
    made_table t = made_new(3, 3, SIDE);
    made_cut(&t, &q, 4);
    made_lay(&t, &q, 4);
    settle(&t, JUDGE_WORST, &judge_usual, &s);
    double pushed = s.worst_mm;
    judge_settled_free(&s);
    assert_int_equal(judge_least_removal(&t, tolerance, &judge_usual, &r), JUDGE_SOLVED);
    made_table sanded = made_copy(&t);
    judge_carry_out(&r, &sanded);
    settle(&sanded, JUDGE_WORST, &judge_usual, &s);
    print_message("  pushed %.3f, %.1f mm2 off, then %.4f\n", pushed, r.area_mm2, s.worst_mm);
    expect_near("after", s.worst_mm, tolerance, 0.003);
    judge_settled_free(&s);
    made_free(&sanded);
    for (int k = 0; k < r.edges * r.knots; k++)
        r.off_mm[k] *= 0.95;
    sanded = made_copy(&t);
    judge_carry_out(&r, &sanded);
    settle(&sanded, JUDGE_WORST, &judge_usual, &s);
    assert_true(s.worst_mm > tolerance + 0.001);
    judge_settled_free(&s);
    judge_removal_free(&r);
    made_free(&sanded);
    made_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_programmes), cmocka_unit_test(degenerate),      cmocka_unit_test(no_answer),
        cmocka_unit_test(by_chance),        cmocka_unit_test(two_tiles),       cmocka_unit_test(taper_is_shared),
        cmocka_unit_test(longer_tile),      cmocka_unit_test(corners_pass),    cmocka_unit_test(wedge_without_turns),
        cmocka_unit_test(corner_shared),    cmocka_unit_test(forbidden_edges), cmocka_unit_test(chance_table)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
