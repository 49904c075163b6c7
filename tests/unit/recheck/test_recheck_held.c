/* How often what came off lies inside its ±, on many tables made up for it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

#include "support/recheck_make.h"

/* Many tables, noise as stated (see recheck_make.c: straightness to 0.09, gaps to 0.06, lengths to 0.19), scales off by
 * up to one and a half standard uncertainties: how often the truth lies inside the ±. */
static void the_uncertainty_holds(void **state)
{
    (void)state;
    int inside = 0, all = 0, together = 0;
    double squares = 0, mean_u95 = 0;
    for (unsigned seed = 1; seed <= 40; seed++) {
        made_cut cuts[3];
        for (unsigned i = 0; i < 3; i++) {
            unsigned n = seed * 7 + i * 5;
            cuts[i] = (made_cut){.tile = (int)(n % 4),
                                 .side = (sw_side)(n / 4 % 4),
                                 .even_mm = n % 3 ? 0 : 0.4,
                                 .wedge_mm = n % 5 * 0.25,
                                 .bow_mm = n % 2 * 0.5};
        }
        made_photo after = {.cuts = cuts,
                            .cut_count = 3,
                            .scale = 1 + 3e-4 * sin(seed * 1.3),
                            .noise_mm = 0.032,
                            .shift_mm = 0.025,
                            .seed = seed,
                            .gap_mm = 0.4};
        made_photo before = after;
        before.cuts = NULL;
        before.cut_count = 0;
        before.scale = 1;
        before.seed = seed + 500;
        before.gap_mm = 1.2;
        sw_inspection ins[2];
        sw_plan plan;
        sw_recheck recheck;
        made_inspection(&before, &ins[0]);
        made_inspection(&after, &ins[1]);
        made_plan(cuts, 3, 1, &plan);
        assert_int_equal(sw_recheck_make(&ins[0], &ins[1], NULL, &plan, 0, &recheck, NULL), SW_OK);
        for (size_t i = 0; i < recheck.edge_count; i++) {
            const sw_edge_change *e = &recheck.edges[i];
            double truth = made_taken(cuts, 3, e->tile, e->side, e->taken_at_mm);
            double pair = truth + made_taken(cuts, 3, e->tile, (sw_side)((e->side + 2) & 3), e->taken_at_mm);
            if (!e->planned)
                continue;
            all++;
            inside += fabs(e->taken_mm - truth) <= e->taken_u95_mm;
            together += fabs(e->together_mm - pair) <= e->together_u95_mm;
            squares += pow(e->taken_mm - truth, 2);
            mean_u95 += e->taken_u95_mm;
        }
        sw_recheck_free(&recheck);
        sw_plan_free(&plan);
        sw_inspection_free(&ins[0]);
        sw_inspection_free(&ins[1]);
    }
    print_message("%d planned edges: rms %.3f mm, mean +- %.3f, inside %.3f, together inside %.3f\n", all,
                  sqrt(squares / all), mean_u95 / all, (double)inside / all, (double)together / all);
    assert_true(all > 80);
    assert_true(inside >= 0.95 * all);
    assert_true(together >= 0.95 * all);
    assert_true(sqrt(squares / all) < 0.15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_uncertainty_holds)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
