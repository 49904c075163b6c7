#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/line.h"
#include "maths/stats.h"
#include "scale/processed.h"
#include "scale/squares.h"

/* Farthest that a crossing reaches on either side, px: the corners handed in are good to a few pixels, and the blur's tail
 * and the softening filter need about 5 px more. */
enum { REACH_MOST = 10, REACH_LEAST = 4, LEVEL_PIXELS = 3, CROSSINGS_MOST = 4096 };
/* Share of the side left out at each end, where the corner's own blur begins. */
static const double END_SHARE = 0.08;
/* A step smaller than this, in linear light, is no printed edge. */
static const double LEAST_STEP = 0.03;
/* Crossings farther than this many robust deviations from their side are left out. */
static const double OUTLIER_SIGMAS = 4;

/* One side, read along rows (along_row) or columns: crossing i is pixel line first + i. */
typedef struct side {
    bool along_row;
    int first, count, reach;
    double start_at, slope;     /* predicted place on line `first`, and its change a line */
    bool bright_ahead;          /* brightness rises with growing pixel coordinate */
    double stretch;             /* cosine between crossing and normal */
    double *at, *dark, *bright; /* per crossing */
} side;

/* False when there is too little of it. */
static bool lay_side(sw_point a, sw_point b, sw_point inside, bool outward_bright, double reach_px, side *s)
{
    double dx = b.x - a.x, dy = b.y - a.y;
    s->along_row = fabs(dy) > fabs(dx);
    double t0 = s->along_row ? a.y : a.x, t1 = s->along_row ? b.y : b.x;
    double c0 = s->along_row ? a.x : a.y, c1 = s->along_row ? b.x : b.y;
    if (t0 > t1) {
        double t = t0, c = c0;
        t0 = t1;
        c0 = c1;
        t1 = t;
        c1 = c;
    }
    double margin = END_SHARE * (t1 - t0) + 2;
    s->first = (int)ceil(t0 + margin);
    s->count = (int)floor(t1 - margin) - s->first + 1;
    s->slope = (c1 - c0) / (t1 - t0);
    s->start_at = c0 + s->slope * (s->first - t0);
    s->stretch = 1 / sqrt(1 + s->slope * s->slope);
    double middle_in = s->along_row ? inside.x : inside.y;
    bool inside_ahead = middle_in > (c0 + c1) / 2;
    s->bright_ahead = inside_ahead != outward_bright;
    s->reach = (int)fmin(REACH_MOST, reach_px / s->stretch);
    if (s->count < 6 || s->count > CROSSINGS_MOST || s->reach < REACH_LEAST)
        return false;
    s->at = malloc((size_t)s->count * 3 * sizeof(double));
    if (!s->at)
        return false;
    s->dark = s->at + s->count;
    s->bright = s->dark + s->count;
    return true;
}

static int predicted(const side *s, int i)
{
    return (int)lround(s->start_at + s->slope * i);
}

static double mean_of(const double *v, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += v[i];
    return sum / n;
}

/* Places of the edge on every crossing, by area between the levels of the side's own neighbourhood; NaN where none. */
static void read_places(const sw_photo *photo, const sw_soften *soften, side *s)
{
    int n = 2 * s->reach + 1;
    double v[2 * REACH_MOST + 1];
    for (int i = 0; i < s->count; i++) {
        int start = predicted(s, i) - s->reach;
        if (sw_crossing_read(photo, soften, s->along_row, s->first + i, start, n, v)) {
            s->at[i] = NAN;
            continue;
        }
        double low = mean_of(v, LEVEL_PIXELS), high = mean_of(v + n - LEVEL_PIXELS, LEVEL_PIXELS);
        s->dark[i] = s->bright_ahead ? low : high;
        s->bright[i] = s->bright_ahead ? high : low;
        double sum = 0;
        for (int k = 0; k < n; k++)
            sum += v[k];
        s->at[i] = sum;
    }
    double dark[CROSSINGS_MOST], bright[CROSSINGS_MOST];
    memcpy(dark, s->dark, (size_t)s->count * sizeof(double));
    memcpy(bright, s->bright, (size_t)s->count * sizeof(double));
    enum { NEIGHBOURS = 10 }; /* crossings on either side that share their levels */
    for (int i = 0; i < s->count; i++) {
        double d = 0, b = 0, k = 0;
        for (int j = i - NEIGHBOURS; j <= i + NEIGHBOURS; j++)
            if (j >= 0 && j < s->count && !isnan(s->at[j])) {
                d += dark[j];
                b += bright[j];
                k++;
            }
        if (isnan(s->at[i]))
            continue;
        d /= k;
        b /= k;
        s->dark[i] = d;
        s->bright[i] = b;
        if (b - d < LEAST_STEP) {
            s->at[i] = NAN;
            continue;
        }
        double bright_pixels = (s->at[i] - n * d) / (b - d);
        int start = predicted(s, i) - s->reach;
        s->at[i] = s->bright_ahead ? start + n - 0.5 - bright_pixels : start - 0.5 + bright_pixels;
    }
}

/* Robust line (place over crossing number) through what was read; residuals beyond OUTLIER_SIGMAS become NaN. Returns the
 * scatter, NaN when too few are left. */
