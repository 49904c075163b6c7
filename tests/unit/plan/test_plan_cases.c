/* Plans on tables so plain that their answer is found with pencil and paper. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seamwright/plan.h"
#include "support/made/made_table.h"

static const double SIDE = 300;

/* Pushed tight, not turned, not slipped. */
static const made_quality AS_DRAWN = {.least_gap_mm = {0.01, 0.01}, .touching = 1};

static double slope(double u, const double *context)
{
    return context[0] * u / SIDE + context[1];
}

static double bow(double u, const double *context)
{
    return context[0] * (1 - 4 * u * u / (SIDE * SIDE));
}

static void inspect(made_table *table, double tolerance, sw_inspection *ins)
{
    made_lay(table, &AS_DRAWN, 1);
    made_inspect(table, &made_exact, tolerance, 1, ins);
}

static void make(const sw_inspection *ins, size_t count, const sw_layout *layouts, sw_plan_for purpose, sw_plan *plan)
{
    sw_error err = {{0}};
    sw_plan_options options = {.purpose = purpose};
    if (sw_plan_make(ins, count, layouts, &options, plan, &err))
        fail_msg("%s", err.text);
    print_message("    %s\n", plan->next);
}

static const sw_edge_plan *edge_of(const sw_plan *plan, int tile, sw_side side)
{
    for (size_t i = 0; i < plan->edge_count; i++)
        if (plan->edges[i].tile == tile && plan->edges[i].side == side)
            return &plan->edges[i];
    return NULL;
}

static double worst_after(const sw_plan *plan)
{
    double worst = 0;
    for (size_t j = 0; j < plan->seam_count; j++)
        worst = fmax(worst, plan->seams[j].max_after_mm);
    return worst;
}

/* Two tiles turn until the wedge is closed: nothing to sand. */
static void wedge_between_two(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(2, 1, SIDE);
    made_shape(&t, 0, SW_EAST, slope, (double[]){1, 0});
    inspect(&t, 0.5, &ins);
    assert_true(ins.seams[0].max_mm > 0.9);
    make(&ins, 1, NULL, SW_PLAN_LAYOUT, &plan);
    assert_int_equal(plan.edge_count, 0);
    assert_true(plan.seams[0].max_pushed_mm < 0.02);
    assert_non_null(strstr(plan.next, "Push"));
    assert_true(sw_plan_fits(&plan));
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&t);
}

/* Round the middle of a 2x2 table the angles then miss 360 degrees by a wedge of w over a side. Four seams could share it,
 * but no hand lays them so: pushed together, three close and one has it all. A seam with taper w and the tolerance T needs
 * (w - T)^2 side / (2 w) off: half of a right-angled triangle's base times height. */
static double least_of_wedge(double wedge, double tolerance)
{
    double high = wedge - tolerance;
    return high > 0 ? high * high * SIDE / (2 * wedge) : 0;
}

static void wedge_among_four(void **state)
{
    (void)state;
    const struct {
        double wedge, tolerance;
    } cases[] = {{1, 0.5}, {1, 0.1}, {-1, 0.1}, {4, 0.5}, {-4, 0.5}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        sw_inspection ins;
        sw_plan plan;
        made_table t = made_new(2, 2, SIDE);
        made_shape(&t, 0, SW_EAST, slope, (double[]){cases[i].wedge, 0});
        inspect(&t, cases[i].tolerance, &ins);
        make(&ins, 1, NULL, SW_PLAN_LAYOUT, &plan);
        double want = least_of_wedge(fabs(cases[i].wedge), cases[i].tolerance);
        print_message(
            "  wedge %4.1f, tolerance %.1f: least %6.1f mm2, planned %6.1f on %zu edges, widest after %.3f mm\n",
            cases[i].wedge, cases[i].tolerance, want, plan.removed_total_mm2, plan.edge_count, worst_after(&plan));
        /* any of the four seams may open, so all are made ready for it: at the worst (a wedge of twice the limit) by
         * knots that follow none of them */
        assert_true(plan.removed_total_mm2 <= 1.9 * want + 2);
        assert_true(plan.removed_total_mm2 >= 0.9 * want - 1);
        assert_true(worst_after(&plan) <= cases[i].tolerance);
        assert_true(sw_plan_fits(&plan));
        sw_plan_free(&plan);
        sw_inspection_free(&ins);
        made_free(&t);
    }
}

