#include "tile/square.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "maths/hull.h"
#include "maths/lsq.h"

/* Growth of a straightness's uncertainty where noise rules; the one that holds nine in ten of straight and of bowed edges in
 * test_square. */
static const double NOISY = 2;

/* Outward normal of a side of a square turned by t. */
static sw_point outward(int side, double t)
{
    double c = cos(t), s = sin(t);
    switch (side) {
    case SW_NORTH:
        return (sw_point){-s, c};
    case SW_EAST:
        return (sw_point){c, s};
    case SW_SOUTH:
        return (sw_point){s, -c};
    default:
        return (sw_point){-c, -s};
    }
}

/* One Gauss-Newton round on (centre x, y, turn, half side). Returns the largest change, or -1. */
static double square_round(const sw_tile *tile, double q[4])
{
    double a[16] = {0}, b[4] = {0};
    int sides = 0;
    for (int s = 0; s < 4; s++) {
        sw_point n = outward(s, q[2]), along = {-n.y, n.x};
        int used = 0;
        for (size_t i = 0; i < tile->edges[s].point_count; i++) {
            const sw_rim_point *p = &tile->edges[s].points[i];
            if (p->state != SW_STATION_OK)
                continue;
            double x = p->mm.x - q[0], y = p->mm.y - q[1];
            double r = n.x * x + n.y * y - q[3], d[4] = {n.x, n.y, -(along.x * x + along.y * y), 1};
            for (int j = 0; j < 4; j++) {
                for (int k = 0; k < 4; k++)
                    a[j * 4 + k] += d[j] * d[k];
                b[j] += d[j] * r;
            }
            used++;
        }
        sides += used > 2;
    }
    if (sides < 4 || sw_cholesky_solve(a, b, 4))
        return -1;
    double most = 0;
    for (int j = 0; j < 4; j++) {
        q[j] += b[j];
        most = fmax(most, fabs(b[j]));
    }
    return most;
}

void sw_square_fit(sw_tile *tile)
{
    double q[4] = {0}, change = INFINITY;
    for (int c = 0; c < 4; c++) {
        q[0] += tile->corners[c].mm.x / 4;
        q[1] += tile->corners[c].mm.y / 4;
        q[3] += tile->edges[c].length_mm / 8;
    }
    for (int round = 0; round < 8 && change > 1e-9; round++) {
        change = square_round(tile, q);
        if (change < 0)
            break;
    }
    bool good = change >= 0 && isfinite(q[0] + q[1] + q[2] + q[3]);
    tile->centre_mm = good ? (sw_point){q[0], q[1]} : (sw_point){NAN, NAN};
    tile->turn_rad = good ? q[2] : NAN;
    tile->side_mm = good ? 2 * q[3] : NAN;
    for (int s = 0; s < 4; s++) {
        sw_point n = outward(s, q[2]);
        for (size_t i = 0; i < tile->edges[s].point_count; i++) {
            sw_rim_point *p = &tile->edges[s].points[i];
            p->proud_mm = good ? n.x * (p->mm.x - q[0]) + n.y * (p->mm.y - q[1]) - q[3] : NAN;
        }
    }
}

/* Normal deviate from a 64-bit linear congruential generator (Knuth's MMIX constants): sum of twelve uniforms less six. */
static double deviate(uint64_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(*state >> 11) / 9007199254740992.0;
    }
    return sum;
}

sw_straightness sw_straightness_of(const sw_point *points, size_t count, double random_mm, double independent_mm)
{
    enum { DRAWS = 12 };
    sw_point *noisy = malloc((count + 1) * sizeof *noisy);
    double width = sw_hull_width(points, count, NULL), sum = 0, squares = 0;
    uint64_t state = 20260501;
    if (!noisy || count < 3 || !(random_mm > 0)) {
        free(noisy);
        return (sw_straightness){width, random_mm};
    }
    double dx = points[count - 1].x - points[0].x, dy = points[count - 1].y - points[0].y, l = hypot(dx, dy);
    for (int draw = 0; draw < DRAWS; draw++) {
        double last = -INFINITY, a = 0, b = deviate(&state), knot = 0;
        for (size_t i = 0; i < count; i++) {
            double at = ((points[i].x - points[0].x) * dx + (points[i].y - points[0].y) * dy) / l;
            while (at >= last + independent_mm || last == -INFINITY) {
                last = last == -INFINITY ? 0 : last + independent_mm;
                a = b;
                b = deviate(&state);
            }
            knot = (at - last) / independent_mm;
            /* Between knots the two deviates are mixed so that the variance stays one. */
            double mix = ((1 - knot) * a + knot * b) / sqrt((1 - knot) * (1 - knot) + knot * knot) * random_mm;
            noisy[i] = (sw_point){points[i].x - mix * dy / l, points[i].y + mix * dx / l};
        }
        double more = sw_hull_width(noisy, count, NULL);
        sum += more;
        squares += more * more;
    }
    free(noisy);
    /* A zone w of a shape s with noise n is about sqrt(s^2 + n^2) where noise rules, and s + (a little) where the shape does. With
     * the noise taken twice, sqrt(s^2 + 2 n^2): so s^2 = 2 w^2 - (mean noisy zone)^2 fits both ends. */
    double mean = sum / DRAWS, sd = sqrt(fmax(0, squares / DRAWS - mean * mean));
    double shape = sqrt(fmax(0, 2 * width * width - mean * mean)), off = width - shape;
    /* The less of the zone is shape, the more the root above makes of the zone's own chance. */
    double chance = sd * (1 + NOISY * (width > 0 ? off / width : 0));
    return (sw_straightness){fmin(width, shape), sqrt(chance * chance + off * off / 4 + random_mm * random_mm / 4)};
}
