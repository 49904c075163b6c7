/* The ranked list from hand cases whose answer is plain: sand where the tiles touch, never where they gape, never for a
 * chip, and never on a figure that is too close to call. */
#include "maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "rank.h"

enum { LONG = 300, STEPS = LONG + 1 };
static const double TOLERANCE = 0.5, U95 = 0.06;

/* How far an edge stands proud of its tile's square at a place, mm. */
typedef double (*shape)(double at);

static double straight(double at)
{
    (void)at;
    return 0;
}

/* Proud by a millimetre more at the far (south or east) end than at the near one. */
static double wedge_1(double at)
{
    return at / LONG - 0.5;
}

static double wedge_0_3(double at)
{
    return 0.3 * at / LONG - 0.15;
}

static double wedge_back_1(double at)
{
    return 0.5 - at / LONG;
}

/* Proud in the middle by 1 mm against the ends. */
static double bow_1(double at)
{
    return 1 - pow(at / 150 - 1, 2) - 0.67;
}

/* Shy in the middle: the edges touch at both ends. */
static double hollow_1(double at)
{
    return pow(at / 150 - 1, 2) - 0.33;
}

static void give_points(sw_edge *e, shape proud)
{
    e->points = calloc(STEPS, sizeof *e->points);
    assert_non_null(e->points);
    e->length_mm = LONG;
    e->point_count = STEPS;
    e->seen = 1;
    for (int i = 0; i < STEPS; i++)
        e->points[i] = (sw_rim_point){
            .at_mm = i, .proud_mm = proud(i), .state = i < 5 || i > LONG - 5 ? SW_STATION_END : SW_STATION_OK};
}

/* A row (upright 1) or column of tiles, one seam between each two; first[k] and second[k] are the edges of seam k. */
static void make(int upright, int seams, const shape *first, const shape *second, sw_inspection *ins)
{
    size_t count = (size_t)seams + 1;
    *ins = (sw_inspection){.tolerance_mm = TOLERANCE, .step_mm = 1, .tile_count = count, .seam_count = (size_t)seams};
    ins->table = (sw_table){.columns = upright ? seams + 1 : 1, .rows = upright ? 1 : seams + 1, .tile_mm = LONG};
    ins->tiles = calloc(count, sizeof *ins->tiles);
    ins->seams = calloc(count, sizeof *ins->seams);
    assert_true(ins->tiles && ins->seams);
    for (size_t i = 0; i < count; i++)
        snprintf(ins->tiles[i].name, sizeof ins->tiles[i].name, upright ? "%c1" : "A%c",
                 (char)((upright ? 'A' : '1') + (int)i));
    for (int k = 0; k < seams; k++) {
        sw_seam *s = &ins->seams[k];
        snprintf(s->name, sizeof s->name, "%s-%s", ins->tiles[k].name, ins->tiles[k + 1].name);
        s->upright = upright;
        s->first = k;
        s->second = k + 1;
        s->length_mm = LONG;
        give_points(&ins->tiles[k].edges[upright ? SW_EAST : SW_SOUTH], first[k]);
        give_points(&ins->tiles[k + 1].edges[upright ? SW_WEST : SW_NORTH], second[k]);
    }
}

/* The seam's summary as if the tiles had been pushed together and then pulled `apart` mm. */
static void push(sw_inspection *ins, int k, shape first, shape second, double apart, double u95)
{
    sw_seam *s = &ins->seams[k];
    double most = -INFINITY;
    for (int i = 0; i < STEPS; i++)
        most = fmax(most, first(i) + second(i));
    s->max_mm = s->mean_mm = 0;
    s->min_mm = INFINITY;
    for (int i = 5; i <= LONG - 5; i++) {
        double gap = most + apart - first(i) - second(i);
        s->mean_mm += gap / (LONG - 9);
        s->min_mm = fmin(s->min_mm, gap);
        if (gap > s->max_mm) {
            s->max_mm = gap;
            s->max_at_mm = i;
        }
    }
    s->max_u95_mm = s->mean_u95_mm = u95;
    s->verdict = sw_verdict_of(s->max_mm, u95, ins->tolerance_mm);
}

/* One seam of an upright (or level) pair, pushed and pulled apart. */
static void one_seam(int upright, shape first, shape second, double apart, double u95, sw_inspection *ins)
{
    make(upright, 1, &first, &second, ins);
    push(ins, 0, first, second, apart, u95);
}

