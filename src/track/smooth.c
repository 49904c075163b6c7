#include "track/smooth.h"

#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"

/* A station of less weight than this, 0.3 mm off the running median, is another line's. */
static const double LOST = 0.05;
/* Bandwidth (one standard deviation of the weights) of the smoothing along the rim, mm. Sanded edges keep their line
 * over several centimetres; stations only 1 mm apart share pixels, noise and patches of light. */
static const double BANDWIDTH_MM = 9;

/* Robust local parabola at `at`: weighted by distance and by how far each station stood off in the round before. */
typedef struct parabola {
    double value, sum_w2; /* smoothed value; sum of the squares of its weights */
} parabola;

/* Stations are evenly spaced, so the distance's weight comes from a table: kernel[k] is that of the k-th neighbour. */
static parabola fit_local(const sw_track *t, int rim, const double *weight, const double *kernel, int half, int i)
{
    double s[5] = {0}, s2[5] = {0}, y[3] = {0}, at = t->points[i].at_mm, per = 1 / BANDWIDTH_MM;
    int from = i - half < 0 ? 0 : i - half, to = i + half >= t->count ? t->count - 1 : i + half;
    for (int k = from; k <= to; k++) {
        double w = weight[k] * kernel[abs(k - i)];
        if (!(w > 0))
            continue;
        double x = (t->points[k].at_mm - at) * per, x2 = x * x, wx = w * x, wx2 = w * x2, v = t->points[k].raw[rim];
        s[0] += w;
        s[1] += wx;
        s[2] += wx2;
        s[3] += wx2 * x;
        s[4] += wx2 * x2;
        s2[0] += w * w;
        s2[1] += w * wx;
        s2[2] += wx * wx;
        s2[3] += wx * wx2;
        s2[4] += wx2 * wx2;
        y[0] += w * v;
        y[1] += wx * v;
        y[2] += wx2 * v;
    }
    double s0 = s[0], s1 = s[1], s11 = s[2] + 1e-9 * s0, s12 = s[3];
    double s22 = s[4] + 0.02 * s0; /* a little ridge on the bend: towards a straight line where little is seen */
    /* First row of the inverse of the matrix of sums. */
    double c0 = s11 * s22 - s12 * s12, c1 = s[2] * s12 - s1 * s22, c2 = s1 * s12 - s11 * s[2],
           det = s0 * c0 + s1 * c1 + s[2] * c2;
    if (!(fabs(det) > 0))
        return (parabola){NAN, NAN};
    double r[3] = {c0 / det, c1 / det, c2 / det};
    parabola out = {r[0] * y[0] + r[1] * y[1] + r[2] * y[2], 0};
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            out.sum_w2 += r[a] * s2[a + b] * r[b];
    return out;
}

/* The smoothed rim and, in spread, its variance over that of a station. Where the stations are denser than needed, the
 * local fits are made at every few stations only and interpolated. */
static void fit_rim(sw_track *t, int rim, const double *weight, const double *kernel, int half, double *spread)
{
    int every = (int)fmax(1, floor(BANDWIDTH_MM / 3 / sw_track_step(t))), last = t->count - 1;
    sw_track_point *p = t->points;
    for (int i = 0, before = 0; before < last || i == 0; before = i, i = i + every > last ? last : i + every) {
        parabola l = fit_local(t, rim, weight, kernel, half, i);
        p[i].across[rim] = l.value;
        spread[i] = l.sum_w2;
        for (int k = before + 1; k < i; k++) {
            double part = (p[k].at_mm - p[before].at_mm) / (p[i].at_mm - p[before].at_mm);
            p[k].across[rim] = (1 - part) * p[before].across[rim] + part * l.value;
            spread[k] = (1 - part) * spread[before] + part * l.sum_w2;
        }
    }
}

/* work holds 3 count + 4 numbers. */
static void smooth(sw_track *t, int rim, double *weight, double *work)
{
    double *rest = work, *spread = rest + t->count, *kernel = spread + t->count, step = sw_track_step(t), scatter = 0;
    size_t n = 0;
    int half = (int)fmin(t->count, ceil(2.6 * BANDWIDTH_MM / step));
    for (int k = 0; k <= half; k++)
        kernel[k] = exp(-0.5 * (k * step / BANDWIDTH_MM) * (k * step / BANDWIDTH_MM));
    for (int round = 0; t->count && round < 3; round++) {
        n = 0;
        fit_rim(t, rim, weight, kernel, half, spread);
        for (int i = 0; i < t->count; i++)
            if (weight[i] > 0)
                rest[n++] = t->points[i].raw[rim] - t->points[i].across[rim];
        scatter = n > 8 ? sw_mad_sigma(rest, n, 0) : NAN;
        for (int i = 0; i < t->count; i++) {
            const sw_track_point *p = &t->points[i];
            double r = (p->raw[rim] - p->across[rim]) / (3 * fmax(scatter, 0.005));
            weight[i] = weight[i] > 0 && isfinite(r) ? 1 / (1 + r * r * r * r) : 0;
        }
    }
    t->scatter_mm[rim] = scatter;
    t->rim_freedom[rim] = SW_MAD_FREEDOM * (double)n;
    for (int i = 0; i < t->count; i++) {
        double own = t->points[i].rim_noise_mm[rim], share = sqrt(fmax(0, spread[i]));
        t->points[i].rim_random_mm[rim] = scatter * share;
        t->points[i].rim_noise_mm[rim] = fmin(own, scatter) * share;
    }
}

/* First weights: none in chips, at the ends (the smoothed rim is carried on from further in) and where nothing was
 * read; little where a station stands far off the running median. weight may be baseline itself. */
static void start_weights(const sw_track *t, int rim, const double *baseline, double *weight)
{
    double last = t->count ? t->points[t->count - 1].at_mm : 0;
    for (int i = 0; i < t->count; i++) {
        const sw_track_point *p = &t->points[i];
        double r = (p->raw[rim] - baseline[i]) / 0.15; /* mm: more than any edge strays within a running median */
        bool good =
            p->seen && isfinite(r) && !p->chip[rim] && p->at_mm > SW_SEAM_END_MM && p->at_mm < last - SW_SEAM_END_MM;
        weight[i] = good ? 1 / (1 + r * r * r * r) : 0;
        if (weight[i] < LOST)
            weight[i] = 0; /* or it would come back once the smooth rim has bent its way */
    }
}

void sw_rim_smooth(sw_track *t, int rim, double *baseline, double *work)
{
    start_weights(t, rim, baseline, baseline);
    smooth(t, rim, baseline, work);
}