/* A bow of 0.6 mm touches in the middle and leaves 0.6 mm at both ends. What stands more than 0.5 mm over the ends must
 * come off: 0.1 mm in the middle, nothing from 150 (1 - sqrt(1/6)) = 88.8 mm and 211.2 mm on, 2/3 of a box of 0.1 x
 * 122.5 = 8.16 mm2. To be called within, it comes down by 0.016 mm more (the guard and a little): 10.1 mm2, by knots that do not follow the bow a
 * little more. */
static void bow_0_6(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(2, 1, SIDE);
    made_shape(&t, 0, SW_EAST, bow, (double[]){0.6});
    inspect(&t, 0.5, &ins);
    make(&ins, 1, NULL, SW_PLAN_LAYOUT, &plan);
    assert_int_equal(plan.edge_count, 1);
    const sw_edge_plan *e = edge_of(&plan, 0, SW_EAST);
    assert_non_null(e); /* the bowed edge is the proud one */
    print_message("    %s\n", e->why);
    expect_near("deepest", e->deepest_mm, 0.116, 0.01);
    expect_near("area", e->removed_mm2, 10.8, 1.2);
    for (size_t k = 0; k < e->true_up_count; k++)
        if (fabs(e->true_up[k].at_mm - 150) > 90)
            expect_near("off beside the bow", e->true_up[k].remove_mm, 0, 1e-6);
    expect_near("widest after", worst_after(&plan), 0.485, 0.01);
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&t);
}

/* The middle tile of a row of three is 1 mm too long: in this layout the row is longer, and nothing gapes. In every
 * layout it must fit among tiles of 300: they fit a square of 300.5 (half the tolerance shy all round), it stands out
 * by 0.5 mm, 150 mm2. */
static void one_too_long(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(3, 1, SIDE);
    made_shape(&t, 1, SW_EAST, slope, (double[]){0, 1});
    inspect(&t, 0.5, &ins);
    make(&ins, 1, NULL, SW_PLAN_LAYOUT, &plan);
    assert_int_equal(plan.edge_count, 0);
    sw_plan_free(&plan);
    make(&ins, 1, NULL, SW_PLAN_ANY, &plan);
    expect_near("common square", plan.common_tile_mm, 300.5, 0.02);
    assert_true(plan.fits_every_way && sw_plan_fits(&plan));
    expect_near("area", plan.removed_total_mm2, 150, 8);
    for (size_t i = 0; i < plan.edge_count; i++) {
        print_message("    %s\n", plan.edges[i].why);
        assert_int_equal(plan.edges[i].tile, 1);
        assert_true(plan.edges[i].side == SW_EAST || plan.edges[i].side == SW_WEST);
        assert_true(plan.edges[i].deepest_mm < 0.52);
    }
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&t);
}

static double dip(double u, const double *context)
{
    double d = (u - context[0]) / 15;
    return -0.25 * exp(-d * d);
}

/* Two edges dented by 0.25 mm, a quarter of their length from the north end both: on the common square, which the dents
 * set (they may lie half the tolerance below it), they lie 0.25 mm below each, and 0.5 mm apart where they meet. Dents
 * that do not meet leave 0.25. */
static void dents_that_meet(void **state)
{
    (void)state;
    for (int meet = 0; meet < 2; meet++) {
        sw_inspection ins;
        sw_plan plan;
        made_table t = made_new(2, 1, SIDE);
        made_shape(&t, 0, SW_EAST, dip, (double[]){75});
        made_shape(&t, 1, SW_WEST, dip, (double[]){meet ? 75 : -75});
        inspect(&t, 0.5, &ins);
        make(&ins, 1, NULL, SW_PLAN_ANY, &plan);
        expect_near("common square", plan.common_tile_mm, 300.25, 0.02);
        expect_near("apart on the square", plan.seams[0].max_after_mm, meet ? 0.5 : 0.25, 0.02);
        sw_plan_free(&plan);
        sw_inspection_free(&ins);
        made_free(&t);
    }
}

/* One tile 4 mm too short limits the common square, and cutting all others down to it takes more than is sensible. */
static void one_too_short(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(3, 1, SIDE);
    made_shape(&t, 1, SW_EAST, slope, (double[]){0, -2});
    made_shape(&t, 1, SW_WEST, slope, (double[]){0, -6});
    inspect(&t, 0.5, &ins);
    make(&ins, 1, NULL, SW_PLAN_ANY, &plan);
    expect_near("common square", plan.common_tile_mm, 300.5, 0.02);
    assert_int_equal(plan.cannot.count, 1);
    print_message("    %s\n", plan.cannot.list[0].text);
    assert_non_null(strstr(plan.cannot.list[0].text, "B1 is too small"));
    assert_false(sw_plan_fits(&plan));
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&t);
}

