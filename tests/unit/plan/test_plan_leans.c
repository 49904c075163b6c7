/* Which faces lean: made-up tables of known leans, inspected as they lie and again in the arrangement that the plan
 * itself proposes to settle what is open; see src/plan/lean.h, settling.c. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seamwright/layout.h"
#include "seamwright/plan.h"
#include "support/made/made_table.h"

static const double TOLERANCE_MM = 0.5;
/* A face with less lean than this does not lean, mm: as tight as hands push (TIGHT_MM of src/plan/lean.c). */
static const double LEANS_MM = 0.1;
/* Intervals are 95 %, and so is what is said to be known. What a proposal promises comes true to PROMISE_SHARE, all
 * tables together. */
static const double HELD_SHARE = 0.9, KNOWN_SHARE = 0.95, PROMISE_SHARE = 0.25;

/* Not those that settling.c was tried on (1 to 8). */
enum { FIRST_SEED = 13 };
#if defined(__SANITIZE_ADDRESS__)
enum { SLOW = 1, TABLES = 2 };
#else
enum { SLOW = 0, TABLES = 12 };
#endif

typedef struct counts {
    int faces, held;          /* faces with an interval; those whose lean is in it */
    int known, known_leaning; /* faces said to lean; those that do */
    int open;                 /* faces of which it is open */
    double lean_squares;      /* errors of the estimates */
} counts;

/* Leans against the truth; faces that are to be bevelled. */
static counts count(const made_table *table, const sw_plan *plan)
{
    counts c = {0};
    for (size_t i = 0; i < plan->lean_count; i++) {
        const sw_lean *l = &plan->leans[i];
        double lean = table->tiles[l->tile].edges[l->side].lean_mm;
        c.faces++;
        c.held += lean >= l->least_mm - 1e-6 && lean <= l->most_mm + 1e-6;
        c.lean_squares += (lean - l->lean_mm) * (lean - l->lean_mm);
    }
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        double lean = table->tiles[edge->tile].edges[edge->side].lean_mm;
        c.known += edge->lean == SW_LEAN_KNOWN;
        c.known_leaning += edge->lean == SW_LEAN_KNOWN && lean > LEANS_MM;
        c.open += edge->lean == SW_LEAN_OPEN;
    }
    return c;
}

static void make_plan(const sw_inspection *all, size_t n, const sw_layout *layouts, sw_plan *plan)
{
    sw_error err = {""};
    if (sw_plan_make(all, n, layouts, &(sw_plan_options){0}, plan, &err))
        fail_msg("no plan: %s", err.text);
}

static void add(counts *sum, const counts *c)
{
    sum->faces += c->faces;
    sum->held += c->held;
    sum->known += c->known;
    sum->known_leaning += c->known_leaning;
    sum->open += c->open;
    sum->lean_squares += c->lean_squares;
}

static void tell(const char *what, const counts *c)
{
    print_message("%s %d of %d intervals hold, RMS %.2f mm; %d faces known (%d do lean), %d open\n", what, c->held,
                  c->faces, sqrt(c->lean_squares / fmax(1, c->faces)), c->known, c->known_leaning, c->open);
}

/* How many faces the proposed arrangement is said to settle. */
static int promised(const sw_plan *plan)
{
    static const char WORDS[] = "would tell of about ";
    for (size_t i = 0; i < plan->notes.count; i++) {
        const char *found = strstr(plan->notes.list[i].text, WORDS);
        if (found)
            return (int)strtol(found + sizeof WORDS - 1, NULL, 10);
    }
    fail_msg("an arrangement is proposed, but no note says so");
    return 0;
}

/* One table, laid twice. Returns how many faces the second time was said to settle. */
static int lay_twice(uint32_t seed, const made_quality *quality, counts *one, counts *two)
{
    sw_inspection all[2];
    sw_layout layouts[2];
    sw_plan plan, both;
    sw_error err = {""};
    made_table table = made_new(3, 3, 300);
    made_cut(&table, quality, seed);
    made_lay(&table, quality, seed);
    made_inspect(&table, &made_as_photos, TOLERANCE_MM, seed, &all[0]);
    make_plan(all, 1, NULL, &plan);
    *one = count(&table, &plan);
    assert_non_null(plan.settling_layout);
    int promise = promised(&plan);
    assert_int_equal(sw_layout_as_is(&all[0], &layouts[0], &err), SW_OK);
    assert_int_equal(sw_layout_read(plan.settling_layout, &all[0], &layouts[1], &err), SW_OK);
    made_table again = made_put(&table, &layouts[1]);
    made_lay(&again, quality, seed + 100);
    made_inspect(&again, &made_as_photos, TOLERANCE_MM, seed + 100, &all[1]);
    make_plan(all, 2, layouts, &both);
    *two = count(&table, &both);
    print_message("  %u: \"%s\", about %d of %d faces\n", (unsigned)seed, plan.settling_layout, promise, one->open);
    sw_plan_free(&both);
    sw_inspection_free(&all[1]);
    sw_layout_free(&layouts[0]);
    sw_layout_free(&layouts[1]);
    made_free(&again);
    sw_plan_free(&plan);
    sw_inspection_free(&all[0]);
    made_free(&table);
    return promise;
}

