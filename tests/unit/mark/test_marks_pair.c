/* Two half-way marks of a seam make a step; one alone does not. */
#include "support/maths_check.h"

#include "mark/marks.h"

static void a_pair_makes_a_step(void **state)
{
    (void)state;
    sw_seam seams[2] = {{.start_mm = {300, 0}, .end_mm = {300, -300}}, {.start_mm = {0, -300}, .end_mm = {300, -300}}};
    sw_mark marks[3] = {{.seam = 0, .mm = {299, -150}, .step_u95_mm = 0.03, .step_u_random_mm = 0.01},
                        {.seam = 0, .mm = {301, -150.4}, .step_u95_mm = 0.04, .step_u_random_mm = 0.02},
                        {.seam = 1, .mm = {150, -299}, .step_u95_mm = 0.03, .step_u_random_mm = 0.01}};
    sw_inspection ins = {.seams = seams, .seam_count = 2, .marks = marks, .mark_count = 3};
    sw_marks_pair(&ins);
    for (int k = 0; k < 2; k++) {
        expect_near("step, towards the seam's end", marks[k].step_mm, 0.4, 1e-12);
        expect_near("u95, of both", marks[k].step_u95_mm, 0.05, 1e-12);
        expect_near("random, of both", marks[k].step_u_random_mm, hypot(0.01, 0.02), 1e-12);
    }
    assert_true(isnan(marks[2].step_mm) && isnan(marks[2].step_u95_mm) && isnan(marks[2].step_u_random_mm));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_pair_makes_a_step)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