/* A tile sheared by s over its side has two corners too wide and two too narrow by s. Alone among four it is the wedge
 * above; a table of tiles all sheared alike closes by turning every one. */
static void sheared(void **state)
{
    (void)state;
    for (int all = 0; all < 2; all++) {
        sw_inspection ins;
        sw_plan plan;
        made_table t = made_new(2, 2, SIDE);
        for (int tile = 0; tile < (all ? 4 : 1); tile++) {
            made_shape(&t, tile, SW_EAST, slope, (double[]){4, 0});
            made_shape(&t, tile, SW_WEST, slope, (double[]){-4, 0});
        }
        inspect(&t, 0.5, &ins);
        make(&ins, 1, NULL, SW_PLAN_LAYOUT, &plan);
        print_message("  %s sheared by 4 mm: %.1f mm2\n", all ? "all" : "one", plan.removed_total_mm2);
        if (all)
            assert_int_equal(plan.edge_count, 0);
        else
            expect_near("area", plan.removed_total_mm2, 1.1 * least_of_wedge(4, 0.5), 0.15 * least_of_wedge(4, 0.5));
        sw_plan_free(&plan);
        sw_inspection_free(&ins);
        made_free(&t);
    }
}

/* Straight edges that stay 1 mm apart: no top is to blame. One photo leaves both faces open; with the tile turned by
 * half, its other face closes, and the first one is known to lean. */
static void lean_alone(void **state)
{
    (void)state;
    sw_inspection ins[2];
    sw_plan plan;
    made_table t = made_new(2, 1, SIDE);
    t.tiles[0].edges[SW_EAST].lean_mm = 1;
    inspect(&t, 0.5, &ins[0]);
    make(&ins[0], 1, NULL, SW_PLAN_LAYOUT, &plan);
    expect_near("standoff", plan.seams[0].standoff_mm, 1, 0.02);
    assert_int_equal(plan.edge_count, 2);
    for (size_t i = 0; i < 2; i++) {
        const sw_edge_plan *e = &plan.edges[i];
        assert_int_equal(e->lean, SW_LEAN_OPEN);
        assert_int_equal(e->true_up_count, 0);
        expect_near("bevel", e->bevel_mm, 1, 0.02);
        expect_near("angle", e->bevel_deg, 1.273, 0.03); /* atan(1 / 45) */
        assert_non_null(strstr(e->why, "try square"));
    }
    assert_true(sw_plan_fits(&plan));
    sw_plan_free(&plan);

    made_table turned = made_new(2, 1, SIDE);
    turned.tiles[0].edges[SW_WEST].lean_mm = 1;
    inspect(&turned, 0.5, &ins[1]);
    sw_layout layouts[2];
    assert_int_equal(sw_layout_as_is(&ins[0], &layouts[0], NULL), SW_OK);
    assert_int_equal(sw_layout_read("A1h B1", &ins[0], &layouts[1], NULL), SW_OK);
    make(ins, 2, layouts, SW_PLAN_LAYOUT, &plan);
    assert_int_equal(plan.edge_count, 1);
    assert_int_equal(plan.edges[0].tile, 0);
    assert_int_equal(plan.edges[0].side, SW_EAST);
    assert_int_equal(plan.edges[0].lean, SW_LEAN_KNOWN);
    expect_near("bevel", plan.edges[0].bevel_mm, 1, 0.03);
    print_message("    %s\n", plan.edges[0].why);
    sw_plan_free(&plan);
    for (int k = 0; k < 2; k++) {
        sw_layout_free(&layouts[k]);
        sw_inspection_free(&ins[k]);
    }
    made_free(&t);
    made_free(&turned);
}

/* A chip is filled, never sanded for. */
static void chip_alone(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(2, 1, SIDE);
    t.tiles[1].edges[SW_WEST].chips[0] = (made_chip){.u_mm = 40, .half_length_mm = 7, .depth_mm = 2.5};
    t.tiles[1].edges[SW_WEST].chip_count = 1;
    inspect(&t, 0.5, &ins);
    for (int any = 0; any < 2; any++) {
        make(&ins, 1, NULL, any ? SW_PLAN_ANY : SW_PLAN_LAYOUT, &plan);
        assert_int_equal(plan.edge_count, 0);
        assert_int_equal(plan.cannot.count, 1);
        assert_non_null(strstr(plan.cannot.list[0].text, "fill"));
        assert_true(sw_plan_fits(&plan));
        sw_plan_free(&plan);
    }
    sw_inspection_free(&ins);
    made_free(&t);
}

