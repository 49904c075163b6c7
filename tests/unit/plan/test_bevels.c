/* Bevels and deepest cuts of made-up tables: what a plan says of them follows from what it was told. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/plan.h"
#include "support/made/made_table.h"

static const double TOLERANCE_MM = 0.5;

/* Perfect squares in one row, with so much left open between the tops. */
static made_table row_of(int columns, const double *open_mm)
{
    made_table table = made_new(columns, 1, 300);
    for (int i = 1; i < columns; i++)
        table.tiles[i].x_mm = table.tiles[i - 1].x_mm + 300 + open_mm[i - 1];
    return table;
}

static void inspect(const made_table *table, sw_inspection *ins)
{
    made_inspect(table, &made_exact, TOLERANCE_MM, 1, ins);
}

static void make_plan(const sw_inspection *all, size_t count, const sw_layout *layouts, const sw_plan_options *options,
                      sw_plan *plan)
{
    sw_error err = {""};
    if (sw_plan_make(all, count, layouts, options, plan, &err))
        fail_msg("no plan: %s", err.text);
}

static int told_to_say_the_height(const sw_plan *plan)
{
    int told = 0;
    for (size_t i = 0; i < plan->notes.count; i++)
        told += plan->notes.list[i].kind == SW_NOTE_HEIGHT_ASSUMED;
    return told;
}

/* An edge of which neither corner was seen has no length of its own. */
static void a_hidden_edge_is_as_long_as_a_tile(void **state)
{
    (void)state;
    made_table table = row_of(2, (double[]){0.9});
    sw_inspection ins;
    sw_plan plan;
    inspect(&table, &ins);
    ins.tiles[0].edges[SW_EAST].length_mm = NAN;
    make_plan(&ins, 1, NULL, &(sw_plan_options){0}, &plan);
    assert_int_equal(plan.edge_count, 2);
    for (int k = 0; k < 2; k++)
        assert_true(fabs(plan.edges[k].length_mm - 300) < 1);
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&table);
}

/* Angles follow from the height of the side faces: the option's, else the inspection's, else 45 mm. */
static void the_angle_goes_by_the_height(void **state)
{
    (void)state;
    const struct {
        double option_mm, table_mm, height_mm;
    } heights[] = {{20, 30, 20}, {0, 30, 30}, {0, 0, 45}};
    made_table table = row_of(2, (double[]){0.9});
    for (int i = 0; i < 3; i++) {
        sw_inspection ins;
        sw_plan plan;
        char said[32];
        inspect(&table, &ins);
        ins.table.height_mm = heights[i].table_mm;
        make_plan(&ins, 1, NULL, &(sw_plan_options){.height_mm = heights[i].option_mm}, &plan);
        assert_int_equal(plan.edge_count, 2); /* either face may be the one that leans */
        for (int k = 0; k < 2; k++) {
            double degrees = atan(0.9 / heights[i].height_mm) * 180 / M_PI;
            assert_int_equal(plan.edges[k].lean, SW_LEAN_OPEN);
            expect_near("bevel", plan.edges[k].bevel_mm, 0.9, 1e-6);
            expect_near("degrees", plan.edges[k].bevel_deg, degrees, 1e-6);
            snprintf(said, sizeof said, "(%.1f degrees)", degrees);
            assert_non_null(strstr(plan.edges[k].why, said));
        }
        assert_int_equal(told_to_say_the_height(&plan), !(heights[i].table_mm > 0));
        expect_near("height", plan.height_mm, heights[i].height_mm, 1e-12);
        sw_plan_free(&plan);
        sw_inspection_free(&ins);
    }
    made_free(&table);
}

/* A1 east stands 0.9 mm off B1 and, arranged otherwise, 0.97 mm off C1, both of which close against other faces. Its lean
 * lies between the two; to close this seam 0.9 mm have to go and no more. */
static void no_bevel_beyond_the_standoff(void **state)
{
    (void)state;
    made_table tables[2] = {row_of(3, (double[]){0.9, 0}), row_of(3, (double[]){0.97, 0})};
    sw_inspection all[2];
    sw_layout layouts[2];
    sw_plan plan;
    sw_error err = {""};
    for (int k = 0; k < 2; k++) {
        inspect(&tables[k], &all[k]);
        for (size_t p = 0; p < all[k].seams[0].station_count; p++)
            all[k].seams[0].stations[p].u95_mm = 0.1; /* or the two would contradict each other */
    }
    assert_int_equal(sw_layout_as_is(&all[0], &layouts[0], &err), SW_OK);
    assert_int_equal(sw_layout_read("A1 C1 B1", &all[0], &layouts[1], &err), SW_OK);
    make_plan(all, 2, layouts, &(sw_plan_options){0}, &plan);
    double lean = NAN;
    for (size_t i = 0; i < plan.lean_count; i++)
        if (plan.leans[i].tile == 0 && plan.leans[i].side == SW_EAST)
            lean = plan.leans[i].lean_mm;
    expect_near("lean", lean, 0.935, 0.01);
    assert_int_equal(plan.edge_count, 1);
    assert_int_equal(plan.edges[0].tile, 0);
    assert_int_equal(plan.edges[0].side, SW_EAST);
    assert_int_equal(plan.edges[0].lean, SW_LEAN_KNOWN);
    expect_near("standoff", plan.seams[0].standoff_mm, 0.9, 1e-6);
    expect_near("bevel", plan.edges[0].bevel_mm, 0.9, 1e-6);
    sw_plan_free(&plan);
    for (int k = 0; k < 2; k++) {
        sw_layout_free(&layouts[k]);
        sw_inspection_free(&all[k]);
        made_free(&tables[k]);
    }
}

static double bulge(double u_mm, const double *context)
{
    return *context * (1 - u_mm * u_mm / (150.0 * 150.0));
}

/* An edge that bulges by 8 mm, more than is ever taken off both: the sentence names the cut that was asked for. */
static void a_seam_that_stays_open_names_the_deepest_cut(void **state)
{
    (void)state;
    const struct {
        double asked_mm;
        const char *said;
    } cuts[] = {{0, "even with 3.0 mm taken off"}, {1.2, "even with 1.2 mm taken off"}};
    made_table table = row_of(2, (double[]){8});
    made_shape(&table, 0, SW_EAST, bulge, (double[]){8});
    for (int i = 0; i < 2; i++) {
        sw_inspection ins;
        sw_plan plan;
        double deepest = cuts[i].asked_mm > 0 ? cuts[i].asked_mm : 3;
        inspect(&table, &ins);
        make_plan(&ins, 1, NULL, &(sw_plan_options){.deepest_cut_mm = cuts[i].asked_mm}, &plan);
        expect_near("deepest cut", plan.deepest_cut_mm, deepest, 1e-12);
        expect_near("taken off", plan.edges[0].deepest_mm, deepest, 1e-6);
        assert_int_equal(plan.cannot.count, 1);
        if (!strstr(plan.cannot.list[0].text, cuts[i].said))
            fail_msg("%s", plan.cannot.list[0].text);
        assert_false(sw_plan_fits(&plan));
        sw_plan_free(&plan);
        sw_inspection_free(&ins);
    }
    made_free(&table);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_angle_goes_by_the_height), cmocka_unit_test(a_hidden_edge_is_as_long_as_a_tile),
        cmocka_unit_test(no_bevel_beyond_the_standoff), cmocka_unit_test(a_seam_that_stays_open_names_the_deepest_cut)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
