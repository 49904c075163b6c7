/* The bound of the study (tests/study/limit.h) against closed forms, and our reading against the bound. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "study/strip.h"

/* The bound of a station for a dark bar: closed form for a Gaussian blur on endless fine samples
 * (limit.h). A slanted seam is crossed by rows whose pixels lie closer together across it. */
static void a_dark_bar_against_the_closed_form(void **state)
{
    (void)state;
    static const double widths[] = {0.2, 0.5, 1, 2, 3, 4, 6, 10}, blurs[] = {0.8, 1, 1.5}, slopes[] = {0, 0.1, 0.5};
    sw_slot_prior prior = strip_prior(0.1);
    const double level = 0.38, sigma = 0.004;
    for (int w = 0; w < 8; w++)
        for (int b = 0; b < 3; b++)
            for (int k = 0; k < 3; k++) {
                limit_slot slot = {.light = {{.tangent = 0.1, .near = 0.004, .penumbra = 0.3}},
                                   .width_px = widths[w],
                                   .low = level,
                                   .high = level,
                                   .blur_px = blurs[b],
                                   .slope = slopes[k]};
                limit_seam seam = {1, 3, slopes[k], sigma, 10, &prior};
                limit_bound bound;
                limit_model *m = limit_make(&slot);
                assert_non_null(m);
                assert_int_equal(limit_of(m, &seam, &bound), 0);
                double want = limit_closed(widths[w], blurs[b], level, sigma, 3 * sqrt(1 + slopes[k] * slopes[k]));
                if (!(fabs(sqrt(bound.own) / want - 1) < 0.03))
                    fail_msg("width %g, blur %g, slope %g: %.5f px, closed form %.5f px", widths[w], blurs[b],
                             slopes[k], sqrt(bound.own), want);
                free(m);
            }
}

/* Of a slot much narrower than the blur only the missing light w (1 - S) is seen, S the slot's mean light over the
 * top's. With nothing unknown but the lamp's share D, dw / dD = w S' / (1 - S). In a black slot S' is what the lamp would have
 * put on the far wall in sight over the slot's width, t; of the sky a wall in sight down to 1 / t gaps gets
 * wall t (u + 1 - sqrt(1 + u^2)), u = 1 / t. */
static void a_hairline_is_as_uncertain_as_its_darkness(void **state)
{
    (void)state;
    const double width = 0.05, sure = 1e-5, share_sd = 0.03, level = 0.38;
    sw_slot_prior prior = strip_prior(0.2);
    sw_slot_light light = prior.mean;
    light.slant = 0.2;
    light.albedo = 0;
    light.near = 0.004;
    memset(prior.inverse, 0, sizeof prior.inverse);
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        prior.inverse[p][p] = 1 / (p == SW_LIGHT_SHARE ? share_sd * share_sd : sure * sure);
    limit_slot slot = {
        .light = light, .other = {0, 1, 1}, .width_px = width, .low = level, .high = level, .blur_px = 0.8};
    limit_seam seam = {300, 2, 0, 0.004, 0.6, &prior};
    limit_bound bound;
    double far = 1 / light.tangent, near = 1 / light.near,
           sky = light.wall *
                 (light.tangent * (far + 1 - sqrt(1 + far * far)) + light.near * (near + 1 - sqrt(1 + near * near)));
    limit_model *m = limit_make(&slot);
    assert_non_null(m);
    assert_int_equal(limit_of(m, &seam, &bound), 0);
    double want = width * share_sd * light.tangent / (1 - light.share * light.tangent - sky);
    expect_near("deviation of the seam's mean over the closed form", sqrt(bound.common) / want, 1, 0.02);
    free(m);
}

/* One drawn seam, read: single stations scatter about their mean as the bound says, at most 1.3 times as much; and no
 * less than chance allows (240 stations and more know a deviation to 5 %). */
static void stations_scatter_hardly_more_than_they_must(void **state)
{
    (void)state;
    static const double widths[] = {2, 4, 8}, tangents[] = {0.1, 0.3};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 2; k++) {
            sw_slot_prior prior = strip_prior(tangents[k]);
            strip_scene scene = {.slot = {.light = prior.mean,
                                          .other = prior.other,
                                          .width_px = widths[i],
                                          .low = 0.36,
                                          .high = 0.39,
                                          .blur_px = 0.8,
                                          .slope = 0.07,
                                          .far_high = k},
                                 .tangent = tangents[k],
                                 .sigma = 0.004};
            uint64_t seed = 5 + (uint64_t)i;
            strip s;
            sw_trace trace;
            sw_track track;
            limit_bound bound;
            double n = 0, sum = 0, squares = 0;
            limit_model *m = limit_make(&scene.slot);
            limit_seam seam = {STRIP_SEAM_MM, 2, scene.slot.slope, scene.sigma, 0.6, &prior};
            assert_true(m && limit_of(m, &seam, &bound) == 0);
            free(m);
            assert_int_equal(strip_draw(&scene, &seed, &s), 0);
            assert_int_equal(strip_read(&s, &prior, &trace, &track), 0);
            for (int j = 0; j < track.count; j++) {
                double e = (track.points[j].raw[1] - track.points[j].raw[0]) * STRIP_PX_PER_MM - widths[i];
                if (!isfinite(e))
                    continue;
                n++;
                sum += e;
                squares += e * e;
            }
            assert_true(n >= 290);
            double spread = sqrt((squares - sum * sum / n) / (n - 1)), ratio = spread / sqrt(bound.own);
            if (!(ratio > 0.8 && ratio < 1.3))
                fail_msg("width %g, tangent %g: stations spread by %.4f px, bound %.4f px", widths[i], tangents[k],
                         spread, sqrt(bound.own));
            expect_near("the seam's mean", sum / n, 0, 0.15);
            sw_track_free(&track);
            sw_trace_free(&trace);
            strip_free(&s);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dark_bar_against_the_closed_form),
        cmocka_unit_test(a_hairline_is_as_uncertain_as_its_darkness),
        cmocka_unit_test(stations_scatter_hardly_more_than_they_must),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
