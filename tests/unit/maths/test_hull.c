/* Hull and width: published answers, and the slow ones straight from the definitions. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "maths/hull.h"

/* Width by the definition: the slab at right angles to every pair of points. One of them is the narrowest, because the
 * narrowest slab lies along a side of the hull. */
static double width_of_all_pairs(const sw_point *p, size_t n)
{
    double least = n < 2 ? 0.0 : INFINITY;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            double dx = p[j].x - p[i].x, dy = p[j].y - p[i].y, length = hypot(dx, dy), low = 0.0, high = 0.0;
            if (length == 0.0)
                continue;
            for (size_t k = 0; k < n; k++) {
                double d = (dx * (p[k].y - p[i].y) - dy * (p[k].x - p[i].x)) / length;
                low = fmin(low, d);
                high = fmax(high, d);
            }
            least = fmin(least, high - low);
        }
    return isinf(least) ? 0.0 : least;
}

/* Extent of the points across a direction. */
static double extent(const sw_point *p, size_t n, sw_point direction)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        double d = direction.x * p[i].y - direction.y * p[i].x;
        low = fmin(low, d);
        high = fmax(high, d);
    }
    return high - low;
}

static void expect_width(const sw_point *p, size_t n, double want, double most)
{
    sw_point direction;
    double width = sw_hull_width(p, n, &direction);
    expect_near("width", width, want, most);
    expect_near("direction's length", hypot(direction.x, direction.y), 1.0, 1e-15);
    expect_near("width across the direction", extent(p, n, direction), width, 1e-12);
    expect_near("width of all pairs", width_of_all_pairs(p, n), width, 1e-12);
    expect_near("without a direction", sw_hull_width(p, n, NULL), width, 0.0);
}

/* ICPC World Finals 2011, problem K (trash removal), the two sample cases: 2.40 and 14.15, published rounded up. */
static void icpc_2011_k(void **state)
{
    (void)state;
    const sw_point triangle[] = {{0, 0}, {3, 0}, {0, 4}}, square[] = {{0, 10}, {10, 0}, {20, 10}, {10, 20}};
    expect_width(triangle, 3, 2.40, 1e-15);
    expect_width(square, 4, 10.0 * sqrt(2.0), 1e-14);
    assert_true(ceil(100.0 * sw_hull_width(square, 4, NULL)) == 1415.0);
}

/* JTS topology suite, test of the minimum diameter. */
static void jts(void **state)
{
    (void)state;
    const sw_point four[] = {{0, 240}, {160, 140}, {220, 0}, {0, 0}};
    const sw_point many[] = {{39, 119}, {162, 197}, {135, 70}, {95, 35},   {33, 66},  {111, 82}, {97, 131}, {48, 160},
                             {-4, 182}, {57, 195},  {94, 202}, {90, 174},  {75, 134}, {47, 114}, {0, 100},  {59, 81},
                             {123, 60}, {136, 43},  {163, 75}, {145, 114}, {93, 136}, {92, 159}, {105, 175}};
    expect_width(four, 4, 202.21190660397, 5e-12);
    expect_width(many, sizeof many / sizeof *many, 164.27512269952, 5e-12);
}

/* The points of Pearson 1901; the width, 0.3 sqrt 5, was computed apart from this program (project's reference values).
 * It is less than the 0.726488653 from peak to valley about the least-squares line, as a minimum zone must be. */
static void pearson(void **state)
{
    (void)state;
    const sw_point p[] = {{0.0, 5.9}, {0.9, 5.4}, {1.8, 4.4}, {2.6, 4.6}, {3.3, 3.5},
                          {4.4, 3.7}, {5.2, 2.8}, {6.1, 2.8}, {6.5, 2.4}, {7.4, 1.5}};
    expect_width(p, 10, 0.3 * sqrt(5.0), 1e-15);
    expect_near("printed figure", sw_hull_width(p, 10, NULL), 0.670820393, 5e-10);
}

