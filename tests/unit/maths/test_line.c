/* Lines: Pearson's own example, a search over all directions as the slow answer, and the ends of the range. */
#include "support/maths_check.h"

#include "maths/line.h"

/* Pearson 1901, "On lines and planes of closest fit to systems of points in space", the ten points of his example.
 * Slope and intercept are published as -0.546 and 5.785; the further digits and the peak to valley were computed apart
 * from this program (project's reference values). */
static const sw_point PEARSON[10] = {{0.0, 5.9}, {0.9, 5.4}, {1.8, 4.4}, {2.6, 4.6}, {3.3, 3.5},
                                     {4.4, 3.7}, {5.2, 2.8}, {6.1, 2.8}, {6.5, 2.4}, {7.4, 1.5}};

static void pearson_1901(void **state)
{
    (void)state;
    sw_line line;
    assert_int_equal(sw_line_fit(PEARSON, NULL, 10, &line, NULL), 0);
    double slope = -line.nx / line.ny, intercept = line.y - slope * line.x;
    expect_near("slope", slope, -0.545561198, 5e-10);
    expect_near("intercept", intercept, 5.784043775, 5e-10);
    expect_near("published slope", slope, -0.546, 5e-4);
    expect_near("published intercept", intercept, 5.785, 1e-3);
    double high = -INFINITY, low = INFINITY;
    for (int i = 0; i < 10; i++) {
        double d = sw_line_distance(&line, PEARSON[i]);
        high = fmax(high, d);
        low = fmin(low, d);
    }
    expect_near("peak to valley", high - low, 0.726488653, 5e-10);
}

/* Sum of w d^2 about the line through the mean at this turn, from the definition. */
static double squares_at(const sw_point *p, const double *w, size_t n, double turn)
{
    double weight = 0.0, mean = 0.0, sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        weight += w[i];
        mean += w[i] * (p[i].y * cos(turn) - p[i].x * sin(turn));
    }
    mean /= weight;
    for (size_t i = 0; i < n; i++) {
        double d = p[i].y * cos(turn) - p[i].x * sin(turn) - mean;
        sum += w[i] * d * d;
    }
    return sum / weight;
}

/* The best turn by looking at 180 of them and then thirds of the best interval. */
static double best_squares(const sw_point *p, const double *w, size_t n)
{
    double step = acos(-1.0) / 180.0, best = 0.0;
    for (int i = 1; i < 180; i++)
        if (squares_at(p, w, n, i * step) < squares_at(p, w, n, best))
            best = i * step;
    double low = best - step, high = best + step;
    for (int i = 0; i < 100; i++) {
        double a = low + (high - low) / 3.0, b = high - (high - low) / 3.0;
        if (squares_at(p, w, n, a) < squares_at(p, w, n, b))
            high = b;
        else
            low = a;
    }
    return squares_at(p, w, n, 0.5 * (low + high));
}

static void random_lines_against_a_search(void **state)
{
    (void)state;
    uint32_t seed = 11;
    for (int trial = 0; trial < 200; trial++) {
        sw_point p[30];
        double w[30], turn = between(&seed, -4.0, 4.0), spread = pow(10.0, between(&seed, -3.0, 1.0));
        size_t n = 2 + (size_t)between(&seed, 0.0, 28.0);
        for (size_t i = 0; i < n; i++) {
            double along = between(&seed, -10.0, 10.0), off = spread * normal(&seed);
            p[i] = (sw_point){5.0 + along * cos(turn) - off * sin(turn), -7.0 + along * sin(turn) + off * cos(turn)};
            w[i] = between(&seed, 0.1, 3.0);
        }
        sw_line line;
        double rms, want = sqrt(best_squares(p, w, n));
        assert_int_equal(sw_line_fit(p, w, n, &line, &rms), 0);
        expect_near("rms", rms, want, 1e-7 * (want + 1e-7));
        expect_near("normal's length", hypot(line.nx, line.ny), 1.0, 1e-15);
        assert_true(-line.ny > 0.0); /* direction to the east */
        double own = 0.0, weight = 0.0;
        for (size_t i = 0; i < n; i++) {
            own += w[i] * sw_line_distance(&line, p[i]) * sw_line_distance(&line, p[i]);
            weight += w[i];
        }
        expect_near("rms of the distances", rms, sqrt(own / weight), 1e-12);
    }
}

