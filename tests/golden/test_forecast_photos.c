/* What plans made from photos promise, seam by seam, against an ordinary push of the true tiles: see plan_truth.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

#include "golden/photo_score.h"
#include "golden/plan_truth.h"

#define PHOTOS SW_SAMPLES "/../../shared/photos"

static sw_lens lens;

static int over(const double *mm, int count, double limit_mm)
{
    int n = 0;
    for (int j = 0; j < count; j++)
        n += mm[j] > limit_mm;
    return n;
}

static double widest(const double *mm, int count)
{
    double most = 0;
    for (int j = 0; j < count; j++)
        most = fmax(most, mm[j]);
    return most;
}

/* What came true of how many promises. */
typedef struct kept {
    int seams, held, broken; /* broken: promised "within", and over */
} kept;

static void compare(const char *how, const sw_plan *plan, const double *after, int seams, kept *sum)
{
    kept one = {.seams = seams};
    for (int j = 0; j < seams; j++) {
        const sw_seam_plan *s = &plan->seams[j];
        one.held += fabs(after[j] - s->forecast_mm) <= s->forecast_u95_mm;
        one.broken += s->forecast == SW_WITHIN && after[j] > plan->tolerance_mm;
    }
    print_message("    %s: true %d over, widest %.2f; %d of %d forecasts hold; %d within by promise only\n", how,
                  over(after, seams, plan->tolerance_mm), widest(after, seams), one.held, seams, one.broken);
    sum->seams += seams;
    sum->held += one.held;
    sum->broken += one.broken;
}

static void print_promise(const char *name, const sw_plan *plan, const plan_truth *truth)
{
    double before[TRUTH_SEAMS], most = 0, u95 = 0;
    int verdicts[3] = {0}, seams = truth->seam_count;
    truth_press(truth, NULL, TRUTH_INWARD, before);
    for (int j = 0; j < seams; j++) {
        const sw_seam_plan *s = &plan->seams[j];
        most = fmax(most, s->forecast_mm);
        u95 = fmax(u95, s->forecast_u95_mm);
        verdicts[s->forecast == SW_WITHIN ? 0 : s->forecast == SW_OVER ? 2 : 1]++;
    }
    print_message(
        "  %s: %d of %d over as pushed, widest %.2f; %zu lines of work, %.0f mm2 off; promised: %d within, %d "
        "too close, %d over, widest %.2f, +- %.2f at most\n",
        name, over(before, seams, plan->tolerance_mm), seams, widest(before, seams), plan->work_count,
        plan->removed_total_mm2, verdicts[0], verdicts[1], verdicts[2], most, u95);
}

static void check(const char *folder, const char *name, const sw_options *options, kept *sum)
{
    static const char *const ways[] = {"inward", "to north-west", "to south-east"};
    double after[TRUTH_SEAMS];
    sw_inspection ins;
    sw_plan plan;
    plan_truth truth;
    sw_error err = {""};
    truth_inspect(folder, name, options, &ins);
    if (sw_plan_make(&ins, 1, NULL, &(sw_plan_options){0}, &plan, &err))
        fail_msg("%s: no plan: %s", name, err.text);
    truth_read(folder, name, &ins, &truth);
    print_promise(name, &plan, &truth);
    for (truth_way way = TRUTH_INWARD; way <= TRUTH_SE; way++) {
        truth_press(&truth, &plan, way, after);
        compare(ways[way], &plan, after, truth.seam_count, sum);
    }
    sw_plan_free(&plan);
    sw_inspection_free(&ins);
}

/* Seven in eight forecasts hold; nineteen in twenty that are promised within the limit are. */
static void expect_kept(const kept *sum)
{
    print_message("  together: %d of %d forecasts hold, %d within by promise only\n", sum->held, sum->seams,
                  sum->broken);
    /* Three pushes of one photo are not independent: 64 to 70 of 72 in practice as a station more or less counts. */
    assert_true(sum->held >= 0.875 * sum->seams);
    assert_true(sum->broken <= 0.05 * sum->seams);
}

static void samples(void **state)
{
    (void)state;
    kept sum = {0};
    check(SW_SAMPLES, "valley-north", &(sw_options){0}, &sum);
    check(SW_SAMPLES, "weir", &(sw_options){0}, &sum);
    expect_kept(&sum);
}

/* p01 and p03 are for print: their light is wrong deep in the gaps (../shared/photos/README.md). */
static void practice(void **state)
{
    (void)state;
    kept sum = {0}, printed = {0};
    if (!photo_is_there(PHOTOS, "p01.jpg") || !photo_is_there(PHOTOS, "lens01.jpg")) {
        print_message("  SKIPPED: there are no shared/photos beside the source folder\n");
        skip();
    }
    calibrate(PHOTOS, "lens%02d.jpg", 8, &lens);
    check(PHOTOS, "p01", &(sw_options){.lens = &lens}, &printed);
    check(PHOTOS, "p03", &(sw_options){.lens = &lens}, &printed);
    check(PHOTOS, "p11", &(sw_options){.lens = &lens}, &sum);
    check(PHOTOS, "p13", &(sw_options){.lens = &lens}, &sum);
    expect_kept(&sum);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(samples), cmocka_unit_test(practice)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
