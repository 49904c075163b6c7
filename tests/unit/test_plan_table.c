/* Plans for made-up tables, carried out on the true outlines and judged there by a solver of the tests' own.
 *
 * What is asked: every seam within the tolerance and a little, as predicted; hardly more taken off than the least there
 * is; edges of seams that are within left alone.
 */
#include "maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "judge.h"
#include "seamwright/plan.h"

enum { EDGES = 4 * 16 };
static const double TOLERANCE_MM = 0.5;
/* How far seams may come out beyond the tolerance, and beyond what was predicted, mm. */
static const double BEYOND_MM = 0.1;

/* Seams count from end to end, as in plans. */
static const judge_rules whole = {.end_mm = 0, .step_mm = 1, .knot_mm = 10};

typedef struct outcome {
    double pushed, predicted, worst; /* widest gap: pushed as it is; after the plan as predicted; truly */
    double beyond;                   /* least by which all seams can keep to their predicted widest gaps */
    double astray;                   /* largest difference of a seam's predicted and true widest gap then */
    double off, least;               /* area: planned; least from the true outlines */
    double least_inside;             /* the least when 5 mm at the seams' ends may gape */
    double least_forbidden;          /* the least when edges of seams within are left alone; INFINITY when impossible */
    double off_within;               /* area planned on such edges */
    int edges, within;               /* edges to be sanded; such edges among them */
    double overlap;
} outcome;

static void carry_out(const sw_plan *plan, made_table *table)
{
    made_removal removal[EDGES] = {{0}};
    double *memory[EDGES] = {0};
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        int k = 4 * edge->tile + (int)edge->side, n = (int)edge->true_up_count;
        made_bevel(&table->tiles[edge->tile], edge->side, edge->bevel_mm);
        if (!n)
            continue;
        memory[k] = calloc(2 * (size_t)n, sizeof **memory);
        assert_non_null(memory[k]);
        for (int i = 0; i < n; i++) {
            memory[k][i] = edge->true_up[i].at_mm;
            memory[k][n + i] = edge->true_up[i].remove_mm;
        }
        removal[k] = (made_removal){memory[k], memory[k] + n, n};
    }
    for (int i = 0; i < table->columns * table->rows; i++)
        made_sand(&table->tiles[i], &removal[4 * i]);
    for (int k = 0; k < EDGES; k++)
        free(memory[k]);
}

/* Marks edges of seams that are within as inspected. */
static void mark_within(const sw_inspection *ins, unsigned char *within)
{
    memset(within, 0, EDGES);
    for (size_t j = 0; j < ins->seam_count; j++) {
        const sw_seam *s = &ins->seams[j];
        if (s->verdict != SW_WITHIN)
            continue;
        within[4 * s->first + (s->upright ? SW_EAST : SW_SOUTH)] = 1;
        within[4 * s->second + (s->upright ? SW_WEST : SW_NORTH)] = 1;
    }
}

static void compare(const sw_inspection *ins, const sw_plan *plan, const made_table *table, outcome *o)
{
    unsigned char within[EDGES];
    judge_rules rules = whole;
    judge_removal least;
    mark_within(ins, within);
    assert_int_equal(judge_least_removal(table, TOLERANCE_MM, &judge_usual, &least), JUDGE_SOLVED);
    o->least_inside = least.area_mm2;
    judge_removal_free(&least);
    assert_int_equal(judge_least_removal(table, TOLERANCE_MM, &rules, &least), JUDGE_SOLVED);
    o->least = least.area_mm2;
    judge_removal_free(&least);
    rules.forbidden = within;
    o->least_forbidden = judge_least_removal(table, TOLERANCE_MM, &rules, &least) ? INFINITY : least.area_mm2;
    judge_removal_free(&least);
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        o->off += edge->removed_mm2;
        o->edges += edge->true_up_count > 0;
        if (edge->true_up_count && within[4 * edge->tile + (int)edge->side]) {
            o->within++;
            o->off_within += edge->removed_mm2;
        }
    }
}