static void rank(sw_inspection *ins)
{
    sw_error err = {""};
    if (sw_rank(ins, &err))
        fail_msg("%s", err.text);
    for (size_t i = 0; i < ins->advice_count; i++) {
        const sw_advice *a = &ins->ranking[i];
        assert_int_equal(a->rank, i + 1);
        assert_true(a->tile >= 0 && (size_t)a->tile < ins->tile_count);
        assert_true(a->seam >= 0 && (size_t)a->seam < ins->seam_count);
        assert_true(strlen(a->reason) > 10);
        assert_null(strchr(a->reason, '\n'));
        assert_true(a->reason[strlen(a->reason) - 1] == '.');
        assert_true(a->remove_mm >= 0);
        if (a->action != SW_TRUE_UP && a->action != SW_BEVEL)
            assert_true(a->remove_mm == 0);
    }
}

/* The one advice of that action; NULL when there is none. */
static const sw_advice *advice_to(const sw_inspection *ins, sw_action action)
{
    const sw_advice *found = NULL;
    for (size_t i = 0; i < ins->advice_count; i++)
        if (ins->ranking[i].action == action) {
            assert_null(found);
            found = &ins->ranking[i];
        }
    return found;
}

static const sw_advice *sanded(const sw_inspection *ins)
{
    const sw_advice *a = advice_to(ins, SW_TRUE_UP);
    if (!a)
        fail_msg("nothing to true up: %s", ins->advice_count ? ins->ranking[0].reason : "no advice at all");
    return a;
}

/* A wedge of 1 mm on one edge: the tiles touch at its proud end and gape by 1 mm at the other. With a tolerance of 0.5
 * mm about half a millimetre must come off at the proud end, and nothing where it gapes. */
static void a_wedge_is_sanded_where_it_touches(void **state)
{
    (void)state;
    const struct {
        int upright, second;
        shape proud;
        sw_side side;
    } cases[] = {{1, 0, wedge_1, SW_EAST},  {1, 1, wedge_1, SW_WEST},      {0, 0, wedge_1, SW_SOUTH},
                 {0, 1, wedge_1, SW_NORTH}, {1, 0, wedge_back_1, SW_EAST}, {0, 1, wedge_back_1, SW_NORTH}};
    for (int i = 0; i < 6; i++) {
        sw_inspection ins;
        int back = cases[i].proud == wedge_back_1;
        one_seam(cases[i].upright, cases[i].second ? straight : cases[i].proud,
                 cases[i].second ? cases[i].proud : straight, 0, U95, &ins);
        assert_int_equal(ins.seams[0].verdict, SW_OVER);
        rank(&ins);
        const sw_advice *a = sanded(&ins);
        assert_int_equal(a->rank, 1);
        assert_int_equal(a->tile, cases[i].second);
        assert_int_equal(a->side, cases[i].side);
        assert_int_equal(a->seam, 0);
        /* What must go lies between the excess over the tolerance, the uncertainty taken off, and the whole of the
         * wedge. */
        if (!(a->remove_mm > 0.35 && a->remove_mm < 0.6))
            fail_msg("take off %.2f mm of a wedge of 1 mm", a->remove_mm);
        /* Taking d off where p is more than tolerance above its least: that is the proud half, give or take. */
        double low = back ? LONG - a->to_mm : a->from_mm, high = back ? LONG - a->from_mm : a->to_mm;
        if (!(low > 0.4 * LONG && low < 0.7 * LONG && high > 0.9 * LONG && high <= LONG))
            fail_msg("sand %.0f to %.0f mm, proud at %s", a->from_mm, a->to_mm, back ? "0" : "300");
        expect_near("worst gap", a->worst_gap_mm, 1, 0.05);
        expect_near("its uncertainty", a->u95_mm, U95, 1e-9);
        assert_non_null(strstr(a->reason, cases[i].second ? ins.tiles[1].name : ins.tiles[0].name));
        sw_inspection_free(&ins);
    }
}

static void a_bow_is_sanded_in_the_middle(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, straight, bow_1, 0, U95, &ins);
    rank(&ins);
    const sw_advice *a = sanded(&ins);
    assert_int_equal(a->tile, 1);
    assert_int_equal(a->side, SW_WEST);
    assert_true(a->from_mm > 20 && a->from_mm < 100 && a->to_mm > 200 && a->to_mm < 280);
    assert_true(a->remove_mm > 0.3 && a->remove_mm < 0.6);
    sw_inspection_free(&ins);
}

/* Hollow in the middle: it touches at its two ends, and only there may anything go. */
static void a_hollow_is_never_sanded_where_it_gapes(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, hollow_1, straight, 0, U95, &ins);
    rank(&ins);
    const sw_advice *a = sanded(&ins);
    assert_int_equal(a->tile, 0);
    if (a->from_mm < ins.seams[0].max_at_mm && ins.seams[0].max_at_mm < a->to_mm)
        fail_msg("sand %.0f to %.0f mm, but at %.0f mm it gapes most", a->from_mm, a->to_mm, ins.seams[0].max_at_mm);
    assert_true(a->remove_mm > 0.3 && a->remove_mm < 0.6);
    sw_inspection_free(&ins);
}

