/* Arrangements of tiles whose side faces lean: the worst case must hold what the tiles, truly laid so, come to when they
 * are pushed, by the tests' own solver. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "seamwright/arrange.h"
#include "support/made/judge.h"

static const double TOLERANCE_MM = 0.5;
/* The work is bounded; the clock shall not decide. */
static const double NO_LIMIT_S = 1e6;
/* Worst cases are to hold the ordinary push at 95 %, so of eight tables all. Tiles pushed from a corner, one after the other,
 * can come to lie wider; how often is told. */
static const double HOLDS_SHARE = 0.95;

#if defined(__SANITIZE_ADDRESS__)
enum { TABLES = 2 };
#else
enum { TABLES = 8 };
#endif
enum { FIRST_SEED = 41 };

typedef struct counts {
    int pushes, held, below_best;
    double widest_mm, worst_mm, best_mm; /* sums */
} counts;

/* The widest true gap of the tiles laid as `layout` says and pushed: inward, or from a corner; NaN where the tests' solver
 * gave up. */
static double truly(const made_table *table, const sw_layout *layout, int from_corner)
{
    judge_rules rules = judge_usual;
    judge_settled settled;
    made_table put = made_put(table, layout);
    rules.leans = 1;
    made_lay(&put, &made_by_volunteers, 1);
    judge_end end =
        from_corner ? judge_from_corner(&put, &rules, &settled) : judge_settle(&put, JUDGE_SUM, &rules, &settled);
    double widest = end == JUDGE_SOLVED ? settled.worst_mm : NAN;
    judge_settled_free(&settled);
    made_free(&put);
    return widest;
}

static void add(const char *what, const sw_arranged *a, double widest, counts *c)
{
    double u95 = a->seams[0].u95_mm;
    bool held = widest <= a->worst_mm + u95;
    if (isnan(widest)) {
        print_message("    %-22s given up by the tests' solver\n", what);
        return;
    }
    c->pushes++;
    c->held += held;
    c->below_best += widest < a->best_mm - u95;
    c->widest_mm += widest;
    c->worst_mm += a->worst_mm;
    c->best_mm += a->best_mm;
    print_message("    %-22s %.2f to %.2f mm, ± %.2f; truly %.2f%s\n", what, a->best_mm, a->worst_mm, u95, widest,
                  held ? "" : " NOT HELD");
}

/* now, anew: of pushes inward, and from a corner. */
static void one_table(double lean_mm, uint32_t seed, counts now[2], counts anew[2])
{
    made_quality q = made_by_volunteers;
    sw_inspection ins;
    sw_arrangement a;
    sw_error err = {""};
    made_table table = made_new(3, 3, 300);
    q.lean_mm = lean_mm;
    q.touching = 1;
    made_cut(&table, &q, seed);
    made_lay(&table, &q, seed);
    made_inspect(&table, &made_as_photos, TOLERANCE_MM, seed, &ins);
    if (sw_arrange(&ins, 1, NULL, &(sw_arrange_options){.seconds = NO_LIMIT_S}, NULL, NULL, &a, &err))
        fail_msg("arrange: %s", err.text);
    print_message("  table %u, leans up to %.1f mm\n", (unsigned)seed, lean_mm);
    for (int corner = 0; corner < 2; corner++) {
        add("as they lie:", &a.before, truly(&table, &a.before.layout, corner), &now[corner]);
        add(a.better ? "laid anew:" : "(nothing better):", &a.after, truly(&table, &a.after.layout, corner),
            &anew[corner]);
    }
    sw_arrangement_free(&a);
    sw_inspection_free(&ins);
    made_free(&table);
}

static void tell(const char *what, const counts *c)
{
    print_message("  %s worst case holds %d of %d pushes; mean: best %.2f, truly %.2f, worst %.2f mm; below best %d\n",
                  what, c->held, c->pushes, c->best_mm / c->pushes, c->widest_mm / c->pushes, c->worst_mm / c->pushes,
                  c->below_best);
}

