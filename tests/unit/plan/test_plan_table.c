/* Plans for made-up tables as a corner-wise laying leaves them, carried out on the true outlines and judged there by a
 * solver of the tests' own, pushed the ordinary way (least total of the seams' mean gaps).
 *
 * What is asked: every seam within the tolerance and a little; nine in ten forecasts hold; not more than so much more
 * taken off than the least with which the tiles can lie as they came to; edges of seams that are within left alone.
 * Whole rounds of tables that lie pushed: test_rounds.c, tests/study/rounds.md.
 */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seamwright/plan.h"
#include "support/made/rounds.h"

enum { EDGES = 4 * 16 };
static const double TOLERANCE_MM = 0.5;
/* How far seams may come out beyond the tolerance, mm. */
static const double BEYOND_MM = 0.05;
/* So many forecasts hold, all tables together. */
static const double HOLDS_LEAST = 0.9;
/* Least standoff that is bevelled away, mm: as in src/plan/plan.c. */
static const double LEAN_LEFT_MM = 0.1;
/* How much of an overlap is left by the judge's own rounding and by corners, mm. */
static const double OVERLAP_MM = 0.005;
/* How much more may come off than the least with which the tiles can lie as they came to lie, all tables together. */
static const double MORE_SHARE = 0.25;

/* Seams count from end to end, as in plans; tiles that meet only at a corner keep apart, which plans leave out. */
static const judge_rules whole = {.end_mm = 0, .step_mm = 1, .knot_mm = 25, .corners = 1};

typedef struct outcome {
    double pushed, predicted, worst; /* widest gap: pushed as it is; after the plan as forecast; truly */
    double came_mm[JUDGE_SEAMS];     /* of each seam, truly */
    int seams, held;                 /* forecasts that hold */
    double overlap;                  /* anywhere, corners too */
    double off,
        least; /* area: planned; least with which all can lie as they came, from the true outlines by the same knots */
    double shared;     /* the least with which all can lie within, openness shared as no hand does */
    int edges, within; /* edges to be sanded; those of seams that are within as inspected among them */
} outcome;

static void carry_out(const sw_plan *plan, made_table *table)
{
    for (size_t e = 0; e < plan->edge_count; e++)
        made_bevel(&table->tiles[plan->edges[e].tile], plan->edges[e].side, plan->edges[e].bevel_mm);
    rounds_sand(plan, table);
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

static double least_of(const made_table *table, const judge_rules *rules)
{
    judge_removal least;
    judge_end end = judge_least_removal(table, TOLERANCE_MM, rules, &least);
    double area = least.area_mm2;
    judge_removal_free(&least);
    assert_int_equal(end, JUDGE_SOLVED);
    return area;
}

/* table: as it lay. */
static void compare(const sw_inspection *ins, const sw_plan *plan, const made_table *table, outcome *o)
{
    unsigned char within[EDGES];
    double allow[JUDGE_SEAMS];
    judge_rules rules = whole;
    mark_within(ins, within);
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        o->off += edge->removed_mm2;
        o->edges += edge->true_up_count > 0;
        o->within += edge->true_up_count && within[4 * edge->tile + (int)edge->side];
    }
    rules.step_mm = 2; /* half the rows: areas hardly change */
    o->shared = least_of(table, &rules);
    for (size_t j = 0; j < plan->seam_count; j++)
        allow[j] = o->came_mm[j] - TOLERANCE_MM;
    rules.allow_mm = allow;
    o->least = least_of(table, &rules);
}

static void push(const made_table *table, const judge_rules *rules, outcome *o, double *worst)
{
    judge_settled s;
    assert_int_equal(judge_settle(table, JUDGE_SUM, rules, &s), JUDGE_SOLVED);
    *worst = s.worst_mm;
    memcpy(o->came_mm, s.max_mm, sizeof s.max_mm);
    o->overlap = fmax(o->overlap, fmax(s.overlap_mm, rules->corners ? s.corner_mm : 0));
    judge_settled_free(&s);
}

static void hold(const sw_plan *plan, outcome *o)
{
    for (size_t j = 0; j < plan->seam_count; j++) {
        const sw_seam_plan *s = &plan->seams[j];
        o->predicted = fmax(o->predicted, s->forecast_mm);
        o->seams++;
        o->held += fabs(o->came_mm[j] - s->forecast_mm) <= s->forecast_u95_mm;
    }
}

static void tell(const made_table *table, uint32_t seed, const outcome *o)
{
    print_message("  %dx%d %u: pushed %.2f, forecast %.2f, true %.2f, %d of %d forecasts hold; %5.1f mm2 off %d edges, "
                  "least to lie so %5.1f (%+.0f %%), to lie within if shared %5.1f\n",
                  table->columns, table->rows, (unsigned)seed, o->pushed, o->predicted, o->worst, o->held, o->seams,
                  o->off, o->edges, o->least, 100 * (o->off / o->least - 1), o->shared);
}

