/* The light in a deep slot against closed forms, against rays one by one, and against plain fine parts (study/walls.h). */
#include "support/maths_check.h"

#include <stdio.h>

#include "seam/cavity.h"
#include "study/walls.h"

enum { PLACES = 400 };

static const sw_slot_light USUAL = {{.share = 0.3,
                                     .wall = 0.4,
                                     .tangent = 0.15,
                                     .slant = 0.1,
                                     .near = 0.03,
                                     .albedo = 0.45,
                                     .penumbra = 0.35,
                                     .blur = 0.02}};
static const sw_slot_other NEAR_LAMP = {0.05, 0.8, 1, 0, 0}, NO_LAMP = {0, 1, 1, 0, 0};

static void bins_of(const sw_slot_light *light, const sw_slot_other *other, sw_bin_light *bins)
{
    sw_cavity cavity;
    sw_cavity_make(&cavity);
    sw_light_bins(&cavity, light, other, bins);
    assert_true(bins->cuts[0] == 0 && bins->cuts[SW_BINS] == 1);
}

/* Share across the slot of the i-th of PLACES places in bin k. */
static double place(const sw_bin_light *b, int k, int i)
{
    return b->cuts[k] + (b->cuts[k + 1] - b->cuts[k]) * (i + 0.5) / PLACES;
}

/* Of an even sky an upright wall in the open gets half of what a top gets; in the slot the other wall hides some. */
static void an_even_sky_in_a_black_slot(void **state)
{
    (void)state;
    static const double tangents[] = {0.02, 0.1, 0.6};
    for (int t = 0; t < 3; t++) {
        sw_slot_light light = {{.wall = 0.5, .tangent = tangents[t], .near = 0.03, .penumbra = 0.3}};
        sw_bin_light b;
        bins_of(&light, &NO_LAMP, &b);
        for (int k = 0; k < SW_BINS; k++) {
            double far = 0, near = 0;
            for (int i = 0; i < PLACES; i++) {
                double u = place(&b, k, i) / light.tangent, v = (1 - place(&b, k, i)) / light.near;
                far += (1 - u / sqrt(1 + u * u)) / 2 / PLACES;
                near += (1 - v / sqrt(1 + v * v)) / 2 / PLACES;
            }
            expect_near("far wall", b.far[k], far, 1e-4);
            expect_near("near wall", b.near[k], near, 1e-4);
        }
    }
}

/* What a part of one wall sees of all of the other is what is left of a half plane when the openings above and below are
 * taken away: at depth u the mean of u / sqrt(1 + u^2) and the same from the bottom. And what goes to and fro between two
 * parts is the same both ways. */
static void parts_see_the_other_wall(void **state)
{
    (void)state;
    sw_cavity c;
    sw_cavity_make(&c);
    double bottom = c.depth[SW_CAVITY_PARTS];
    for (int i = 0; i < SW_CAVITY_PARTS; i++) {
        double sum = 0, want = 0, high = c.depth[i + 1] - c.depth[i];
        for (int j = 0; j < SW_CAVITY_PARTS; j++) {
            sum += c.pass[i][j];
            expect_near("to and fro", c.pass[i][j] * high, c.pass[j][i] * (c.depth[j + 1] - c.depth[j]), 1e-12);
        }
        for (int k = 0; k < PLACES; k++) {
            double u = c.depth[i] + high * (k + 0.5) / PLACES, d = bottom - u;
            want += (u / hypot(1, u) + d / hypot(1, d)) / 2 / PLACES;
        }
        expect_near("share of the other wall in sight", sum, want, 1e-5);
    }
}

/* What the near wall passes to the far one, mean over each bin, in units of the tops' light; what comes straight from outside
 * is taken off by a black slot. */
static void check_passed(const sw_slot_light *light, const sw_slot_other *other)
{
    sw_slot_light black = *light;
    sw_bin_light b, direct;
    walls w;
    black.albedo = 0;
    bins_of(light, other, &b);
    bins_of(&black, other, &direct);
    walls_light(light, other, &w);
    for (int k = 0; k < SW_BINS; k++) {
        double want = 0, straight = 0, got = b.far[k] - direct.far[k];
        for (int i = 0; i < PLACES; i++) {
            want += walls_passed(&w, WALLS_FAR, place(&b, k, i) / light->tangent) / PLACES;
            straight += walls_direct(&w, WALLS_FAR, place(&b, k, i) / light->tangent) / PLACES;
        }
        if (!(fabs(got - want) < 0.01))
            fail_msg("albedo %g, t %g, lamps %g and %g, bin %d: passed light %.4f, plain parts say %.4f", light->albedo,
                     light->tangent, light->share, other->share, k, got, want);
        expect_near("light from outside", direct.far[k], straight, 1e-4);
    }
}

static void passed_light_against_plain_parts(void **state)
{
    (void)state;
    static const double tangents[] = {0.05, 0.15, 0.4}, slants[] = {-0.4, 0.9};
    for (int a = 2; a <= 8; a += 2)
        for (int t = 0; t < 3; t++) {
            sw_slot_light light = USUAL;
            light.tangent = tangents[t];
            light.albedo = a / 10.0;
            light.share = 0;
            check_passed(&light, &NO_LAMP);
            light.share = 0.3;
            for (int s = 0; s < 2; s++) {
                light.slant = slants[s];
                check_passed(&light, &NEAR_LAMP);
            }
            light.share = 0.03;
            check_passed(&light, &(sw_slot_other){0.3, 1.3, 1, 0, 0});
        }
}