static double straighten(side *s, double *offset, double *slope)
{
    double scatter = NAN, rest[CROSSINGS_MOST];
    for (int round = 0; round < 3; round++) {
        double n = 0, si = 0, sy = 0, sii = 0, siy = 0;
        for (int i = 0; i < s->count; i++)
            if (!isnan(s->at[i])) {
                double y = s->at[i] - s->start_at - s->slope * i;
                n++;
                si += i;
                sy += y;
                sii += (double)i * i;
                siy += i * y;
            }
        if (n < 0.5 * s->count || n < 6)
            return NAN;
        double b = (n * siy - si * sy) / (n * sii - si * si), a = (sy - b * si) / n;
        size_t kept = 0;
        for (int i = 0; i < s->count; i++)
            if (!isnan(s->at[i]))
                rest[kept++] = s->at[i] - s->start_at - s->slope * i - a - b * i;
        scatter = sw_mad_sigma(rest, kept, 0);
        double limit = OUTLIER_SIGMAS * fmax(scatter, 0.02) + (round ? 0 : 0.5);
        for (int i = 0; i < s->count; i++)
            if (fabs(s->at[i] - s->start_at - s->slope * i - a - b * i) > limit)
                s->at[i] = NAN;
        *offset = a;
        *slope = b;
    }
    return scatter;
}

static void group_points(const side *s, int which, sw_rim_square *rim)
{
    int groups = s->count < SW_SIDE_POINTS ? s->count : SW_SIDE_POINTS, made = 0;
    for (int g = 0; g < groups; g++) {
        int from = g * s->count / groups, to = (g + 1) * s->count / groups;
        double n = 0, t = 0, c = 0;
        for (int i = from; i < to; i++)
            if (!isnan(s->at[i])) {
                n++;
                t += s->first + i;
                c += s->at[i];
            }
        if (n < 0.5 * (to - from) || n < 1)
            continue;
        sw_point px = s->along_row ? (sw_point){c / n, t / n} : (sw_point){t / n, c / n};
        rim->points[which][made++] = (sw_side_point){px, n};
    }
    rim->counts[which] = made;
}

/* Adds the side's crossings to the pooled edge, each normalised by its own levels (in stored values). */
static void collect(const sw_photo *photo, const side *s, double offset, double slope, sw_esf *esf)
{
    int n = 2 * s->reach + 1;
    double v[2 * REACH_MOST + 1];
    for (int i = 0; i < s->count; i++) {
        if (isnan(s->at[i]))
            continue;
        double at = s->start_at + s->slope * i + offset + slope * i;
        int start = predicted(s, i) - s->reach;
        sw_crossing_stored(photo, s->along_row, s->first + i, start, n, v);
        double low = mean_of(v, LEVEL_PIXELS), high = mean_of(v + n - LEVEL_PIXELS, LEVEL_PIXELS);
        if (fabs(high - low) < 1)
            continue;
        double dark = s->bright_ahead ? low : high, bright = s->bright_ahead ? high : low;
        for (int k = 0; k < n; k++) {
            double d = (start + k - at) * s->stretch * (s->bright_ahead ? 1 : -1);
            int bin = (int)floor(d * 5) + SW_ESF_BINS / 2;
            if (bin >= 0 && bin < SW_ESF_BINS) {
                esf->sum[bin] += (v[k] - dark) / (bright - dark);
                esf->count[bin]++;
            }
        }
        esf->dark += s->dark[i];
        esf->bright += s->bright[i];
        esf->weight++;
    }
}

int sw_sides_read(const sw_photo *photo, const sw_response *response, const sw_point *corners, bool outward_bright,
                  double reach_px, sw_rim_square *rim, sw_esf *esf)
{
    memset(rim, 0, sizeof *rim);
    sw_point inside = {0, 0};
    for (int i = 0; i < 4; i++) {
        inside.x += corners[i].x / 4;
        inside.y += corners[i].y / 4;
    }
    int good = 0;
    double scatters = 0, dark = 0, bright = 0, n = 0;
    for (int which = 0; which < 4; which++)
        rim->width_px[which] = NAN;
    for (int which = 0; which < 4; which++) {
        side s = {0};
        if (!lay_side(corners[which], corners[(which + 1) % 4], inside, outward_bright, reach_px, &s))
            continue;
        sw_soften soften =
            sw_soften_make(response ? response->sharpen : 0, response ? response->radius_px / s.stretch : 1);
        read_places(photo, &soften, &s);
        double offset = 0, slope = 0, scatter = straighten(&s, &offset, &slope);
        if (!isnan(scatter)) {
            group_points(&s, which, rim);
            if (esf) {
                sw_esf mine = {{0}, {0}, 0, 0, 0};
                collect(photo, &s, offset, slope, &mine);
                rim->width_px[which] = sw_edge_width(&mine);
                sw_esf_add(&mine, esf);
            }
            for (int i = 0; i < s.count; i++)
                if (!isnan(s.at[i])) {
                    dark += s.dark[i];
                    bright += s.bright[i];
                    n++;
                }
            scatters += scatter * scatter;
            good++;
        }
        free(s.at);
    }
    rim->dark = n > 0 ? dark / n : NAN;
    rim->bright = n > 0 ? bright / n : NAN;
    rim->scatter_px = good ? sqrt(scatters / good) : NAN;
    return good;
}

sw_status sw_sides_corners(const sw_rim_square *rim, sw_point *corners)
{
    sw_line lines[4];
    for (int which = 0; which < 4; which++) {
        sw_point points[SW_SIDE_POINTS];
        for (int i = 0; i < rim->counts[which]; i++)
            points[i] = rim->points[which][i].px;
        if (rim->counts[which] < 3 || sw_line_fit(points, NULL, (size_t)rim->counts[which], &lines[which], NULL))
            return SW_NOT_FOUND;
    }
    for (int c = 0; c < 4; c++)
        if (sw_line_cross(&lines[(c + 3) % 4], &lines[c], &corners[c]))
            return SW_NOT_FOUND;
    return SW_OK;
}
