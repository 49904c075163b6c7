/* corner_shape.c - corners against the edges beside them.
 *
 * Let u and v be the distances from a corner's two sides, + inwards. A blur whose kernel is a Gaussian of covariance s^2 (1, r; r, 1) along
 * them makes P(u, v) of it, the bivariate normal distribution: at the corner itself 1/4 + asin(r) / 2 pi, and d P / d r at r = 0 is
 * exp(-(u^2 + v^2) / 2 s^2) / 2 pi. The four corners of a square see r with both signs in turn, so a mean over them holds none of it: 1/4, whatever
 * the kernel, as the four quadrants about a point make up a whole. Tone curve and sharpening come after (develop.h) and are modelled on a grid. A
 * median filter, which gives a pixel what most of its neighbours have, gives a corner to its surroundings: edges stay as they are, corners get
 * round, and a line narrower than half the filter is wiped out. */
#include "scale/corner_shape.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"
#include "scale/develop.h"

/* Grid of the modelled corner: steps a px, and half its side, px: a patch's half diagonal and the sharpening's reach. */
enum { STEPS = 4, HALF_PX = 14, GRID = 2 * HALF_PX * STEPS + 1, TAPS_MOST = 60 };
/* Half side of the patch that is looked at, px, and the least of it; levels lie beyond LEVEL_PX from both sides. */
enum { PATCH_MOST = 8, PATCH_LEAST = 6, PATCH_PIXELS = (2 * PATCH_MOST + 1) * (2 * PATCH_MOST + 1), LEVEL_PX = 4 };
/* Share of a frame's band that is as even as its corner. */
static const double PATCH_SHARE = 0.42;
/* Size of what rounds a corner, px: filters 3 to 9 px wide. */
static const double ROUND_PX = 1.2;
/* Step of the derivatives: share of the blur, of the correlation, of the corner. */
static const double DERIVE = 0.05;
/* A patch off its model by more than this share of the step, RMS, shows something else: 0.01 to 0.06 with noise of 7 levels. */
static const double MISFIT_MOST = 0.15;

/* What is fitted of a corner: how far its sides are off, its blur, rounding or correlation. */
enum { BY_U, BY_V, BY_BLUR, BY_ROUNDING, BY_SLANT, TABLES = 3, NUMBERS = 4 };

typedef struct model {
    double corner[GRID * GRID];     /* 0 outside to 1 inside, stored values; u is the row, v the column */
    double by[TABLES][GRID * GRID]; /* its change with blur, rounding and correlation */
} model;

static void smooth(double *grid, double sigma_px, double *work)
{
    double taps[TAPS_MOST + 1], sum = 0;
    int reach = (int)fmin(TAPS_MOST, ceil(3.5 * sigma_px * STEPS));
    for (int k = 0; k <= reach; k++) {
        taps[k] = exp(-0.5 * k * k / (sigma_px * sigma_px * STEPS * STEPS));
        sum += k ? 2 * taps[k] : taps[k];
    }
    for (int way = 0; way < 2; way++) { /* rows, turned into columns each time */
        memcpy(work, grid, sizeof(double) * GRID * GRID);
        for (int i = 0; i < GRID; i++)
            for (int j = 0; j < GRID; j++) {
                double value = taps[0] * work[i * GRID + j];
                for (int k = 1; k <= reach; k++)
                    value += taps[k] * (work[i * GRID + (j - k < 0 ? 0 : j - k)] +
                                        work[i * GRID + (j + k < GRID ? j + k : GRID - 1)]);
                grid[j * GRID + i] = value / sum;
            }
    }
}

/* The corner, stored values from 0 outside to 1 inside; its blur times 1 + blur, with so much of rounding and correlation. */
static void develop(const sw_response *r, double inside, double outside, double blur, double rounding, double slant,
                    double *out, double *work)
{
    double s = r->blur_px * (1 + blur), wide = sw_halo_blur(s), near[GRID], far[GRID];
    for (int i = 0; i < GRID; i++) {
        double x = -(i / (double)STEPS - HALF_PX) / M_SQRT2;
        near[i] = 0.5 * erfc(x / s);
        far[i] = 0.5 * erfc(x / wide);
    }
    for (int i = 0; i < GRID; i++)
        for (int j = 0; j < GRID; j++) {
            double u = i / (double)STEPS - HALF_PX, v = j / (double)STEPS - HALF_PX, rr = u * u + v * v;
            double share = (1 + r->halo) * near[i] * near[j] - r->halo * far[i] * far[j];
            share += slant * exp(-rr / (2 * s * s)) / (2 * M_PI) - rounding * exp(-rr / (2 * ROUND_PX * ROUND_PX));
            out[i * GRID + j] = sw_stored_of(outside + (inside - outside) * share, r->contrast);
        }
    double from = sw_stored_of(outside, r->contrast), to = sw_stored_of(inside, r->contrast);
    if (r->sharpen > 0) {
        double *soft = work + GRID * GRID;
        memcpy(soft, out, sizeof(double) * GRID * GRID);
        smooth(soft, r->radius_px, work);
        for (int i = 0; i < GRID * GRID; i++)
            out[i] = fmin(fmax(out[i] + r->sharpen * (out[i] - soft[i]), 0), 1);
    }
    if (r->soften_px > 0)
        smooth(out, r->soften_px, work);
    for (int i = 0; i < GRID * GRID; i++)
        out[i] = (out[i] - from) / (to - from);
}