/* A weight of 3 is the point three times; a weight of 0 is no point, whatever stands there. */
static void weights_are_repeats(void **state)
{
    (void)state;
    sw_point p[4] = {{0.0, 0.0}, {NAN, INFINITY}, {4.0, 1.0}, {7.0, 5.0}};
    double w[4] = {1.0, 0.0, 3.0, 2.0};
    sw_point repeated[6] = {{0.0, 0.0}, {4.0, 1.0}, {4.0, 1.0}, {4.0, 1.0}, {7.0, 5.0}, {7.0, 5.0}};
    sw_line a, b;
    double rms_a, rms_b;
    assert_int_equal(sw_line_fit(p, w, 4, &a, &rms_a), 0);
    assert_int_equal(sw_line_fit(repeated, NULL, 6, &b, &rms_b), 0);
    expect_digits("x", a.x, b.x, 14.0);
    expect_digits("y", a.y, b.y, 14.0);
    expect_digits("nx", a.nx, b.nx, 14.0);
    expect_digits("ny", a.ny, b.ny, 14.0);
    expect_digits("rms", rms_a, rms_b, 14.0);
}

static void level_and_upright(void **state)
{
    (void)state;
    sw_point level[3] = {{3.0, 2.0}, {1.0, 2.0}, {2.0, 2.0}}, upright[3] = {{2.0, 9.0}, {2.0, 1.0}, {2.0, 2.0}};
    sw_line line;
    double rms;
    assert_int_equal(sw_line_fit(level, NULL, 3, &line, &rms), 0);
    expect_near("east", -line.ny, 1.0, 0.0);
    expect_near("east", line.nx, 0.0, 0.0);
    expect_near("rms", rms, 0.0, 0.0);
    assert_int_equal(sw_line_fit(upright, NULL, 3, &line, &rms), 0);
    expect_near("north", line.nx, 1.0, 1e-16);
    expect_near("north", line.ny, 0.0, 1e-16);
    expect_near("rms", rms, 0.0, 1e-15);
    expect_near("distance to the east is positive", sw_line_distance(&line, (sw_point){5.0, 77.0}), 3.0, 1e-14);
}

/* 300 mm of edge a thousand kilometres from the origin with a zigzag of 1 mm: one-pass sums would drown it. */
static void far_from_the_origin(void **state)
{
    (void)state;
    sw_point p[300];
    for (int i = 0; i < 300; i++)
        p[i] = (sw_point){1e9 + i, -1e9 + (i % 2 ? 0.5 : -0.5)};
    sw_line line;
    double rms;
    assert_int_equal(sw_line_fit(p, NULL, 300, &line, &rms), 0);
    expect_near("rms", rms, 0.5, 1e-4);
    expect_near("tilt", line.nx, 0.0, 1e-4);
}

static void refused(const sw_point *p, const double *w, size_t n)
{
    sw_line line = {9.0, 9.0, 9.0, 9.0};
    double rms = 9.0;
    assert_int_equal(sw_line_fit(p, w, n, &line, &rms), SW_BAD_INPUT);
    assert_true(line.x == 0.0 && line.y == 0.0 && line.nx == 0.0 && line.ny == 0.0 && rms == 0.0);
}