static double turn_of(sw_point a, sw_point b, sw_point c)
{
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

/* The hull by wrapping (Jarvis 1973): exact on small whole numbers, O(n h). */
static size_t wrap(const sw_point *p, size_t n, sw_point *out)
{
    size_t start = 0, count = 0;
    for (size_t i = 1; i < n; i++)
        if (p[i].x < p[start].x || (p[i].x == p[start].x && p[i].y < p[start].y))
            start = i;
    sw_point at = p[start];
    do {
        out[count++] = at;
        sw_point next = at;
        for (size_t i = 0; i < n; i++) {
            double turn = turn_of(at, next, p[i]), far = hypot(p[i].x - at.x, p[i].y - at.y);
            int first = next.x == at.x && next.y == at.y;
            if (first || turn < 0.0 || (turn == 0.0 && far > hypot(next.x - at.x, next.y - at.y)))
                next = p[i];
        }
        at = next;
    } while (count < n && (at.x != p[start].x || at.y != p[start].y));
    return count;
}

/* Small grids: many duplicates and many points in line. */
static void hulls_of_whole_numbers(void **state)
{
    (void)state;
    uint32_t seed = 3;
    for (int trial = 0; trial < 5000; trial++) {
        sw_point p[24], hull[24], want[24];
        size_t n = 1 + (size_t)between(&seed, 0.0, 24.0), side = 2 + (size_t)between(&seed, 0.0, 8.0);
        for (size_t i = 0; i < n; i++)
            p[i] = (sw_point){floor(between(&seed, 0.0, (double)side)), floor(between(&seed, 0.0, (double)side))};
        size_t count = sw_hull(p, n, hull), expected = wrap(p, n, want);
        assert_int_equal(count, expected);
        for (size_t i = 0; i < count; i++) /* both start at the least x, then the least y */
            assert_true(hull[i].x == want[i].x && hull[i].y == want[i].y);
        expect_near("width", sw_hull_width(p, n, NULL), width_of_all_pairs(p, n), 1e-13);
        assert_int_equal(sw_hull(p, n, p), count); /* in place */
        assert_memory_equal(p, hull, count * sizeof *p);
    }
}

static void widths_of_random_points(void **state)
{
    (void)state;
    uint32_t seed = 17;
    for (int trial = 0; trial < 1000; trial++) {
        sw_point p[40], direction;
        size_t n = 3 + (size_t)between(&seed, 0.0, 37.0);
        double flat = pow(10.0, between(&seed, -9.0, 0.0)), turn = between(&seed, 0.0, 7.0);
        for (size_t i = 0; i < n; i++) {
            double u = between(&seed, -150.0, 150.0), v = flat * between(&seed, -150.0, 150.0);
            p[i] = (sw_point){u * cos(turn) - v * sin(turn), u * sin(turn) + v * cos(turn)};
        }
        double width = sw_hull_width(p, n, &direction);
        expect_near("width", width, width_of_all_pairs(p, n), 1e-12);
        expect_near("across", extent(p, n, direction), width, 1e-12);
    }
}

/* Hull of many points: convex, and nothing outside. */
static void expect_hull(const sw_point *p, size_t n, double most)
{
    sw_point *hull = malloc(n * sizeof *hull);
    assert_non_null(hull);
    size_t count = sw_hull(p, n, hull);
    assert_true(count >= 3 && count <= n);
    double least = INFINITY;
    for (size_t i = 0; i < count; i++) {
        sw_point a = hull[i], b = hull[(i + 1) % count];
        assert_true(turn_of(a, b, hull[(i + 2) % count]) > 0.0);
        double length = hypot(b.x - a.x, b.y - a.y), far = 0.0;
        for (size_t k = 0; k < n; k++) {
            double d = turn_of(a, b, p[k]) / length;
            if (d < -most)
                fail_msg("point %zu is %g outside side %zu", k, -d, i);
            far = fmax(far, d);
        }
        least = fmin(least, far);
    }
    expect_near("width", sw_hull_width(p, n, NULL), least, 2.0 * most);
    free(hull);
}

static void many_points(void **state)
{
    (void)state;
    enum { COUNT = 100000 };
    sw_point *p = malloc(COUNT * sizeof *p);
    assert_non_null(p);
    uint32_t seed = 29;
    for (size_t i = 0; i < COUNT; i++)
        p[i] = (sw_point){between(&seed, 0.0, 300.0), 0.3 * normal(&seed)};
    expect_hull(p, COUNT, 1e-12);
    /* All on the hull. */
    for (size_t i = 0; i < 2000; i++)
        p[i] = (sw_point){1000.0 + 150.0 * cos((double)i * 0.0031415), 150.0 * sin((double)i * 0.0031415)};
    expect_hull(p, 2000, 1e-12);
    free(p);
}

/* More digits than the program has (where long double is no longer than double, this only repeats it). */
static long double long_turn(sw_point a, sw_point b, sw_point c)
{
    return ((long double)b.x - a.x) * ((long double)c.y - a.y) - ((long double)b.y - a.y) * ((long double)c.x - a.x);
}

/* Points twice, a rounding apart, and runs of points that are in line but for rounding: the width must not stop short
 * on a side that is a rounding long. */
static void rounding_apart(void **state)
{
    (void)state;
    uint32_t seed = 41;
    for (int trial = 0; trial < 500; trial++) {
        sw_point p[90], corner[6];
        double turn = between(&seed, 0.0, 7.0);
        for (size_t k = 0; k < 6; k++) {
            double at = turn + (double)k;
            corner[k] = (sw_point){700.0 + 200.0 * cos(at), 60.0 * sin(at) - 0.4};
        }
        for (size_t i = 0; i < 90; i++) {
            sw_point a = corner[i % 6], b = corner[(i + 1) % 6];
            double along = i < 60 ? (double)(i / 6) * 0.1 : 0.0;
            p[i] = (sw_point){a.x + along * (b.x - a.x) + 2e-13 * (chance(&seed) - 0.5),
                              a.y + along * (b.y - a.y) + 2e-13 * (chance(&seed) - 0.5)};
        }
        expect_near("width", sw_hull_width(p, 90, NULL), width_of_all_pairs(corner, 6), 1e-12);
        sw_point hull[90];
        size_t count = sw_hull(p, 90, hull);
        for (size_t i = 0; i < count; i++)
            assert_true(long_turn(hull[i], hull[(i + 1) % count], hull[(i + 2) % count]) > 0.0L);
    }
}

static void line_of_tenths(void **state)
{
    (void)state;
    sw_point p[301], direction;
    for (int i = 0; i < 301; i++)
        p[i] = (sw_point){0.1 * i, 0.3 * i};
    expect_near("width", sw_hull_width(p, 301, &direction), 0.0, 1e-13);
    expect_near("direction", fabs(direction.y / direction.x), 3.0, 1e-12);
}

static void few_points(void **state)
{
    (void)state;
    sw_point out[3], direction = {9.0, 9.0}, one[1] = {{3.0, 4.0}}, two[2] = {{1.0, 1.0}, {4.0, 5.0}};
    sw_point same[3] = {{3.0, 4.0}, {3.0, 4.0}, {3.0, 4.0}}, row[3] = {{2.0, 2.0}, {1.0, 1.0}, {3.0, 3.0}};
    assert_int_equal(sw_hull(NULL, 0, out), 0);
    assert_true(sw_hull_width(NULL, 0, &direction) == 0.0 && direction.x == 0.0 && direction.y == 0.0);
    assert_int_equal(sw_hull(one, 1, out), 1);
    assert_true(out[0].x == 3.0 && out[0].y == 4.0);
    assert_true(sw_hull_width(one, 1, NULL) == 0.0);
    assert_int_equal(sw_hull(same, 3, out), 1);
    assert_true(sw_hull_width(same, 3, &direction) == 0.0 && direction.x == 0.0 && direction.y == 0.0);
    assert_int_equal(sw_hull(two, 2, out), 2);
    assert_true(sw_hull_width(two, 2, &direction) == 0.0);
    expect_near("direction", direction.x, 0.6, 1e-15);
    expect_near("direction", direction.y, 0.8, 1e-15);
    assert_int_equal(sw_hull(row, 3, out), 2);
    assert_true(out[0].x == 1.0 && out[1].x == 3.0);
    assert_true(sw_hull_width(row, 3, NULL) == 0.0);
}

static void points_that_are_none(void **state)
{
    (void)state;
    sw_point p[6] = {{NAN, 0.0}, {0.0, 0.0}, {3.0, 0.0}, {1.0, INFINITY}, {0.0, 4.0}, {-INFINITY, NAN}}, out[6];
    assert_int_equal(sw_hull(p, 6, out), 3);
    expect_near("width", sw_hull_width(p, 6, NULL), 2.4, 1e-15);
    assert_int_equal(sw_hull(p, 1, out), 0);
    assert_true(sw_hull_width(p, 1, NULL) == 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(icpc_2011_k),
        cmocka_unit_test(jts),
        cmocka_unit_test(pearson),
        cmocka_unit_test(hulls_of_whole_numbers),
        cmocka_unit_test(widths_of_random_points),
        cmocka_unit_test(many_points),
        cmocka_unit_test(rounding_apart),
        cmocka_unit_test(line_of_tenths),
        cmocka_unit_test(few_points),
        cmocka_unit_test(points_that_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
