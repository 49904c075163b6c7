#include "maths/line.h"

#include <float.h>
#include <math.h>

/* Two lines closer in direction than this, rad, count as parallel: at 1e-9 rad lines a metre apart cross a thousand
 * kilometres away, and the crossing is noise. */
static const double PARALLEL_RAD = 1e-9;

/* Points spread less than this many roundings of their largest coordinate coincide: the mean itself is no better. */
static const double COINCIDENT_ROUNDINGS = 4.0;

typedef struct moments {
    double weight, x, y; /* sum of weights, weighted means */
    double xx, xy, yy;   /* weighted central sums of squares and products */
    double largest;      /* largest absolute coordinate */
} moments;

static double weight_of(const double *weights, size_t i)
{
    return weights ? weights[i] : 1.0;
}

/* Two passes, because the one-pass sums lose the digits that matter when the points lie far from the origin. */
static sw_status take_moments(const sw_point *points, const double *weights, size_t count, moments *m)
{
    *m = (moments){0};
    for (size_t i = 0; i < count; i++) {
        double w = weight_of(weights, i);
        if (!(w >= 0.0))
            return SW_BAD_INPUT;
        if (w == 0.0)
            continue;
        m->weight += w;
        m->x += w * points[i].x;
        m->y += w * points[i].y;
        m->largest = fmax(m->largest, fmax(fabs(points[i].x), fabs(points[i].y)));
    }
    m->x /= m->weight;
    m->y /= m->weight;
    for (size_t i = 0; i < count; i++) {
        double w = weight_of(weights, i), dx = points[i].x - m->x, dy = points[i].y - m->y;
        if (w == 0.0)
            continue;
        m->xx += w * dx * dx;
        m->xy += w * dx * dy;
        m->yy += w * dy * dy;
    }
    return SW_OK;
}

sw_status sw_line_fit(const sw_point *points, const double *weights, size_t count, sw_line *line, double *rms)
{
    *line = (sw_line){0};
    if (rms)
        *rms = 0.0;
    moments m;
    if (take_moments(points, weights, count, &m))
        return SW_BAD_INPUT;
    double least = COINCIDENT_ROUNDINGS * DBL_EPSILON * m.largest, scatter = m.xx + m.yy;
    if (!(scatter > m.weight * least * least) || !isfinite(scatter))
        return SW_BAD_INPUT;
    /* The direction of the larger eigenvector of [xx xy; xy yy]: tan 2 turn = 2 xy / (xx - yy), turn in (-pi/2, pi/2].
     */
    double turn = 0.5 * atan2(2.0 * m.xy, m.xx - m.yy);
    *line = (sw_line){m.x, m.y, sin(turn), -cos(turn)};
    if (!rms)
        return SW_OK;
    /* From the distances, not from the smaller eigenvalue: that is a difference of two near numbers on a good line. */
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double w = weight_of(weights, i);
        double d = w > 0.0 ? sw_line_distance(line, points[i]) : 0.0;
        sum += w * d * d;
    }
    *rms = sqrt(sum / m.weight);
    return SW_OK;
}

double sw_line_distance(const sw_line *line, sw_point p)
{
    return line->nx * (p.x - line->x) + line->ny * (p.y - line->y);
}

sw_status sw_line_cross(const sw_line *a, const sw_line *b, sw_point *at)
{
    *at = (sw_point){0.0, 0.0};
    double sine = a->nx * b->ny - a->ny * b->nx;
    if (!(fabs(sine) > PARALLEL_RAD))
        return SW_NOT_FOUND;
    /* Walk along a from its point by t until b's distance is 0; along a it grows by n_b . (-ny, nx)_a = sine. */
    double t = -sw_line_distance(b, (sw_point){a->x, a->y}) / sine;
    *at = (sw_point){a->x - t * a->ny, a->y + t * a->nx};
    return SW_OK;
}