/* A near wall of a lighter tile passes on more of what it gets, one of a darker tile less. */
static void walls_of_two_colours(void **state)
{
    (void)state;
    static const double ratios[] = {0.5, 0.8, 1.25, 2};
    sw_slot_light light = USUAL;
    for (int i = 0; i < 4; i++)
        for (int t = 0; t < 2; t++) {
            sw_slot_other other = {0.05, 0.8, ratios[i], 0, 0};
            light.tangent = t ? 0.4 : 0.1;
            check_passed(&light, &other);
        }
}

/* A lamp is as many rays as it has points; each lights the far wall, share s as brightly as the tops, down to where the near
 * rim hides it: on the whole 1 / s gaps, from point to point between 1 - penumbra and 1 + penumbra of it. */
static void a_lamp_ray_by_ray(void **state)
{
    (void)state;
    enum { RAYS = 300 };
    static const double slants[] = {0.6, 1, 2}, penumbras[] = {0.05, 0.35, 0.9};
    for (int s = 0; s < 3; s++)
        for (int p = 0; p < 3; p++) {
            sw_slot_light light = USUAL;
            sw_bin_light b;
            double all = 0;
            light.slant = log(slants[s]);
            light.penumbra = penumbras[p];
            light.wall = light.albedo = 0;
            bins_of(&light, &NO_LAMP, &b);
            for (int k = 0; k < SW_BINS; k++) {
                double seen = 0;
                for (int r = 0; r < RAYS; r++) {
                    double end = (1 + light.penumbra * (2 * (r + 0.5) / RAYS - 1)) / slants[s];
                    for (int i = 0; i < PLACES; i++)
                        seen += place(&b, k, i) / light.tangent < end;
                }
                expect_near("lit", b.far[k], light.share * slants[s] * seen / RAYS / PLACES, 2e-3);
                all += b.far[k] * (b.cuts[k + 1] - b.cuts[k]);
                expect_near("near wall", b.near[k], 0, 1e-12);
            }
            /* What falls into the slot would have lit a strip of top as wide. */
            expect_near("all of it", all, light.share * light.tangent, 1e-6);
        }
}

/* At least as much as one of the two differences says and at most as much as the other: where the light passed on has a
 * corner, both are right. */
static void check_slope(const char *what, double stated, double left, double right)
{
    double low = fmin(left, right), high = fmax(left, right), least = 0.01 * (fabs(low) + fabs(high)) / 2 + 1e-3;
    if (!(stated > low - least && stated < high + least))
        fail_msg("%s: stated %.5f, differences say %.5f and %.5f", what, stated, left, right);
}

static void stated_derivatives(void **state)
{
    (void)state;
    static const double step = 2e-3; /* twice the code's own, to either side */
    sw_slot_light lights[3] = {USUAL, USUAL, USUAL};
    lights[1].share = 0.03;
    lights[1].albedo = 0.7;
    lights[2].tangent = 0.4;
    lights[2].slant = -0.5;
    for (int n = 0; n < 3; n++)
        for (int p = 0; p < SW_LIGHT_BLUR; p++) {
            sw_bin_light here, low, high;
            sw_slot_light a = lights[n], z = lights[n];
            double d = p == SW_LIGHT_TANGENT || p == SW_LIGHT_NEAR ? step * a.number[p] : step;
            char what[80];
            a.number[p] -= d;
            z.number[p] += d;
            bins_of(&lights[n], &NEAR_LAMP, &here);
            bins_of(&a, &NEAR_LAMP, &low);
            bins_of(&z, &NEAR_LAMP, &high);
            for (int k = 0; k < SW_BINS; k++) {
                snprintf(what, sizeof what, "light %d, number %d, bin %d", n, p, k);
                check_slope(what, here.far_by[k][p], (here.far[k] - low.far[k]) / d, (high.far[k] - here.far[k]) / d);
                check_slope(what, here.near_by[k][p], (here.near[k] - low.near[k]) / d,
                            (high.near[k] - here.near[k]) / d);
            }
        }
}

/* Whatever lights it, no wall is darker than black, and from two gaps on it gets darker with depth. */
static void no_light_is_negative_and_the_deep_is_dark(void **state)
{
    (void)state;
    uint32_t seed = 4;
    for (int n = 0; n < 400; n++) {
        sw_slot_light light = {{.share = between(&seed, 0, 0.95),
                                .wall = between(&seed, 0.05, 0.8),
                                .tangent = between(&seed, 0.01, 0.6),
                                .slant = between(&seed, -1, 1.6),
                                .near = between(&seed, 0.002, 0.2),
                                .albedo = between(&seed, 0, 0.9),
                                .penumbra = between(&seed, 0.05, 0.95)}};
        sw_slot_other other = {between(&seed, 0, 0.5), exp(between(&seed, -1, 1.6)), exp(between(&seed, -0.4, 0.4)), 0,
                               0};
        sw_bin_light b;
        bins_of(&light, &other, &b);
        for (int k = 0; k < SW_BINS; k++) {
            assert_true(b.far[k] >= 0 && b.near[k] >= 0);
            if (k > 0 && b.cuts[k - 1] / light.tangent > fmax(2, 2 * exp(-light.slant)))
                assert_true(b.far[k] <= b.far[k - 1]);
            if (b.cuts[k] / light.tangent > 30 && light.albedo < 0.6)
                assert_true(b.far[k] < 0.01);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_even_sky_in_a_black_slot),
        cmocka_unit_test(parts_see_the_other_wall),
        cmocka_unit_test(passed_light_against_plain_parts),
        cmocka_unit_test(walls_of_two_colours),
        cmocka_unit_test(a_lamp_ray_by_ray),
        cmocka_unit_test(stated_derivatives),
        cmocka_unit_test(no_light_is_negative_and_the_deep_is_dark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