static void no_line(void **state)
{
    (void)state;
    sw_point same[3] = {{0.1, 0.3}, {0.1, 0.3}, {0.1, 0.3}}, two[2] = {{0.0, 0.0}, {1.0, 1.0}};
    sw_point far[3] = {{1e6, 0.1}, {1e6, 0.1}, {1e6, 0.1}}, bad[2] = {{0.0, 0.0}, {NAN, 1.0}};
    sw_point endless[2] = {{0.0, 0.0}, {INFINITY, 1.0}};
    refused(NULL, NULL, 0);
    refused(two, NULL, 1);
    refused(same, NULL, 3);
    refused(far, NULL, 3);
    refused(bad, NULL, 2);
    refused(endless, NULL, 2);
    refused(two, (double[]){0.0, 0.0}, 2);
    refused(two, (double[]){1.0, 0.0}, 2);
    refused(two, (double[]){1.0, -1.0}, 2);
    refused(two, (double[]){1.0, NAN}, 2);
    sw_point three[3] = {{0.0, 0.0}, {1.0, 1.0}, {2.0, 5.0}}, huge[2] = {{1e160, 0.0}, {-1e160, 1.0}};
    refused(three, (double[]){4.0, -1.0, 4.0}, 3);
    refused(huge, NULL, 2);
}

/* A square's corners have no direction of their own; any line through the middle is as good, but it must be a line. */
static void no_direction(void **state)
{
    (void)state;
    sw_point corners[4] = {{0.0, 0.0}, {2.0, 0.0}, {2.0, 2.0}, {0.0, 2.0}};
    sw_line line;
    double rms;
    assert_int_equal(sw_line_fit(corners, NULL, 4, &line, &rms), 0);
    expect_near("rms", rms, 1.0, 1e-15);
    expect_near("normal's length", hypot(line.nx, line.ny), 1.0, 1e-15);
}

static sw_line line_at(double x, double y, double turn)
{
    return (sw_line){x, y, sin(turn), -cos(turn)};
}

static void crossings(void **state)
{
    (void)state;
    uint32_t seed = 5;
    for (int trial = 0; trial < 1000; trial++) {
        sw_point want = {between(&seed, -300.0, 300.0), between(&seed, -300.0, 300.0)}, got;
        double t = between(&seed, -3.0, 3.0), u = t + between(&seed, 0.05, 3.0);
        double along_t = between(&seed, -500.0, 500.0), along_u = between(&seed, -500.0, 500.0);
        sw_line a = line_at(want.x + along_t * cos(t), want.y + along_t * sin(t), t);
        sw_line b = line_at(want.x + along_u * cos(u), want.y + along_u * sin(u), u);
        assert_int_equal(sw_line_cross(&a, &b, &got), 0);
        expect_near("x", got.x, want.x, 1e-10);
        expect_near("y", got.y, want.y, 1e-10);
    }
}

static void parallels_do_not_cross(void **state)
{
    (void)state;
    sw_line a = line_at(0.0, 0.0, 0.3), b = line_at(0.0, 1.0, 0.3 + 0.9e-9), c = line_at(0.0, 1.0, 0.3 + 1.1e-9);
    sw_line back = {0.0, 1.0, -a.nx, -a.ny}, bad = {0.0, 0.0, NAN, 1.0};
    sw_point at = {9.0, 9.0};
    assert_int_equal(sw_line_cross(&a, &b, &at), SW_NOT_FOUND);
    assert_true(at.x == 0.0 && at.y == 0.0);
    assert_int_equal(sw_line_cross(&a, &a, &at), SW_NOT_FOUND);
    assert_int_equal(sw_line_cross(&a, &back, &at), SW_NOT_FOUND);
    assert_int_equal(sw_line_cross(&a, &bad, &at), SW_NOT_FOUND);
    assert_int_equal(sw_line_cross(&a, &c, &at), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pearson_1901),           cmocka_unit_test(random_lines_against_a_search),
        cmocka_unit_test(weights_are_repeats),    cmocka_unit_test(level_and_upright),
        cmocka_unit_test(far_from_the_origin),    cmocka_unit_test(no_line),
        cmocka_unit_test(no_direction),           cmocka_unit_test(crossings),
        cmocka_unit_test(parallels_do_not_cross),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