static void make(const sw_response *r, double inside, double outside, model *m, double *work)
{
    develop(r, inside, outside, 0, 0, 0, m->corner, work);
    for (int k = 0; k < TABLES; k++) {
        develop(r, inside, outside, k == 0 ? DERIVE : 0, k == 1 ? DERIVE : 0, k == 2 ? DERIVE : 0, m->by[k], work);
        for (int i = 0; i < GRID * GRID; i++)
            m->by[k][i] = (m->by[k][i] - m->corner[i]) / DERIVE;
    }
}

/* Between the grid's points; beyond it its rim goes on. */
static double value_at(const double *grid, double u, double v)
{
    double at[2] = {(u + HALF_PX) * STEPS, (v + HALF_PX) * STEPS};
    int low[2];
    for (int k = 0; k < 2; k++) {
        at[k] = fmin(fmax(at[k], 0), GRID - 1.001);
        low[k] = (int)at[k];
        at[k] -= low[k];
    }
    const double *p = grid + low[0] * GRID + low[1];
    return (1 - at[0]) * ((1 - at[1]) * p[0] + at[1] * p[1]) + at[0] * ((1 - at[1]) * p[GRID] + at[1] * p[GRID + 1]);
}

/* A corner's pixels: distances from both sides and stored values. */
typedef struct patch {
    double u[PATCH_PIXELS], v[PATCH_PIXELS], value[PATCH_PIXELS];
    int count;
} patch;

static sw_point unit(sw_point from, sw_point to)
{
    double l = hypot(to.x - from.x, to.y - from.y);
    return (sw_point){(to.x - from.x) / l, (to.y - from.y) / l};
}

/* Reads a patch about a corner, and brings it to 0 outside, 1 inside. before and after are the corners next to it. False where there is too
 * little to go by. */
static bool read_patch(const sw_photo *photo, sw_point corner, sw_point before, sw_point after, int half, patch *p)
{
    sw_point a = unit(corner, after), b = unit(corner, before);
    double sine = fabs(a.x * b.y - a.y * b.x), cosine = a.x * b.x + a.y * b.y, level[2] = {0, 0}, n[2] = {0, 0};
    int x0 = (int)lround(corner.x), y0 = (int)lround(corner.y);
    p->count = 0;
    if (x0 < half || y0 < half || x0 + half >= photo->width_px || y0 + half >= photo->height_px || sine < 0.5)
        return false;
    for (int y = y0 - half; y <= y0 + half; y++)
        for (int x = x0 - half; x <= x0 + half; x++) {
            double along_a = (x - corner.x) * a.x + (y - corner.y) * a.y,
                   along_b = (x - corner.x) * b.x + (y - corner.y) * b.y;
            double u = (along_b - along_a * cosine) / sine, v = (along_a - along_b * cosine) / sine;
            double value = sw_photo_at(photo, x, y);
            p->u[p->count] = u;
            p->v[p->count] = v;
            p->value[p->count++] = value;
            bool inside = u > LEVEL_PX && v > LEVEL_PX, outside = u < -LEVEL_PX || v < -LEVEL_PX;
            level[inside] += inside || outside ? value : 0;
            n[inside] += inside || outside;
        }
    if (n[0] < 4 || n[1] < 4)
        return false;
    double from = level[0] / n[0], to = level[1] / n[1];
    for (int i = 0; i < p->count; i++)
        p->value[i] = (p->value[i] - from) / (to - from);
    return fabs(to - from) > 1;
}

