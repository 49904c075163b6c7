#include "maths/hull.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "maths/point.h"

/* Relative error bound of the orientation determinant in doubles, (3 + 16 e) e with e = 2^-53 (Shewchuk 1997,
 * "Adaptive precision floating-point arithmetic and fast robust geometric predicates", ccwerrboundA). */
static const double TURN_ERROR = (3.0 + 16.0 * 0x1p-53) * 0x1p-53;

/* 1 only if a, b, c certainly turn left. A turn too slight for doubles counts as straight, so every corner the hull
 * keeps is a true one, the hull is truly convex, and what is dropped stands out by a rounding at most. */
static bool turns_left(sw_point a, sw_point b, sw_point c)
{
    double left = (a.x - c.x) * (b.y - c.y), right = (a.y - c.y) * (b.x - c.x);
    return left - right > TURN_ERROR * (fabs(left) + fabs(right));
}

static bool before(sw_point a, sw_point b)
{
    return a.x < b.x || (a.x == b.x && a.y < b.y);
}

static int by_x_up(const void *a, const void *b)
{
    sw_point p = *(const sw_point *)a, q = *(const sw_point *)b;
    return before(p, q) ? -1 : before(q, p);
}

static int by_x_down(const void *a, const void *b)
{
    return by_x_up(b, a);
}

static void swap(sw_point *a, sw_point *b)
{
    sw_point keep = *a;
    *a = *b;
    *b = keep;
}

static size_t copy_finite(const sw_point *points, size_t count, sw_point *out)
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(points[i].x) && isfinite(points[i].y))
            out[n++] = points[i];
    return n;
}

/* Brings the points not above the chord first-last (its own ends too) to the front; returns how many. first and last
 * are the ends in the order of before(). */
static size_t part_below(sw_point *p, size_t n, sw_point first, sw_point last)
{
    size_t below = 0;
    for (size_t i = 0; i < n; i++)
        if (!turns_left(first, last, p[i]))
            swap(&p[below++], &p[i]);
    return below;
}

/* Andrew's scan (1979) of one chain. The stack is p[0 .. top), its part under `floor` is settled; c comes next. */
static size_t pop(const sw_point *p, size_t top, size_t floor, sw_point c)
{
    while (top > floor && !turns_left(p[top - 2], p[top - 1], c))
        top--;
    return top;
}

/* Works in `out` alone: both chains are scanned in place, because the stack never overtakes the point it reads. */
size_t sw_hull(const sw_point *points, size_t count, sw_point *out)
{
    size_t n = copy_finite(points, count, out);
    if (n == 0)
        return 0;
    sw_point first = out[0], last = out[0];
    for (size_t i = 1; i < n; i++) {
        if (before(out[i], first))
            first = out[i];
        if (before(last, out[i]))
            last = out[i];
    }
    if (!before(first, last))
        return 1;
    size_t below = part_below(out, n, first, last);
    qsort(out, below, sizeof *out, by_x_up);
    qsort(out + below, n - below, sizeof *out, by_x_down);
    size_t top = 1;
    for (size_t i = 1; i < below; i++) {
        top = pop(out, top, 1, out[i]);
        out[top++] = out[i];
    }
    size_t floor = top;
    for (size_t i = below; i < n; i++) {
        top = pop(out, top, floor, out[i]);
        out[top++] = out[i];
    }
    return pop(out, top, floor, first);
}

static double cross(sw_point a, sw_point b)
{
    return a.x * b.y - a.y * b.x;
}

/* Rotating calipers: as side i turns, the corner farthest from it only moves on. It moves while the side after it still
 * climbs away from side i; comparing directions, not distances, keeps short sides from stopping it. */
static double hull_width(const sw_point *hull, size_t n, sw_point *direction)
{
    double least = INFINITY;
    size_t far = 1;
    for (size_t i = 0; i < n; i++) {
        sw_point side = sw_minus(hull[(i + 1) % n], hull[i]);
        if (far == (i + 1) % n) /* the side itself; its next corner is farther, even if cross() rounds that away */
            far = (i + 2) % n;
        while (cross(side, sw_minus(hull[(far + 1) % n], hull[far])) > 0.0)
            far = (far + 1) % n;
        double length = hypot(side.x, side.y);
        double width = cross(side, sw_minus(hull[far], hull[i])) / length;
        if (width < least) {
            least = width;
            *direction = (sw_point){side.x / length, side.y / length};
        }
    }
    return least;
}

double sw_hull_width(const sw_point *points, size_t count, sw_point *direction)
{
    sw_point unused;
    if (!direction)
        direction = &unused;
    *direction = (sw_point){0.0, 0.0};
    if (count == 0)
        return 0.0;
    sw_point *hull = count > SIZE_MAX / sizeof *hull ? NULL : malloc(count * sizeof *hull);
    if (!hull)
        return NAN;
    size_t n = sw_hull(points, count, hull);
    double width = 0.0;
    if (n == 2) {
        sw_point along = sw_minus(hull[1], hull[0]);
        double length = hypot(along.x, along.y);
        *direction = (sw_point){along.x / length, along.y / length};
    } else if (n > 2) {
        width = hull_width(hull, n, direction);
    }
    free(hull);
    return width;
}