/* Of two edges the one that strays more from its own square. */
static void the_worse_edge_of_two(void **state)
{
    (void)state;
    for (int second = 0; second < 2; second++) {
        sw_inspection ins;
        one_seam(1, second ? wedge_0_3 : wedge_1, second ? wedge_1 : wedge_0_3, 0, U95, &ins);
        rank(&ins);
        const sw_advice *a = sanded(&ins);
        assert_int_equal(a->tile, second);
        assert_int_equal(a->side, second ? SW_WEST : SW_EAST);
        assert_true(a->from_mm > 0.3 * LONG && a->remove_mm > 0.6 && a->remove_mm < 0.9);
        sw_inspection_free(&ins);
    }
}

/* Two wedges that fit each other: turned or slipped, not badly cut. Pushed together they close; nothing is sanded. */
static void wedges_that_match(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, wedge_1, wedge_back_1, 0.9, U95, &ins);
    assert_int_equal(ins.seams[0].verdict, SW_OVER);
    rank(&ins);
    assert_null(advice_to(&ins, SW_TRUE_UP));
    assert_non_null(advice_to(&ins, SW_CHECK));
    sw_inspection_free(&ins);
}

/* Straight edges that stay apart: the top edges are not to blame. One photo cannot tell which side face leans, so:
 * check, and say how (a try square; method of the project). */
static void straight_edges_apart(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(0, straight, straight, 1.4, U95, &ins);
    rank(&ins);
    assert_null(advice_to(&ins, SW_TRUE_UP));
    const sw_advice *a = advice_to(&ins, SW_CHECK);
    assert_non_null(a);
    assert_non_null(strstr(a->reason, "push"));
    assert_non_null(strstr(a->reason, "try square"));
    sw_inspection_free(&ins);
}

/* A chip alone: fill it, and leave the edge. */
static void a_chip_is_filled(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, straight, straight, 0.1, U95, &ins);
    ins.seams[0].chips = calloc(1, sizeof *ins.seams[0].chips);
    assert_non_null(ins.seams[0].chips);
    ins.seams[0].chip_count = 1;
    ins.seams[0].chips[0] = (sw_chip){.tile = 1, .side = SW_WEST, .at_mm = 120, .length_mm = 14, .depth_mm = 2.2};
    rank(&ins);
    assert_int_equal(ins.advice_count, 2);
    assert_null(advice_to(&ins, SW_TRUE_UP));
    const sw_advice *fill = advice_to(&ins, SW_FILL), *leave = advice_to(&ins, SW_LEAVE);
    assert_true(fill && leave);
    assert_int_equal(fill->tile, 1);
    assert_int_equal(fill->side, SW_WEST);
    expect_near("from", fill->from_mm, 113, 1e-9);
    expect_near("to", fill->to_mm, 127, 1e-9);
    assert_true(fill->rank < leave->rank);
    sw_inspection_free(&ins);
}

static void within_is_left(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, wedge_0_3, straight, 0, U95, &ins);
    assert_int_equal(ins.seams[0].verdict, SW_WITHIN);
    rank(&ins);
    assert_int_equal(ins.advice_count, 1);
    assert_int_equal(ins.ranking[0].action, SW_LEAVE);
    sw_inspection_free(&ins);
}

/* Too close to call: whatever the shapes, no sanding. */
static void too_close_to_call_is_never_sanded(void **state)
{
    (void)state;
    const shape shapes[] = {straight, wedge_1, wedge_0_3, bow_1, hollow_1};
    for (int i = 0; i < 5; i++) {
        sw_inspection ins;
        one_seam(1, shapes[i], straight, 0, 1.4, &ins);
        ins.seams[0].verdict = SW_TOO_CLOSE;
        rank(&ins);
        assert_null(advice_to(&ins, SW_TRUE_UP));
        assert_null(advice_to(&ins, SW_BEVEL));
        const sw_advice *a = advice_to(&ins, SW_CHECK);
        assert_non_null(a);
        assert_non_null(strstr(a->reason, "do not sand"));
        sw_inspection_free(&ins);
    }
}

