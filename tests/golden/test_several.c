/* Three photos of one table (samples/ferry-1 to -3, the last turned by a quarter), joined, against the truth. The truth
 * of ferry-3 has the same tiles but, as it is turned, not the names its photo gives them: it is scored through the
 * joined result only. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "golden/photo_score.h"
#include "seamwright/inspect.h"

enum { PHOTOS = 3 };

/* What the project accepts for any photo; the joined result is held to the same. */
static const bounds WANTED = {
    .gap_rms_mm = 0.06, .gap_bias_mm = 0.03, .covered_least = 0.85, .chips_share = 0.9, .no_false_chips = 1};

static const sw_options CARDS = {.reference = {80, 80, 48, 48}};

static void inspect(const char *name, sw_inspection *ins)
{
    char path[4096];
    sw_photo photo;
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/%s.jpg", SW_SAMPLES, name);
    if (sw_photo_load(path, &photo, &err) || sw_inspect(&photo, &CARDS, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
}

static void print(const char *what, const score *s)
{
    print_message("  %s: gap rms %.4f bias %+.4f covered %.3f, means covered %.2f; angle rms %.4f deg covered %.2f; "
                  "straightness rms "
                  "%.4f covered %.2f; length rms %.3f covered %.2f; chips %d of %d, %d false\n",
                  what, s->gap.rms, s->gap.bias, s->gap.covered, s->gap_mean.covered, s->angle_deg.rms,
                  s->angle_deg.covered, s->straightness_mm.rms, s->straightness_mm.covered, s->length_mm.rms,
                  s->length_mm.covered, s->chips_found, s->chips_true, s->chips_false);
}

/* The random part is there, and is a part. */
static void is_part(double u_random, double u95)
{
    if (!(u_random > 0 && u_random <= u95 / 2))
        fail_msg("a random part of %g, where the whole is %g", u_random, u95 / 2);
}

static void random_parts_are_parts(const sw_inspection *ins)
{
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        is_part(s->mean_u_random_mm, s->mean_u95_mm);
        is_part(s->taper_u_random_mm, s->taper_u95_mm);
        for (size_t k = 0; k < s->station_count; k++)
            is_part(s->stations[k].u_random_mm, s->stations[k].u95_mm);
    }
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int s = 0; s < 4; s++) {
            const sw_edge *e = &ins->tiles[i].edges[s];
            is_part(ins->tiles[i].corners[s].u_random_deg, ins->tiles[i].corners[s].u95_deg);
            is_part(e->length_u_random_mm, e->length_u95_mm);
            is_part(e->straightness_u_random_mm, e->straightness_u95_mm);
        }
}

static double mean_width(const sw_inspection *ins)
{
    double sum = 0, n = 0;
    for (size_t i = 0; i < ins->seam_count; i++)
        for (size_t k = 0; k < ins->seams[i].station_count; k++)
            if (ins->seams[i].stations[k].state == SW_STATION_OK) {
                sum += ins->seams[i].stations[k].u95_mm;
                n++;
            }
    return sum / n;
}

/* The budget of a joined figure adds up to the joined uncertainty, and has a part left that only one photo had. */
static void budgets_add_up(const sw_inspection *ins)
{
    assert_true(ins->budget_count > 0);
    for (size_t i = 0; i < ins->budget_count; i++) {
        const sw_figure_budget *b = &ins->budgets[i];
        double sum = 0;
        for (size_t k = 0; k < b->line_count; k++)
            sum += b->lines[k].u * b->lines[k].u;
        if (!(fabs(2 * sqrt(sum) - b->u95) < 1e-9))
            fail_msg("%s: the parts make %.6f, stated is %.6f", b->where, 2 * sqrt(sum), b->u95);
    }
}

static void ferry(void **state)
{
    (void)state;
    sw_inspection each[PHOTOS], joined;
    score alone[2], together;
    sw_error err = {""};
    inspect_photo(SW_SAMPLES, "ferry-1", &CARDS, &each[0], &alone[0]);
    inspect_photo(SW_SAMPLES, "ferry-2", &CARDS, &each[1], &alone[1]);
    inspect("ferry-3", &each[2]);
    for (int k = 0; k < PHOTOS; k++)
        random_parts_are_parts(&each[k]);
    if (sw_inspection_combine(each, PHOTOS, &joined, &err))
        fail_msg("%s", err.text);
    assert_int_equal(score_inspection(&joined, SW_SAMPLES "/ferry-1.truth.json", &together), 0);
    print("joined", &together);
    expect_within("joined", &together, &WANTED);

    const sw_repeatability *r = joined.repeatability;
    assert_int_equal(r->quarter_turns[1], 0);
    assert_int_equal(r->quarter_turns[2], 3);
    print_message("  s_r %.4f mm where %.4f is stated, chi-square %.2f (up to %.2f); joined ± %.3f mm, alone %.3f\n",
                  r->mean.s_r, r->mean.stated_u, r->mean.chi_square, r->mean.chi_square_95, mean_width(&joined),
                  mean_width(&each[0]));
    /* An untouched table: nothing has moved, and nothing is widened. */
    for (size_t i = 0; i < r->seam_count; i++) {
        assert_int_equal(r->seams[i].left_out, 0);
        assert_int_equal(r->seams[i].photos, PHOTOS);
    }
    assert_int_not_equal(r->mean.agreement, SW_AGREE_WORSE);
    budgets_add_up(&joined);
    /* Three photos together are better than they are on the whole; the one with the kindest light may be better still. */
    assert_true(together.gap.rms <
                sqrt((alone[0].gap.rms * alone[0].gap.rms + alone[1].gap.rms * alone[1].gap.rms) / 2));
    /* Surer than its photos are on average; the one with the kindest light may be surer still. */
    assert_true(mean_width(&joined) < (mean_width(&each[0]) + mean_width(&each[1]) + mean_width(&each[2])) / PHOTOS);
    sw_inspection_free(&joined);
    for (int k = 0; k < PHOTOS; k++)
        sw_inspection_free(&each[k]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(ferry)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
