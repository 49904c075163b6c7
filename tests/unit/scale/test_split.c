/* What of the scale's uncertainty is lens, edge spread, size and slant: made-up covariances, split by the Schur
 * complement (Gaussian conditioning) as the other way to the same answer. */
#include "support/maths_check.h"

#include <string.h>

#include "maths/lsq.h"
#include "scale/bundle.h"
#include "scale/plane.h"
#include "scale/split.h"

/* Numbers of the made-up fit: homography (8), edge spread, k1 k2 p1 p2. */
enum { PLANE = 8, SPREAD = 8, LENS = 9, NUMBERS = 13 };
static const double STEP[NUMBERS] = {1e-9, 1e-9, 1e-6, 1e-9, 1e-9, 1e-6, 1e-9, 1e-9, 0.02, 2e-3, 3e-3, 2e-5, 2e-5};

/* A covariance of numbers that all go together: A A' of a random A, in units of STEP. */
static void make_covariance(uint32_t *seed, double c[NUMBERS][NUMBERS])
{
    double a[NUMBERS][NUMBERS];
    for (int i = 0; i < NUMBERS; i++)
        for (int j = 0; j < NUMBERS; j++)
            a[i][j] = normal(seed) * STEP[i];
    for (int i = 0; i < NUMBERS; i++)
        for (int j = 0; j < NUMBERS; j++) {
            c[i][j] = 0;
            for (int k = 0; k < NUMBERS; k++)
                c[i][j] += a[i][k] * a[j][k];
        }
}

static sw_scale start_scale(void)
{
    sw_scale s = {.square_count = 1};
    const double plane[3][3] = {{1 / 1200., 0, -0.3}, {0, -1 / 1200., 0.25}, {2e-6, -1e-6, 1}};
    memcpy(s.to_plane, plane, sizeof plane);
    sw_invert3(s.to_plane, s.to_mm);
    s.lens = (sw_lens){.source = SW_LENS_ESTIMATED, .fx = 2900, .fy = 2900, .cx = 2000, .cy = 1500, .k1 = -0.02};
    for (int c = 0; c < 4; c++)
        s.squares[0].corners_px[c] = (sw_point){1900 + 200 * (c == 1 || c == 2), 1400 + 200 * (c > 1)};
    return s;
}

/* The scale's alternatives from the columns of the covariance's root, its numbers taken in this order; the column along
 * which only the edge spread moves (if any) becomes edge_spread_alone_px, as in sw_bundle_fit. */
static void take_columns(const double c[NUMBERS][NUMBERS], const int *order, sw_scale *s)
{
    double l[NUMBERS][NUMBERS];
    for (int i = 0; i < NUMBERS; i++)
        for (int j = 0; j < NUMBERS; j++)
            l[i][j] = c[order[i]][order[j]] / STEP[order[i]] / STEP[order[j]];
    sw_covariance_root(&l[0][0], NUMBERS);
    s->alternative_count = 0;
    for (int j = 0; j < NUMBERS; j++) {
        sw_scale_alternative *a = &s->alternatives[s->alternative_count++];
        double moved[NUMBERS];
        for (int i = 0; i < NUMBERS; i++)
            moved[order[i]] = l[i][j] * STEP[order[i]];
        *a = (sw_scale_alternative){.lens = {s->lens.fx, s->lens.fy, s->lens.cx, s->lens.cy, s->lens.k1}};
        for (int k = 0; k < 4; k++)
            a->lens[SW_LENS_K1 + k] += moved[LENS + k];
        a->edge_spread_change_px = moved[SPREAD];
        for (int k = 0; k < 9; k++)
            a->to_plane[k / 3][k % 3] = s->to_plane[k / 3][k % 3] + (k < PLANE ? moved[k] : 0);
        sw_invert3(a->to_plane, a->to_mm);
        if (order[NUMBERS - 1] == SPREAD && j == NUMBERS - 1) {
            s->alternative_count--;
            s->edge_spread_alone_px = moved[SPREAD];
        }
    }
}

/* A figure that is linear in all numbers but the spread: what it changes along each alternative. */
static void changes(const sw_scale *s, const double *by, double *change)
{
    for (int i = 0; i < s->alternative_count; i++) {
        const sw_scale_alternative *a = &s->alternatives[i];
        const double *l = a->lens, lens[4] = {l[SW_LENS_K1] - s->lens.k1, l[SW_LENS_K2], l[SW_LENS_P1], l[SW_LENS_P2]};
        change[i] = 0;
        for (int k = 0; k < PLANE; k++)
            change[i] += by[k] * (a->to_plane[k / 3][k % 3] - s->to_plane[k / 3][k % 3]);
        for (int k = 0; k < 4; k++)
            change[i] += by[LENS + k] * lens[k];
    }
}

/* Variance of the figure once the first `known` of these numbers are known: g' (C_oo - C_ok C_kk^-1 C_ko) g. */
static double variance_left(const double c[NUMBERS][NUMBERS], const double *by, const int *numbers, int known)
{
    double kk[NUMBERS * NUMBERS], cross[NUMBERS] = {0}, whole = 0, taken = 0;
    for (int i = 0; i < NUMBERS; i++)
        for (int j = 0; j < NUMBERS; j++)
            whole += by[i] * c[i][j] * by[j];
    for (int i = 0; i < known; i++) {
        for (int j = 0; j < known; j++)
            kk[i * known + j] = c[numbers[i]][numbers[j]] / STEP[numbers[i]] / STEP[numbers[j]];
        for (int j = 0; j < NUMBERS; j++)
            cross[i] += c[numbers[i]][j] / STEP[numbers[i]] * by[j];
    }
    if (known)
        assert_int_equal(sw_cholesky_invert(kk, (size_t)known), 0);
    for (int i = 0; i < known; i++)
        for (int j = 0; j < known; j++)
            taken += cross[i] * kk[i * known + j] * cross[j];
    return whole - taken;
}

