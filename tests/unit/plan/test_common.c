/* A tile against a common square: shapes whose answer is known, and cuts carried out on true outlines. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "plan/common.h"
#include "support/made/made_table.h"

static const double SIDE = 300, TOLERANCE = 0.5, DEEPEST = 3;

static double slope(double u, const double *context)
{
    return context[0] * u / SIDE + context[1];
}

static double bow(double u, const double *context)
{
    return context[0] * (1 - 4 * u * u / (SIDE * SIDE));
}

/* The outline of tile 0 of a table of one, as an exact inspection has it. */
static void outline_of(const made_table *table, sw_outline *outline, sw_cut cuts[4])
{
    sw_inspection ins;
    made_inspect(table, &made_exact, TOLERANCE, 1, &ins);
    assert_int_equal(sw_outline_make(&ins.tiles[0], outline, NULL), SW_OK);
    for (int s = 0; s < 4; s++) {
        cuts[s] = (sw_cut){.length_mm = ins.tiles[0].edges[s].length_mm};
        cuts[s].knots = sw_cut_knots(cuts[s].length_mm);
        cuts[s].remove_mm = calloc((size_t)cuts[s].knots, sizeof(double));
        assert_non_null(cuts[s].remove_mm);
    }
    sw_inspection_free(&ins);
}

static void drop(sw_outline *outline, sw_cut cuts[4])
{
    sw_outline_free(outline);
    for (int s = 0; s < 4; s++)
        free(cuts[s].remove_mm);
}

static double largest(const sw_outline *outline)
{
    double side = 0;
    assert_int_equal(sw_common_largest(outline, TOLERANCE, &side, NULL), SW_OK);
    return side;
}

/* A perfect square may lie half the tolerance below a larger one all round. */
static void perfect_square(void **state)
{
    (void)state;
    made_table t = made_new(1, 1, SIDE);
    sw_outline o;
    sw_cut cuts[4];
    outline_of(&t, &o, cuts);
    expect_near("largest", largest(&o), SIDE + TOLERANCE, 0.01);
    assert_int_equal(sw_common_cuts(&o, SIDE + TOLERANCE - 0.01, TOLERANCE, DEEPEST, cuts, NULL, NULL), SW_OK);
    for (int s = 0; s < 4; s++)
        expect_near("off", cuts[s].deepest_mm, 0, 0.005);
    /* Cut down by 1 mm all over: half of it on each side, or anything else that leaves 299. */
    assert_int_equal(sw_common_cuts(&o, SIDE - 1, TOLERANCE, DEEPEST, cuts, NULL, NULL), SW_OK);
    double area = 0;
    for (int s = 0; s < 4; s++)
        area += cuts[s].area_mm2;
    expect_near("area", area, 2 * SIDE, 6);
    assert_int_equal(sw_common_cuts(&o, SIDE - 7, TOLERANCE, DEEPEST, cuts, NULL, NULL), SW_NOT_FOUND);
    assert_int_equal(sw_common_cuts(&o, SIDE + 1, TOLERANCE, DEEPEST, cuts, NULL, NULL), SW_NOT_FOUND);
    drop(&o, cuts);
    made_free(&t);
}

/* A parallelogram sheared by s: its corners lie s / 2 beyond and short of the square's sides on two edges. Turned by
 * half the shear, all four edges take a quarter of s each: the largest square has 2 (s / 4) less. */
static void sheared(void **state)
{
    (void)state;
    made_table t = made_new(1, 1, SIDE);
    sw_outline o;
    sw_cut cuts[4];
    made_shape(&t, 0, SW_EAST, slope, (double[]){2, 0});
    made_shape(&t, 0, SW_WEST, slope, (double[]){-2, 0});
    outline_of(&t, &o, cuts);
    expect_near("largest", largest(&o), SIDE + TOLERANCE - 1, 0.03);
    drop(&o, cuts);
    made_free(&t);
}

/* A hollow of 1 mm: its deepest place may lie half the tolerance below; the ends stand out by the rest. */
static void hollow(void **state)
{
    (void)state;
    made_table t = made_new(1, 1, SIDE);
    sw_outline o;
    sw_cut cuts[4];
    made_shape(&t, 0, SW_NORTH, bow, (double[]){-1});
    outline_of(&t, &o, cuts);
    double side = largest(&o);
    expect_near("largest", side, SIDE + TOLERANCE - 1, 0.02);
    assert_int_equal(sw_common_cuts(&o, side, TOLERANCE, DEEPEST, cuts, NULL, NULL), SW_OK);
    assert_true(cuts[SW_NORTH].remove_mm[0] > 0.3);
    expect_near("off in the hollow", sw_cut_at(&cuts[SW_NORTH], SIDE / 2), 0, 0.01);
    drop(&o, cuts);
    made_free(&t);
}

/* Random tiles: with the cuts made, no place of the true outline stands out of the square where it was laid, or lies
 * below it by more than half the tolerance, as below_mm says. */
static void random_tiles(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= 6; seed++) {
        made_table t = made_new(1, 1, SIDE);
        sw_outline o;
        sw_cut cuts[4];
        made_cut(&t, &made_by_volunteers, seed);
        outline_of(&t, &o, cuts);
        size_t n = 2 * (size_t)o.reach + 1;
        double *below = calloc(4 * n, sizeof *below), side = largest(&o);
        assert_non_null(below);
        assert_int_equal(sw_common_cuts(&o, side - 0.3, TOLERANCE, DEEPEST, cuts, below, NULL), SW_OK);
        for (size_t i = 0; i < 4 * n; i++)
            if (isfinite(below[i]))
                assert_true(below[i] > -1e-6 && below[i] < TOLERANCE / 2 + 1e-6);
        /* The outline found again after sanding fits the same square with nothing more to take off. */
        made_removal off[4];
        double at[4][64];
        for (int s = 0; s < 4; s++) {
            for (int k = 0; k < cuts[s].knots; k++)
                at[s][k] = cuts[s].length_mm * k / (cuts[s].knots - 1);
            off[s] = (made_removal){at[s], cuts[s].remove_mm, cuts[s].knots};
        }
        made_sand(&t.tiles[0], off);
        sw_outline sanded;
        sw_cut more[4];
        outline_of(&t, &sanded, more);
        assert_int_equal(sw_common_cuts(&sanded, side - 0.3, TOLERANCE + 0.1, DEEPEST, more, NULL, NULL), SW_OK);
        for (int s = 0; s < 4; s++)
            assert_true(more[s].deepest_mm < 0.08);
        drop(&sanded, more);
        free(below);
        drop(&o, cuts);
        made_free(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(perfect_square), cmocka_unit_test(sheared),
                                       cmocka_unit_test(hollow), cmocka_unit_test(random_tiles)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