/* What takes more than the deepest cut is said, not planned. */
static void too_much_to_sand(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(2, 1, SIDE);
    made_shape(&t, 0, SW_EAST, bow, (double[]){3});
    inspect(&t, 0.5, &ins);
    sw_plan_options options = {.deepest_cut_mm = 0.5};
    assert_int_equal(sw_plan_make(&ins, 1, NULL, &options, &plan, NULL), SW_OK);
    assert_true(plan.cannot.count >= 1);
    print_message("    %s\n", plan.cannot.list[0].text);
    assert_non_null(strstr(plan.cannot.list[0].text, "A1-B1"));
    for (size_t i = 0; i < plan.edge_count; i++)
        assert_true(plan.edges[i].deepest_mm <= 0.5 + 1e-9);
    assert_false(sw_plan_fits(&plan));
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&t);
}

/* Inspections of other tiles, or with a layout of another shape, are refused by name, before anything is read from
 * them. */
static void other_tiles(void **state)
{
    (void)state;
    const struct {
        int columns, rows;
        double side;
        const char *says;
    } others[] = {{3, 1, 300, "shows 3 tiles"},
                  {1, 1, 300, "shows 1 tiles"},
                  {2, 1, 250, "tiles of 250 mm"},
                  {1, 2, 300, "its layout has 2 x 1"}};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        sw_inspection ins[2];
        sw_layout layouts[2];
        sw_plan plan;
        sw_error err = {{0}};
        made_table first = made_new(2, 1, SIDE), other = made_new(others[i].columns, others[i].rows, others[i].side);
        inspect(&first, 0.5, &ins[0]);
        inspect(&other, 0.5, &ins[1]);
        for (int k = 0; k < 2; k++)
            assert_int_equal(sw_layout_as_is(&ins[0], &layouts[k], NULL), SW_OK);
        assert_int_equal(sw_plan_make(ins, 2, layouts, &(sw_plan_options){0}, &plan, &err), SW_BAD_INPUT);
        if (!strstr(err.text, others[i].says))
            fail_msg("\"%s\" does not say \"%s\"", err.text, others[i].says);
        assert_int_equal(sw_plan_make(ins, 2, NULL, &(sw_plan_options){0}, &plan, NULL), SW_BAD_INPUT);
        for (int k = 0; k < 2; k++) {
            sw_layout_free(&layouts[k]);
            sw_inspection_free(&ins[k]);
        }
        made_free(&first);
        made_free(&other);
    }
}

/* Options out of range, and an inspection in which nothing was seen. */
static void bad_input(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_plan plan;
    made_table t = made_new(2, 1, SIDE);
    inspect(&t, 0.5, &ins);
    const sw_plan_options bad[] = {{.tolerance_mm = 0.009},
                                   {.tolerance_mm = -1},
                                   {.deepest_cut_mm = 50},
                                   {.height_mm = 1e4},
                                   {.tolerance_mm = NAN}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        sw_error err = {{0}};
        assert_int_equal(sw_plan_make(&ins, 1, NULL, &bad[i], &plan, &err), SW_BAD_INPUT);
        assert_true(err.text[0] && !plan.edges && !plan.seams);
    }
    for (size_t i = 0; i < ins.seams[0].station_count; i++) {
        ins.seams[0].stations[i].state = SW_STATION_UNSEEN;
        ins.seams[0].stations[i].gap_mm = ins.seams[0].stations[i].u95_mm = NAN;
    }
    assert_int_equal(sw_plan_make(&ins, 1, NULL, &(sw_plan_options){0}, &plan, NULL), SW_BAD_INPUT);
    sw_inspection_free(&ins);
    made_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wedge_between_two), cmocka_unit_test(wedge_among_four), cmocka_unit_test(bow_0_6),
        cmocka_unit_test(one_too_long),      cmocka_unit_test(one_too_short),    cmocka_unit_test(dents_that_meet),
        cmocka_unit_test(sheared),           cmocka_unit_test(lean_alone),       cmocka_unit_test(chip_alone),
        cmocka_unit_test(too_much_to_sand),  cmocka_unit_test(other_tiles),      cmocka_unit_test(bad_input)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