static const int PLANE_FIRST[NUMBERS] = {0, 1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 8},
                 LENS_FIRST[NUMBERS] = {12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0},
                 MIXED[NUMBERS] = {3, 9, 8, 1, 12, 0, 5, 11, 2, 10, 7, 4, 6};

/* Whatever the columns: the same parts, and those of conditioning. */
static void as_conditioning_says(void **state)
{
    (void)state;
    static const int known[5] = {SPREAD, LENS, LENS + 1, LENS + 2, LENS + 3};
    const int *const orders[] = {PLANE_FIRST, LENS_FIRST, MIXED};
    uint32_t seed = 17;
    for (int round = 0; round < 20; round++) {
        double c[NUMBERS][NUMBERS], by[NUMBERS] = {0};
        make_covariance(&seed, c);
        for (int k = 0; k < NUMBERS; k++)
            by[k] = k == SPREAD ? 0 : normal(&seed) / STEP[k];
        double whole = variance_left(c, by, known, 0), no_spread = variance_left(c, by, known, 1),
               no_lens = variance_left(c, by, known, 5);
        for (int o = 0; o < 3; o++) {
            sw_scale s = start_scale();
            sw_scale_split split;
            double change[SW_SCALE_ALTERNATIVES], v[SW_PART_COUNT] = {0}, sum = 0, squares = 0;
            take_columns(c, orders[o], &s);
            changes(&s, by, change);
            sw_scale_split_make(&s, &split);
            sw_scale_split_add(&split, change, v);
            for (int k = 0; k < SW_PART_COUNT; k++)
                sum += v[k];
            for (int i = 0; i < s.alternative_count; i++)
                squares += change[i] * change[i];
            expect_digits("the parts' sum is the whole", sum, squares, 12);
            expect_digits("the whole", sum, whole, 8);
            expect_near("edge spread", v[SW_PART_SPREAD], whole - no_spread, 1e-6 * whole);
            expect_near("lens", v[SW_PART_LENS], no_spread - no_lens, 1e-6 * whole);
            expect_near("size and slant", v[SW_PART_FIT] + v[SW_PART_PERSPECTIVE], no_lens, 1e-6 * whole);
            assert_true(v[SW_PART_FIT] > 0 && v[SW_PART_PERSPECTIVE] > 0);
        }
    }
}

/* The distance of two places of the photo, along each alternative. */
static void distances(const sw_scale *s, sw_point a, sw_point b, double *change)
{
    for (int i = -1; i < s->alternative_count; i++) {
        sw_scale other = *s;
        if (i >= 0)
            sw_scale_take_alternative(s, i, &other);
        sw_point p = sw_scale_to_mm(&other, a), q = sw_scale_to_mm(&other, b);
        double d = hypot(p.x - q.x, p.y - q.y);
        if (i < 0)
            for (int k = 0; k < s->alternative_count; k++)
                change[k] = -d;
        else
            change[i] += d;
    }
}

/* With nothing uncertain but how large everything is, a distance's uncertainty is size alone; with nothing but the
 * lens, lens alone. */
static void one_thing_alone(void **state)
{
    (void)state;
    for (int is_lens = 0; is_lens < 2; is_lens++) {
        sw_scale s = start_scale();
        sw_scale_split split;
        double change[SW_SCALE_ALTERNATIVES], v[SW_PART_COUNT] = {0}, sum = 0;
        sw_scale_alternative *only = &s.alternatives[0];
        s.alternative_count = 1;
        *only = (sw_scale_alternative){.lens = {s.lens.fx, s.lens.fy, s.lens.cx, s.lens.cy, s.lens.k1}};
        only->lens[SW_LENS_K1] += is_lens ? 0.004 : 0;
        for (int k = 0; k < 9; k++)
            only->to_plane[k / 3][k % 3] = s.to_plane[k / 3][k % 3] * (is_lens || k % 3 == 2 ? 1 : 1.001);
        sw_invert3(only->to_plane, only->to_mm);
        distances(&s, (sw_point){300, 400}, (sw_point){3400, 2500}, change);
        sw_scale_split_make(&s, &split);
        sw_scale_split_add(&split, change, v);
        for (int k = 0; k < SW_PART_COUNT; k++)
            sum += v[k];
        assert_true(sum > 0.01); /* mm^2: the change is felt */
        expect_digits("the whole", sum, change[0] * change[0], 14);
        expect_digits("its part", v[is_lens ? SW_PART_LENS : SW_PART_FIT], sum, 14);
    }
}

/* Nothing known of the uncertainty: no parts, and no trouble. */
static void nothing_in_it(void **state)
{
    (void)state;
    sw_scale s = start_scale();
    sw_scale_split split;
    double v[SW_PART_COUNT] = {0};
    sw_scale_split_make(&s, &split);
    sw_scale_split_add(&split, NULL, v);
    for (int k = 0; k < SW_PART_COUNT; k++)
        assert_true(v[k] == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(as_conditioning_says), cmocka_unit_test(one_thing_alone),
                                       cmocka_unit_test(nothing_in_it)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