static outcome judge_plan(int columns, int rows, uint32_t seed, const made_quality *quality, const made_noise *noise)
{
    outcome o = {0};
    made_table table = made_new(columns, rows, 300);
    judge_rules rules = whole;
    sw_inspection ins;
    sw_plan plan;
    sw_error err = {""};
    /* Rows that step when leans are gone catch at corners, which no plan foresees: tests/study/rounds.md judges that. */
    rules.leans = quality->lean_mm > 0;
    rules.corners = !rules.leans;
    made_cut(&table, quality, seed);
    made_lay(&table, quality, seed);
    made_inspect(&table, noise, TOLERANCE_MM, seed, &ins);
    if (sw_plan_make(&ins, 1, NULL, &(sw_plan_options){0}, &plan, &err))
        fail_msg("no plan: %s", err.text);
    made_table before = made_copy(&table);
    push(&table, &rules, &o, &o.pushed);
    carry_out(&plan, &table);
    push(&table, &rules, &o, &o.worst);
    hold(&plan, &o);
    for (int e = 0; e < 4 * before.columns * before.rows; e++) /* leans that went are no matter of area */
        before.tiles[e / 4].edges[e % 4].lean_mm = table.tiles[e / 4].edges[e % 4].lean_mm;
    compare(&ins, &plan, &before, &o);
    made_free(&before);
    tell(&table, seed, &o);
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
    made_free(&table);
    return o;
}

static const struct {
    int columns, rows;
    uint32_t seed;
} TABLES[] = {{3, 3, 1}, {3, 3, 2}, {3, 3, 3}, {3, 3, 5}, {3, 3, 6}, {3, 3, 7}, {3, 3, 8}, {2, 3, 1}, {4, 4, 1}};
#ifdef __SANITIZE_ADDRESS__
enum { TABLE_COUNT = 2, EXACT_COUNT = 1, LEANING_COUNT = 1 }; /* the judge takes minutes there; it says how many */
#else
enum { TABLE_COUNT = sizeof TABLES / sizeof *TABLES, EXACT_COUNT = 3, LEANING_COUNT = 4 };
#endif

static made_quality rough(void)
{
    made_quality q = made_by_volunteers;
    q.chips = 0.2;
    q.slope *= 1.6;
    q.bow_mm *= 1.6;
    q.wave_mm *= 1.5;
    return q;
}

/* Every seam comes within; forecasts hold; over all tables not much more comes off than must. */
static void plans(const made_noise *noise, int from, int to)
{
    made_quality q = rough();
    double off = 0, least = 0;
    int seams = 0, held = 0;
    for (int k = from; k < to; k++) {
        outcome o = judge_plan(TABLES[k].columns, TABLES[k].rows, TABLES[k].seed, &q, noise);
        assert_true(o.worst <= TOLERANCE_MM + BEYOND_MM);
        assert_int_equal(o.within, 0);
        assert_true(o.overlap < OVERLAP_MM);
        off += o.off;
        least += o.least;
        seams += o.seams;
        held += o.held;
    }
    print_message("  all %d: %d of %d forecasts hold; %.0f mm2 off, least %.0f (%+.1f %%)\n", to - from, held, seams,
                  off, least, 100 * (off / least - 1));
    assert_true(held >= HOLDS_LEAST * seams);
    assert_true(off <= (1 + MORE_SHARE) * least);
}

/* Without errors there is no guard, so a way to lie that the plan did not look at goes over the limit (0.70 mm on the first
 * table): what comes off is held against the least, and no more is asked. */
static void exact_inspections(void **state)
{
    (void)state;
    made_quality q = rough();
    double off = 0, least = 0;
    for (int k = 0; k < EXACT_COUNT; k++) {
        outcome o = judge_plan(TABLES[k].columns, TABLES[k].rows, TABLES[k].seed, &q, &made_exact);
        assert_true(o.worst < o.pushed);
        off += o.off;
        least += o.least;
    }
    assert_true(off <= (1 + MORE_SHARE) * least);
}

static void noisy_inspections(void **state)
{
    (void)state;
    plans(&made_as_photos, 0, TABLE_COUNT);
}

/* Faces lean up to 1.2 mm: bases touch, tops do not. Standoffs under LEAN_LEFT_MM count as tight in plans and stay, and
 * what one inspection takes for a lean is only known to its u95. */
static void leaning_faces(void **state)
{
    (void)state;
    made_quality q = rough();
    q.lean_mm = 1.2;
    q.touching = 1;
    for (uint32_t seed = 1; seed <= LEANING_COUNT; seed++) {
        outcome o = judge_plan(3, 3, seed, &q, &made_as_photos);
        assert_true(o.worst <= TOLERANCE_MM + LEAN_LEFT_MM + BEYOND_MM);
        assert_true(o.pushed > 1.5);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(exact_inspections), cmocka_unit_test(noisy_inspections),
                                       cmocka_unit_test(leaning_faces)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
