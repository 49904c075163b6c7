/* The lens model: there and back, against slower answers, and where it ends. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "scale/lens.h"
#include "seamwright/scale.h"

/* Round trips may miss by what 1e-10 of the normal plane is in pixels, with the lens's own magnification on top. */
static const double ROUND_TRIP_PX = 2e-6;

static const sw_lens LENSES[] = {
    /* the camera of the practice photos */
    {.width_px = 4000,
     .height_px = 3000,
     .fx = 2900,
     .fy = 2900,
     .cx = 1999.5,
     .cy = 1499.5,
     .k1 = -0.03,
     .k2 = 0.05,
     .p1 = -0.0002,
     .p2 = 0.0005,
     .k3 = -0.02},
    /* Zhang's published camera (Microsoft Research, 1998) */
    {.width_px = 640,
     .height_px = 480,
     .fx = 832.5,
     .fy = 832.53,
     .cx = 303.959,
     .cy = 206.585,
     .k1 = -0.228601,
     .k2 = 0.190353},
    /* strong barrel, to the edge of what folds over; strong cushion; a phone's terms of changing sign; set in askew */
    {.width_px = 4000,
     .height_px = 3000,
     .fx = 2000,
     .fy = 2000,
     .cx = 1980,
     .cy = 1520,
     .k1 = -0.30,
     .k2 = 0.10,
     .k3 = -0.012},
    {.width_px = 4000,
     .height_px = 3000,
     .fx = 2400,
     .fy = 2500,
     .cx = 2050,
     .cy = 1450,
     .k1 = 0.35,
     .k2 = 0.2,
     .k3 = 0.1},
    {.width_px = 4032,
     .height_px = 3024,
     .fx = 3000,
     .fy = 3000,
     .cx = 2010,
     .cy = 1500,
     .k1 = 0.24,
     .k2 = -0.9,
     .k3 = 1.1},
    {.width_px = 4000,
     .height_px = 3000,
     .fx = 2900,
     .fy = 2900,
     .cx = 2000,
     .cy = 1500,
     .k1 = -0.1,
     .p1 = 0.02,
     .p2 = -0.015},
    {.width_px = 4000, .height_px = 3000, .fx = 2900, .fy = 2900, .cx = 2000, .cy = 1500},
};
enum { LENS_COUNT = sizeof LENSES / sizeof *LENSES };

static void there_and_back(void **state)
{
    (void)state;
    for (int l = 0; l < LENS_COUNT; l++) {
        const sw_lens *lens = &LENSES[l];
        for (int i = 0; i <= 40; i++) {
            for (int k = 0; k <= 40; k++) {
                sw_point px = {(lens->width_px - 1) * i / 40.0, (lens->height_px - 1) * k / 40.0};
                sw_point back = sw_lens_distort(lens, sw_lens_undistort(lens, px));
                assert_true(fabs(back.x - px.x) < ROUND_TRIP_PX && fabs(back.y - px.y) < ROUND_TRIP_PX);
            }
        }
    }
}

/* The formula of scale.h, term by term and without sharing anything. */
static void distort_is_the_formula(void **state)
{
    (void)state;
    const long double x = 0.3L, y = -0.2L, r2 = 0.13L;
    for (int l = 0; l < LENS_COUNT; l++) {
        const sw_lens *n = &LENSES[l];
        long double radial = 1 + n->k1 * r2 + n->k2 * r2 * r2 + n->k3 * r2 * r2 * r2;
        long double bx = x * radial + 2 * n->p1 * x * y + n->p2 * (r2 + 2 * x * x);
        long double by = y * radial + n->p1 * (r2 + 2 * y * y) + 2 * n->p2 * x * y;
        sw_point px = sw_lens_distort(n, (sw_point){0.3, -0.2});
        assert_true(fabsl(px.x - (n->fx * bx + n->cx)) < 1e-9L);
        assert_true(fabsl(px.y - (n->fy * by + n->cy)) < 1e-9L);
    }
}