/* Rounding (which: BY_ROUNDING) or correlation (BY_SLANT) of one corner; NaN where the model does not fit. */
static double fit_corner(const model *m, const patch *p, int which)
{
    double x[PATCH_PIXELS * NUMBERS], y[PATCH_PIXELS], b[NUMBERS], rest;
    const double d = 0.5 / STEPS;
    for (int i = 0; i < p->count; i++) {
        double u = p->u[i], v = p->v[i];
        x[i * NUMBERS + 0] = (value_at(m->corner, u + d, v) - value_at(m->corner, u - d, v)) / (2 * d);
        x[i * NUMBERS + 1] = (value_at(m->corner, u, v + d) - value_at(m->corner, u, v - d)) / (2 * d);
        x[i * NUMBERS + 2] = value_at(m->by[BY_BLUR - BY_BLUR], u, v);
        x[i * NUMBERS + 3] = value_at(m->by[which - BY_BLUR], u, v);
        y[i] = p->value[i] - value_at(m->corner, u, v);
    }
    if (sw_lsq_linear(x, y, NULL, (size_t)p->count, NUMBERS, true, b, NULL, &rest) || !(rest < MISFIT_MOST))
        return NAN;
    return b[NUMBERS - 1];
}

/* What the rims told: each the mean of its four corners, in which a correlation cancels, and their alternating mean, in which rounding does. */
typedef struct told {
    double rounding[2 * SW_SQUARES_MAX], slant[2 * SW_SQUARES_MAX];
    double rounding_scatter, slant_scatter; /* sums of squares of corners about their rim's mean */
    int count;
} told;

static void add_rim(const double rounding[4], const double slant[4], told *t)
{
    static const double way[4] = {1, -1, 1, -1}; /* NW and SE see the correlation as it is */
    double r = 0, s = 0;
    for (int c = 0; c < 4; c++) {
        r += rounding[c] / 4;
        s += way[c] * slant[c] / 4;
    }
    if (!isfinite(r) || !isfinite(s))
        return;
    for (int c = 0; c < 2; c++) { /* opposite corners see the same of both */
        double by_rounding = rounding[c] - rounding[c + 2], by_slant = slant[c] - slant[c + 2];
        t->rounding_scatter += by_rounding * by_rounding / 2;
        t->slant_scatter += by_slant * by_slant / 2;
    }
    t->rounding[t->count] = r;
    t->slant[t->count++] = s;
}

static void read_square(const sw_photo *photo, const sw_sighting *s, const model models[2], told *t)
{
    for (int rim = 0; rim < s->rim_count; rim++) {
        sw_point c[4];
        patch p;
        double rounding[4], slant[4], wide = s->quad.size_px / 4;
        const model *m = &models[(rim == 0) != s->light]; /* the dark one is the inside */
        if (sw_sides_corners(&s->rims[rim], c))
            continue;
        if (rim > 0)
            wide = (s->quad.size_px - hypot(c[1].x - c[0].x, c[1].y - c[0].y)) / 2;
        int half = (int)fmin(PATCH_MOST, PATCH_SHARE * wide);
        for (int k = 0; k < 4; k++) {
            bool read = half >= PATCH_LEAST && read_patch(photo, c[k], c[(k + 3) % 4], c[(k + 1) % 4], half, &p);
            rounding[k] = read ? fit_corner(m, &p, BY_ROUNDING) : NAN;
            slant[k] = read ? fit_corner(m, &p, BY_SLANT) : NAN;
        }
        add_rim(rounding, slant, t);
    }
}

sw_status sw_corner_shape_read(const sw_photo *photo, const sw_response *response, const sw_esf *edge,
                               const sw_sighting *sightings, int count, sw_corner_shape *shape)
{
    double dark = edge->dark / edge->weight, bright = edge->bright / edge->weight;
    model *models = malloc(2 * sizeof *models);
    double *work = malloc(2 * sizeof(double) * GRID * GRID);
    bool room = models && work;
    told t = {.count = 0};
    memset(shape, 0, sizeof *shape);
    if (room) {
        make(response, bright, dark, &models[0], work);
        make(response, dark, bright, &models[1], work);
        for (int i = 0; i < count; i++)
            read_square(photo, &sightings[i], models, &t);
    }
    if (t.count > 0) {
        double pairs = 2 * t.count, corners = 4 * t.count;
        shape->count = t.count;
        shape->rounding = sw_median(t.rounding, (size_t)t.count);
        shape->rounding_u = sqrt(t.rounding_scatter / pairs / corners);
        shape->slant = sw_median(t.slant, (size_t)t.count);
        shape->slant_u = sqrt(t.slant_scatter / pairs / corners);
    }
    free(models);
    free(work);
    return room ? SW_OK : SW_NO_MEMORY;
}