static void worst_case_holds(void **state)
{
    static const double leans_mm[] = {0, 1, 2, 3};
    (void)state;
    const char *more = getenv("SW_TABLES");
    int tables = more ? atoi(more) : TABLES;
    counts now[2] = {{0}}, anew[2] = {{0}};
    for (int k = 0; k < tables; k++)
        one_table(leans_mm[k % 4], FIRST_SEED + (uint32_t)k, now, anew);
    tell("as they lie, pushed inward:    ", &now[0]);
    tell("laid anew, pushed inward:      ", &anew[0]);
    tell("as they lie, one after another:", &now[1]);
    tell("laid anew, one after another:  ", &anew[1]);
    assert_true(now[0].pushes > 0.9 * tables && anew[0].pushes > 0.9 * tables); /* the tests' solver gives up seldom */
    assert_true(now[0].held >= HOLDS_SHARE * now[0].pushes);
    assert_true(anew[0].held >= HOLDS_SHARE * anew[0].pushes);
}

/* Two by two square tiles, pushed tight; only A1's east face leans. */
static const double LEAN_MM = 1.2;
enum { FACES = 16, A1_EAST = SW_EAST };

static sw_inspection one_leans(void)
{
    static const made_quality TIGHT = {.touching = 1};
    sw_inspection ins;
    made_table table = made_new(2, 2, 300);
    table.tiles[0].edges[A1_EAST].lean_mm = LEAN_MM;
    made_lay(&table, &TIGHT, 1);
    made_inspect(&table, &made_exact, TOLERANCE_MM, 1, &ins);
    made_free(&table);
    return ins;
}

static sw_arrangement arrange(const sw_inspection *ins, const sw_lean_answer *answers, size_t count)
{
    sw_arrangement a;
    sw_error err = {""};
    const sw_arrange_options options = {.seconds = NO_LIMIT_S, .answers = answers, .answer_count = count};
    if (sw_arrange(ins, 1, NULL, &options, NULL, NULL, &a, &err))
        fail_msg("arrange: %s", err.text);
    return a;
}

static sw_lean_answer told(int face)
{
    return (sw_lean_answer){face / 4, (sw_side)(face % 4), face == A1_EAST ? LEAN_MM : 0};
}

/* Known of all faces: the one that leans goes to the rim. */
static void to_the_rim(void **state)
{
    (void)state;
    sw_lean_answer answers[FACES];
    for (int f = 0; f < FACES; f++)
        answers[f] = told(f);
    sw_inspection ins = one_leans();
    sw_arrangement a = arrange(&ins, answers, FACES);
    expect_near("as they lie", a.before.worst_mm, LEAN_MM, 0.05);
    assert_true(a.better && a.moved == 1 && a.after.worst_mm < 0.25);
    assert_true(sw_arrangement_fits(&a));
    assert_true(a.ask_tile == -1 && isnan(a.hope_mm) && a.after.unknown == 0);
    sw_arrangement_free(&a);
    sw_inspection_free(&ins);
}

/* Nothing known but the photo: a seam may stay as open as any other that holds a face nobody knows, so nothing is
 * promised. Whoever does what is asked for, one touch at a time, comes to an arrangement that fits. */
static void asked_until_it_fits(void **state)
{
    (void)state;
    sw_lean_answer answers[FACES];
    sw_inspection ins = one_leans();
    size_t count = 0;
    for (;;) {
        sw_arrangement a = arrange(&ins, answers, count);
        bool fits = sw_arrangement_fits(&a);
        print_message("  %zu touches: %.2f to %.2f mm, hope %.2f mm: %.60s\n", count, a.after.best_mm, a.after.worst_mm,
                      a.hope_mm, a.next);
        assert_true(a.answer_count == count);
        if (!fits) {
            assert_true(a.ask_tile >= 0 && a.hope_mm < 0.05 && count < FACES);
            for (size_t i = 0; i < count; i++) /* nobody is asked twice */
                assert_false(answers[i].tile == a.ask_tile && answers[i].side == a.ask_side);
            answers[count++] = told(4 * a.ask_tile + (int)a.ask_side);
        }
        sw_arrangement_free(&a);
        if (fits)
            break;
    }
    assert_true(count > 0 && count <= FACES / 2);
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(to_the_rim), cmocka_unit_test(asked_until_it_fits),
                                       cmocka_unit_test(worst_case_holds)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