/* Radius before distortion by halving intervals: slow, and sure while the polynomial grows. */
static double radius_by_halving(const sw_lens *lens, double distorted, double most)
{
    double low = 0, high = most;
    for (int i = 0; i < 200; i++) {
        double r = (low + high) / 2, r2 = r * r;
        if (r * (1 + lens->k1 * r2 + lens->k2 * r2 * r2 + lens->k3 * r2 * r2 * r2) < distorted)
            low = r;
        else
            high = r;
    }
    return (low + high) / 2;
}

static void undistort_agrees_with_halving(void **state)
{
    (void)state;
    const sw_lens *lens = &LENSES[2];
    for (int i = 1; i <= 50; i++) {
        double distorted = 0.65 * i / 50, angle = 0.37 * i;
        sw_point n = sw_lens_undistort(lens, (sw_point){lens->cx + lens->fx * distorted * cos(angle),
                                                        lens->cy + lens->fy * distorted * sin(angle)});
        double r = radius_by_halving(lens, distorted, 1);
        assert_true(fabs(n.x - r * cos(angle)) < 1e-9 && fabs(n.y - r * sin(angle)) < 1e-9);
    }
}

/* r (1 - 0.3 r^2) grows up to r = sqrt(1 / 0.9), where it is 0.70273; what is farther out is no picture of anything,
 * and what lies beyond the fold is not what was seen. */
static void beyond_the_fold_is_nowhere(void **state)
{
    (void)state;
    const sw_lens lens = {.fx = 1000, .fy = 1000, .k1 = -0.3};
    sw_point inside = sw_lens_undistort(&lens, (sw_point){702, 0});
    sw_point outside = sw_lens_undistort(&lens, (sw_point){704, 0});
    sw_point far = sw_lens_undistort(&lens, (sw_point){-4000, 5000});
    assert_true(inside.x > 0.99 && inside.x < sqrt(1 / 0.9));
    assert_true(isnan(outside.x) && isnan(outside.y));
    assert_true(isnan(far.x) && isnan(far.y));
}

static void without_distortion_it_is_a_pinhole(void **state)
{
    (void)state;
    const sw_lens *lens = &LENSES[LENS_COUNT - 1];
    sw_point n = sw_lens_undistort(lens, (sw_point){2000 + 2900, 1500 - 1450});
    assert_true(n.x == 1.0 && n.y == -0.5);
}

/* A picture of no sensor's format was cut: its middle says less of where the lens's is. */
static void a_cut_picture_hides_the_centre(void **state)
{
    (void)state;
    static const int whole[][2] = {{4000, 3000}, {3000, 4000}, {6000, 4000}, {3840, 2160}, {2449, 3264}, {3000, 3000}},
                     cut[][2] = {{2913, 2359}, {2000, 3900}, {3264, 2300}};
    double root[SW_LENS_NUMBERS][SW_LENS_NUMBERS];
    sw_lens lens = {.source = SW_LENS_ESTIMATED, .fx = 3000, .fy = 3000};
    for (size_t i = 0; i < sizeof whole / sizeof *whole; i++) {
        lens.width_px = whole[i][0];
        lens.height_px = whole[i][1];
        sw_lens_unfitted_root(&lens, root);
        assert_true(fabs(root[SW_LENS_CX][SW_LENS_CX] - 30) < 1e-9);
    }
    for (size_t i = 0; i < sizeof cut / sizeof *cut; i++) {
        lens.width_px = cut[i][0];
        lens.height_px = cut[i][1];
        sw_lens_unfitted_root(&lens, root);
        assert_true(root[SW_LENS_CX][SW_LENS_CX] >= 100 && root[SW_LENS_CY][SW_LENS_CY] >= 100);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_and_back),
        cmocka_unit_test(distort_is_the_formula),
        cmocka_unit_test(undistort_agrees_with_halving),
        cmocka_unit_test(beyond_the_fold_is_nowhere),
        cmocka_unit_test(without_distortion_it_is_a_pinhole),
        cmocka_unit_test(a_cut_picture_hides_the_centre),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
