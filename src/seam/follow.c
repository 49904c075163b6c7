#include "seam/follow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "photo/crossing.h"
#include "seam/widest_gap.h"

/* Farthest the true path may lie from the prediction, mm: the grid's bins and slips. The table's own rim is predicted better, and
 * the edge of its shadow is near. */
static const double REACH_MM = 5, RIM_REACH_MM = 3;
/* Price of a sideways step of one offset, and of standing off the straight prediction by one reach, in evidence (share of the
 * brightness missing, 0 to 1). */
static const double BEND = 0.25, AWAY = 0.02;
/* Evidence below this is noise: texture makes about 0.03. */
static const double LEAST = 0.04;
/* The path may leave the parabola through itself by this much, mm: bow of the tiles, not chips. */
static const double STRAY_MM = 1.2;

enum { OFFSETS_MOST = 2 * 60 + 1 };

/* Offsets per station, in pixels of the crossing. */
typedef struct follow {
    int reach, offsets;
    float *evidence;
    unsigned char *from;
} follow;

static int pixel_of(double v)
{
    return (int)lround(v);
}

/* Light missing against the lesser of the two sides, each side the mean of a few pixels at some distance. */
static double missing(const double *v, int n, int i, int near, int wide)
{
    double here = (v[i - 1] + 2 * v[i] + v[i + 1]) / 4, best = 0;
    for (int d = near; d <= wide; d += near) {
        int a = i - d, b = i + d;
        if (a < 1 || b > n - 2)
            break;
        double left = (v[a - 1] + v[a] + v[a + 1]) / 3, right = (v[b - 1] + v[b] + v[b + 1]) / 3;
        double side = fmin(left, right);
        if (side > 0)
            best = fmax(best, (side - here) / side);
    }
    return best;
}

static double step_at(const double *v, int i)
{
    double a = (v[i - 2] + v[i - 3] + v[i - 4]) / 3, b = (v[i + 2] + v[i + 3] + v[i + 4]) / 3;
    return fabs(b - a) / fmax(1e-3, fmax(a, b));
}

static int read_evidence(const sw_photo *photo, const sw_trace *t, int i, follow *f)
{
    enum { PAD = 24 };
    sw_soften none = sw_soften_make(0, 1);
    double v[OFFSETS_MOST + 2 * PAD];
    int n = f->offsets + 2 * PAD, start = pixel_of(t->places[i].path_px) - f->reach - PAD,
        line = pixel_of(t->places[i].line);
    float *evidence = f->evidence + (size_t)i * (size_t)f->offsets;
    if (!t->places[i].seen)
        return 0;
    int missed = sw_crossing_read(photo, &none, t->along_row, line, start, n, v);
    int near = pixel_of(fmax(2.5, 0.8 * t->px_per_mm)),
        wide = pixel_of(fmin(PAD - 2, SW_FOLLOWED_GAP_MM * t->px_per_mm));
    for (int k = 0; k < f->offsets; k++) {
        double e = t->kind == SW_TRACE_SEAM ? missing(v, n, k + PAD, near, wide) : step_at(v, k + PAD);
        evidence[k] = (float)(e > LEAST ? fmin(e, 0.8) : 0);
    }
    return missed;
}

/* Best path; fills places[].path_px with it (whole pixels about the prediction). */
static void best_path(sw_trace *t, follow *f, double *offset)
{
    float now[OFFSETS_MOST], next[OFFSETS_MOST];
    memset(now, 0, sizeof now);
    for (int i = 0; i < t->count; i++) {
        const float *e = f->evidence + (size_t)i * (size_t)f->offsets;
        unsigned char *from = f->from + (size_t)i * (size_t)f->offsets;
        for (int k = 0; k < f->offsets; k++) {
            float best = now[k];
            from[k] = 1;
            if (k > 0 && now[k - 1] - (float)BEND > best) {
                best = now[k - 1] - (float)BEND;
                from[k] = 0;
            }
            if (k + 1 < f->offsets && now[k + 1] - (float)BEND > best) {
                best = now[k + 1] - (float)BEND;
                from[k] = 2;
            }
            next[k] = best + e[k] - (float)(AWAY * abs(k - f->reach) / f->reach);
        }
        memcpy(now, next, sizeof now);
    }
    int k = f->reach;
    for (int j = 0; j < f->offsets; j++)
        if (now[j] > now[k])
            k = j;
    for (int i = t->count - 1; i >= 0; i--) {
        offset[i] = k - f->reach;
        k += f->from[(size_t)i * (size_t)f->offsets + (size_t)k] - 1;
    }
}