/* Pushes so that seams keep to what was predicted of each, as far as they can. */
static void keep_to(const sw_plan *plan, const made_table *table, outcome *o)
{
    double allow[JUDGE_SEAMS];
    judge_rules rules = whole;
    judge_settled s;
    for (size_t j = 0; j < plan->seam_count; j++) {
        allow[j] = plan->seams[j].max_after_mm;
        o->predicted = fmax(o->predicted, allow[j]);
    }
    rules.allow_mm = allow;
    o->beyond = -INFINITY;
    assert_int_equal(judge_settle(table, JUDGE_WORST, &rules, &s), JUDGE_SOLVED);
    for (int j = 0; j < s.seam_count; j++) {
        o->beyond = fmax(o->beyond, s.max_mm[j] - allow[j]);
        o->sum_off += s.max_mm[j] - allow[j];
        o->astray = fmax(o->astray, fabs(s.max_mm[j] - allow[j]));
    }
    judge_settled_free(&s);
}

static outcome judge_plan(int columns, int rows, uint32_t seed, const made_quality *quality, const made_noise *noise)
{
    outcome o = {0};
    made_table table = made_new(columns, rows, 300);
    sw_inspection ins;
    sw_plan plan;
    judge_settled s;
    sw_error err = {""};
    made_cut(&table, quality, seed);
    made_lay(&table, quality, seed);
    made_inspect(&table, noise, TOLERANCE_MM, seed, &ins);
    if (sw_plan_make(&ins, 1, NULL, &(sw_plan_options){0}, &plan, &err))
        fail_msg("no plan: %s", err.text);
    assert_int_equal(judge_settle(&table, JUDGE_WORST, &whole, &s), JUDGE_SOLVED);
    o.pushed = s.worst_mm;
    judge_settled_free(&s);
    compare(&ins, &plan, &table, &o);
    carry_out(&plan, &table);
    assert_int_equal(judge_settle(&table, JUDGE_WORST, &whole, &s), JUDGE_SOLVED);
    o.worst = s.worst_mm;
    o.overlap = s.overlap_mm;
    judge_settled_free(&s);
    keep_to(&plan, &table, &o);
    print_message(
        "  %dx%d %2u: pushed %.2f, plan %.2f, true %.2f, beyond %.2f, astray %.2f, sum %+.2f; %5.1f mm2 off %d edges, least %5.1f "
        "(%+3.0f %%; %5.1f without ends); "
        "within: %d edges %.1f mm2, without them %.1f\n",
        columns, rows, (unsigned)seed, o.pushed, o.predicted, o.worst, o.beyond, o.astray, o.sum_off, o.off, o.edges, o.least,
        100 * (o.off / o.least - 1), o.least_inside, o.within, o.off_within, o.least_forbidden);
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&table);
    return o;
}

static const struct {
    int columns, rows;
    uint32_t seed;
} TABLES[] = {{3, 3, 1}, {3, 3, 2}, {3, 3, 3}, {3, 3, 5}, {3, 3, 6}, {3, 3, 7}, {3, 3, 8}, {2, 3, 1}, {4, 4, 1}};
enum { TABLE_COUNT = sizeof TABLES / sizeof *TABLES };

static made_quality rough(void)
{
    made_quality q = made_by_volunteers;
    q.chips = 0.2;
    q.slope *= 1.6;
    q.bow_mm *= 1.6;
    q.wave_mm *= 1.5;
    return q;
}

static void plans(const made_noise *noise)
{
    made_quality q = rough();
    for (int k = 0; k < TABLE_COUNT; k++) {
        outcome o = judge_plan(TABLES[k].columns, TABLES[k].rows, TABLES[k].seed, &q, noise);
        assert_true(o.worst <= TOLERANCE_MM + BEYOND_MM);
        assert_true(o.astray < BEYOND_MM);
        assert_true(o.overlap < 0.005);
    }
}

static void exact_inspections(void **state)
{
    (void)state;
    plans(&made_exact);
}

static void noisy_inspections(void **state)
{
    (void)state;
    plans(&made_as_photos);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(exact_inspections), cmocka_unit_test(noisy_inspections)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