/* Tiles are laid with their bases touching, but where two that meet at a corner keep a seam open. */
static void settled_by_a_second_arrangement(void **state)
{
    (void)state;
    made_quality q = made_by_volunteers;
    counts first = {0}, second = {0};
    int promise = 0;
    q.lean_mm = 1.2;
    q.touching = 1;
    if (SLOW)
        print_message("  under sanitizers: %d tables instead of 12\n", (int)TABLES);
    for (uint32_t seed = FIRST_SEED; seed < FIRST_SEED + TABLES; seed++) {
        counts one, two;
        promise += lay_twice(seed, &q, &one, &two);
        tell("    laid once: ", &one);
        tell("    laid twice:", &two);
        add(&first, &one);
        add(&second, &two);
    }
    int settled = first.open - second.open;
    tell("  all, laid once: ", &first);
    tell("  all, laid twice:", &second);
    print_message("  %d of %d faces settled, %d promised\n", settled, first.open, promise);
    assert_true(first.held >= HELD_SHARE * first.faces);
    assert_true(second.held >= HELD_SHARE * second.faces);
    assert_true(first.open > 0 && second.known > 0);
    assert_int_equal(first.known, 0); /* one inspection has two unknowns an equation */
    assert_true(second.known_leaning >= KNOWN_SHARE * second.known);
    assert_true(settled > first.open / 2.0);
    assert_true(abs(settled - promise) <= PROMISE_SHARE * promise);
    assert_true(sqrt(second.lean_squares / second.faces) < 0.75 * sqrt(first.lean_squares / first.faces));
}

/* What a try square and a feeler gauge say of the faces that are open, in tenths. */
static size_t answer(const made_table *table, const sw_plan *plan, sw_lean_answer *answers)
{
    size_t n = 0;
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        if (edge->lean == SW_LEAN_OPEN)
            answers[n++] = (sw_lean_answer){edge->tile, edge->side,
                                            round(10 * table->tiles[edge->tile].edges[edge->side].lean_mm) / 10};
    }
    return n;
}

/* Whoever holds a try square to every face that is open is asked for no more, and bevels only what leans. */
static void settled_by_a_try_square(void **state)
{
    (void)state;
    made_quality q = made_by_volunteers;
    q.lean_mm = 2;
    q.touching = 1;
    for (uint32_t seed = FIRST_SEED; seed < FIRST_SEED + 3; seed++) {
        sw_inspection ins;
        sw_plan plan, answered;
        sw_error err = {""};
        sw_lean_answer answers[36];
        made_table table = made_new(3, 3, 300);
        made_cut(&table, &q, seed);
        made_lay(&table, &q, seed);
        made_inspect(&table, &made_as_photos, TOLERANCE_MM, seed, &ins);
        make_plan(&ins, 1, NULL, &plan);
        const sw_plan_options options = {.answers = answers, .answer_count = answer(&table, &plan, answers)};
        assert_true(options.answer_count > 4);
        if (sw_plan_make(&ins, 1, NULL, &options, &answered, &err))
            fail_msg("no plan: %s", err.text);
        assert_int_equal(answered.answer_count, options.answer_count);
        counts c = count(&table, &answered);
        tell("  answered:", &c);
        assert_int_equal(c.open, 0);
        assert_true(c.known > 0 && c.known_leaning == c.known);
        assert_true(c.held >= HELD_SHARE * c.faces);
        sw_plan_free(&answered);
        sw_plan_free(&plan);
        sw_inspection_free(&ins);
        made_free(&table);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(settled_by_a_second_arrangement),
                                       cmocka_unit_test(settled_by_a_try_square)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