/* What was not seen is checked, never sanded. */
static void what_was_not_seen(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, wedge_1, straight, 0, U95, &ins);
    for (int i = 0; i < STEPS; i++)
        if (i < 295)
            ins.tiles[1].edges[SW_WEST].points[i].state = SW_STATION_UNSEEN;
    rank(&ins);
    assert_null(advice_to(&ins, SW_TRUE_UP));
    assert_non_null(advice_to(&ins, SW_CHECK));
    sw_inspection_free(&ins);
    one_seam(1, wedge_1, straight, 0, U95, &ins);
    ins.seams[0].max_mm = ins.seams[0].mean_mm = ins.seams[0].max_u95_mm = NAN;
    ins.seams[0].verdict = sw_verdict_of(NAN, NAN, TOLERANCE);
    rank(&ins);
    assert_int_equal(ins.advice_count, 1);
    assert_int_equal(ins.ranking[0].action, SW_CHECK);
    sw_inspection_free(&ins);
    one_seam(1, wedge_1, straight, 0, U95, &ins);
    for (int i = 0; i < STEPS; i++)
        ins.tiles[0].edges[SW_EAST].points[i].proud_mm = NAN;
    rank(&ins);
    assert_null(advice_to(&ins, SW_TRUE_UP));
    sw_inspection_free(&ins);
}

/* A chip's depth is not proudness: with a chip in the proud edge the advice stays as it was. */
static void a_chip_does_not_change_the_sanding(void **state)
{
    (void)state;
    sw_inspection ins;
    one_seam(1, wedge_1, straight, 0, U95, &ins);
    rank(&ins);
    sw_advice without = *sanded(&ins);
    sw_inspection_free(&ins);
    one_seam(1, wedge_1, straight, 0, U95, &ins);
    for (int i = 30; i < 45; i++) {
        ins.tiles[0].edges[SW_EAST].points[i].proud_mm = -3;
        ins.tiles[0].edges[SW_EAST].points[i].state = SW_STATION_CHIP;
    }
    rank(&ins);
    const sw_advice *with = sanded(&ins);
    expect_near("take off", with->remove_mm, without.remove_mm, 0.02);
    expect_near("from", with->from_mm, without.from_mm, 5);
    expect_near("to", with->to_mm, without.to_mm, 5);
    sw_inspection_free(&ins);
}

/* Most urgent first: open seams by their widest gap, then what is too close to call, then chips, then what may stay. */
static void the_order(void **state)
{
    (void)state;
    const shape first[] = {straight, wedge_1, straight, straight, wedge_0_3},
                second[] = {straight, straight, straight, wedge_1, straight};
    const double apart[] = {0.1, 0, 0.46, 0.8, 0};
    sw_inspection ins;
    make(1, 5, first, second, &ins);
    for (int k = 0; k < 5; k++)
        push(&ins, k, first[k], second[k], apart[k], U95);
    assert_int_equal(ins.seams[2].verdict, SW_TOO_CLOSE);
    ins.seams[4].chips = calloc(1, sizeof *ins.seams[4].chips);
    assert_non_null(ins.seams[4].chips);
    ins.seams[4].chip_count = 1;
    ins.seams[4].chips[0] = (sw_chip){.tile = 4, .side = SW_EAST, .at_mm = 60, .length_mm = 8, .depth_mm = 1};
    rank(&ins);
    assert_int_equal(ins.advice_count, 6);
    static const int seams[] = {3, 1, 2, 4};
    for (int i = 0; i < 4; i++)
        assert_int_equal(ins.ranking[i].seam, seams[i]);
    assert_int_equal(ins.ranking[2].action, SW_CHECK);
    assert_int_equal(ins.ranking[3].action, SW_FILL);
    assert_int_equal(ins.ranking[4].action, SW_LEAVE);
    assert_int_equal(ins.ranking[5].action, SW_LEAVE);
    sw_inspection_free(&ins);
}

/* A single tile has no seams, and nothing is advised. */
static void no_seams(void **state)
{
    (void)state;
    sw_inspection ins;
    make(1, 0, NULL, NULL, &ins);
    rank(&ins);
    assert_int_equal(ins.advice_count, 0);
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wedge_is_sanded_where_it_touches),
        cmocka_unit_test(a_bow_is_sanded_in_the_middle),
        cmocka_unit_test(a_hollow_is_never_sanded_where_it_gapes),
        cmocka_unit_test(the_worse_edge_of_two),
        cmocka_unit_test(wedges_that_match),
        cmocka_unit_test(straight_edges_apart),
        cmocka_unit_test(a_chip_is_filled),
        cmocka_unit_test(within_is_left),
        cmocka_unit_test(too_close_to_call_is_never_sanded),
        cmocka_unit_test(what_was_not_seen),
        cmocka_unit_test(a_chip_does_not_change_the_sanding),
        cmocka_unit_test(the_order),
        cmocka_unit_test(no_seams),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