/* Parabola through the offsets, fitted robustly (weights 1 / (1 + (r / scale)^2)); weight 0 where nothing is seen. */
static void fit_parabola(const double *x, const double *y, const double *weight, int n, double scale, double c[3])
{
    c[0] = c[1] = c[2] = 0;
    for (int round = 0; round < 6; round++) {
        /* a ridge keeps it regular where little is seen */
        double a[9] = {1e-9, 0, 0, 0, 1e-9, 0, 0, 0, 1e-9 + 1e-3}, side[3] = {0};
        for (int i = 0; i < n; i++) {
            double r = (y[i] - c[0] - c[1] * x[i] - c[2] * x[i] * x[i]) / scale;
            double k = weight[i] * (round ? 1 / (1 + r * r) : 1), p[3] = {1, x[i], x[i] * x[i]};
            for (int l = 0; l < 3; l++) {
                for (int m = 0; m < 3; m++)
                    a[3 * l + m] += k * p[l] * p[m];
                side[l] += k * p[l] * y[i];
            }
        }
        if (sw_cholesky_solve(a, side, 3))
            return;
        memcpy(c, side, sizeof side);
    }
}

/* Offsets that stray from their common parabola, or rest on no evidence, are put on it. */
static sw_status settle_path(sw_trace *t, const follow *f, double *offset)
{
    double *x = malloc((size_t)t->count * 2 * sizeof *x), c[3];
    if (!x)
        return SW_NO_MEMORY;
    double *weight = x + t->count;
    for (int i = 0; i < t->count; i++) {
        double e = f->evidence[(size_t)i * (size_t)f->offsets + (size_t)(offset[i] + f->reach)];
        x[i] = 2.0 * i / t->count - 1;
        weight[i] = t->places[i].seen ? 0.01 + e : 0;
    }
    fit_parabola(x, offset, weight, t->count, fmax(1, 0.4 * t->px_per_mm), c);
    for (int i = 0; i < t->count; i++) {
        double line = c[0] + c[1] * x[i] + c[2] * x[i] * x[i];
        if (weight[i] < 0.01 + LEAST || fabs(offset[i] - line) > STRAY_MM * t->px_per_mm)
            offset[i] = line;
        t->places[i].path_px = pixel_of(t->places[i].path_px) + offset[i];
    }
    free(x);
    return SW_OK;
}

sw_status sw_trace_follow(const sw_photo *photo, sw_trace *t, sw_error *err)
{
    follow f = {0};
    sw_status status = SW_NO_MEMORY;
    f.reach = pixel_of(
        fmin((OFFSETS_MOST - 1) / 2, fmax(6, (t->kind == SW_TRACE_SEAM ? REACH_MM : RIM_REACH_MM) * t->px_per_mm)));
    f.offsets = 2 * f.reach + 1;
    size_t cells = (size_t)t->count * (size_t)f.offsets;
    f.evidence = calloc(cells, sizeof *f.evidence);
    f.from = malloc(cells);
    double *offset = malloc((size_t)t->count * sizeof *offset);
    if (!f.evidence || !f.from || !offset)
        goto done;
    for (int i = 0; i < t->count; i++)
        if (read_evidence(photo, t, i, &f) > f.offsets)
            t->places[i].seen = false;
    best_path(t, &f, offset);
    if (settle_path(t, &f, offset))
        goto done;
    status = SW_OK;
done:
    free(f.evidence);
    free(f.from);
    free(offset);
    return status ? sw_fail(err, status, "%s: not enough memory for the seams", photo->file) : SW_OK;
}
