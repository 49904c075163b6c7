/* A plan for every arrangement, made from several inspections: each tile's outline is the mean over all of them, wherever
 * it lay there and however it was turned. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "seamwright/plan.h"
#include "support/made/made_table.h"

static const double TOLERANCE_MM = 0.5;

static double even(double u_mm, const double *context)
{
    (void)u_mm;
    return *context;
}

static double slant(double u_mm, const double *context)
{
    return *context * u_mm / 150;
}

/* Four squares, no two of their edges alike. A1 is the smallest: its east edge lies 1 mm further in. */
static made_table tiles(void)
{
    made_table table = made_new(2, 2, 300);
    made_shape(&table, 0, SW_EAST, even, (double[]){-1});
    made_shape(&table, 1, SW_NORTH, slant, (double[]){0.4});
    made_shape(&table, 2, SW_WEST, even, (double[]){0.5});
    made_shape(&table, 3, SW_SOUTH, slant, (double[]){-0.3});
    return table;
}

static void inspect(made_table *table, sw_inspection *ins)
{
    made_lay(table, &(made_quality){.least_gap_mm = {0.5, 1}}, 3);
    made_inspect(table, &made_exact, TOLERANCE_MM, 1, ins);
}

static void make_plan(const sw_inspection *all, size_t count, const sw_layout *layouts, sw_plan *plan)
{
    sw_error err = {""};
    if (sw_plan_make(all, count, layouts, &(sw_plan_options){.purpose = SW_PLAN_ANY}, plan, &err))
        fail_msg("no plan: %s", err.text);
}

/* The plan from the tiles as they lie, and from both that and another arrangement in which A1's east edge reads so much
 * further out. */
static void plan_both(double further_mm, sw_plan *one, sw_plan *two)
{
    made_table table = tiles(), again;
    sw_inspection all[2];
    sw_layout layouts[2];
    sw_error err = {""};
    inspect(&table, &all[0]);
    assert_int_equal(sw_layout_as_is(&all[0], &layouts[0], &err), SW_OK);
    assert_int_equal(sw_layout_read("B2h A1r / B1l A2", &all[0], &layouts[1], &err), SW_OK);
    made_shape(&table, 0, SW_EAST, even, (double[]){-1 + further_mm});
    again = made_put(&table, &layouts[1]);
    inspect(&again, &all[1]);
    make_plan(all, 1, NULL, one);
    make_plan(all, 2, layouts, two);
    for (int k = 0; k < 2; k++) {
        sw_layout_free(&layouts[k]);
        sw_inspection_free(&all[k]);
    }
    made_free(&table);
    made_free(&again);
}

static void another_arrangement_changes_nothing(void **state)
{
    (void)state;
    sw_plan one, two;
    plan_both(0, &one, &two);
    assert_int_equal(one.limiting_tile, 0);
    assert_int_equal(two.limiting_tile, 0);
    expect_near("common square", two.common_tile_mm, one.common_tile_mm, 1e-3);
    assert_true(one.edge_count >= 4);
    assert_int_equal(two.edge_count, one.edge_count);
    for (size_t i = 0; i < one.edge_count; i++) {
        const sw_edge_plan *a = &one.edges[i], *b = NULL;
        for (size_t k = 0; k < two.edge_count; k++)
            if (two.edges[k].tile == a->tile && two.edges[k].side == a->side)
                b = &two.edges[k];
        assert_non_null(b);
        expect_near("deepest", b->deepest_mm, a->deepest_mm, 0.01);
        expect_near("area", b->removed_mm2, a->removed_mm2, 0.02 * a->removed_mm2);
    }
    sw_plan_free(&one);
    sw_plan_free(&two);
}

/* By hand: the smallest tile reads 0.3 mm longer in one of two inspections, so 0.15 mm on the mean. */
static void outlines_are_averaged(void **state)
{
    (void)state;
    sw_plan one, two;
    plan_both(0.3, &one, &two);
    assert_int_equal(two.limiting_tile, 0);
    expect_near("common square", two.common_tile_mm - one.common_tile_mm, 0.15, 0.005);
    sw_plan_free(&one);
    sw_plan_free(&two);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(another_arrangement_changes_nothing),
                                       cmocka_unit_test(outlines_are_averaged)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
