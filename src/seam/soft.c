/* soft.c - how soft a dark line is, from its area and depth.
 *
 * A slot of width g and darkness d (share of the tops' light that it lacks inside) blurred by s lacks the area g d in all, whatever s, and at its
 * darkest d where g >> s, g d / (s sqrt(2 pi)) where g << s. In between (area / depth)^2 is about g^2 + 2 pi s^2. With d from where the seam
 * is darkest, g is area / d, and what is left over is the blur. A d that is too small, as of narrow seams, makes g too large and the blur too
 * small: then less is found out, not more. */
#include "seam/soft.h"

#include <math.h>
#include <stdlib.h>

#include "maths/running.h"
#include "maths/stats.h"

/* Softer than the cards by this variance, px^2 and shares of the cards' own: photos whose cards differ by more than a third are refused, a drop
 * on the lens makes 8 px^2 or more. */
static const double SOFTER_PX2 = 1.2, SOFTER_SHARE = 1.5;
/* Lines lacking less area (px) or depth (share of the light) tell nothing of it. */
static const double AREA_LEAST_PX = 0.4, DEPTH_LEAST = 0.035;
/* The seam's darkness: this quantile of its stations' depth. */
static const double DARK_QUANTILE = 0.8;
/* A narrow line, px of area, never shows how dark its slot is: at least this. */
static const double NARROW_PX = 1.5, NARROW_DARK = 0.5;
/* Stations are taken together over so much, mm to either side; what is next to a soft stretch goes with it, mm. */
static const double TOGETHER_MM = 4, MARGIN_MM = 8;
/* Chips are wide and lit, which looks soft, but shorter than this, mm. */
static const double CHIP_LONG_MM = 25;
/* Seam ends show the crossing seam, mm. */
static const double END_MM = 8;

static void read_stations(const sw_trace *t, const sw_seam_reading *w, int ends, double *area, double *depth)
{
    for (int i = 0; i < t->count; i++) {
        const sw_rough *a = &w->roughs[i];
        bool read = t->places[i].seen && i >= ends && i < t->count - ends;
        area[i] = read ? a->lacks * t->stretch : NAN;
        depth[i] = read ? 1 - a->dark / fmin(a->low, a->high) : NAN;
    }
}

static double darkness_of(const double *depth, int count, double *work)
{
    size_t n = 0;
    for (int i = 0; i < count; i++)
        if (isfinite(depth[i]))
            work[n++] = depth[i];
    return n > 0 ? sw_quantile(work, n, DARK_QUANTILE) : NAN;
}

static bool is_soft(double area, double depth, double darkness, double blur_px)
{
    if (!(area > AREA_LEAST_PX && depth > DEPTH_LEAST && darkness > 0))
        return false;
    double wide = area / depth, gap = area / (area < NARROW_PX ? fmax(darkness, NARROW_DARK) : darkness);
    double variance = (wide * wide - gap * gap) / (2 * M_PI);
    return variance > (1 + SOFTER_SHARE) * blur_px * blur_px + SOFTER_PX2;
}

/* A soft station, what is next to it, and on either side what lies on from there as long as the line is no deeper: where it is softer still, nothing of
 * it is left to be told. */
static void take_out(sw_trace *t, int station, int margin, const double *depth)
{
    for (int way = -1; way <= 1; way += 2)
        for (int k = station; k >= 0 && k < t->count; k += way) {
            sw_trace_place *p = &t->places[k];
            bool deeper = depth[k] > depth[station] && abs(k - station) > margin;
            if (deeper)
                break;
            p->soft |= p->seen;
            p->seen = false;
        }
}

sw_status sw_soft_judge(const sw_scale *scale, sw_trace *t, const sw_seam_reading *w)
{
    size_t n = (size_t)t->count;
    double *area = malloc(4 * n * sizeof *area), *depth = area + n, *steady = depth + n, *work = steady + n;
    if (!area)
        return SW_NO_MEMORY;
    double mm =
        t->count > 1 ? fabs(t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) / t->px_per_mm : 1;
    int half = (int)fmax(1, round(TOGETHER_MM / mm)), margin = (int)ceil(MARGIN_MM / mm);
    read_stations(t, w, (int)ceil(END_MM / mm), area, depth);
    double darkness = darkness_of(depth, t->count, work);
    sw_running_median(area, t->count, half, 1, 1, steady);
    sw_running_median(depth, t->count, half, 1, 1, work);
    for (int i = 0, end; i < t->count; i = end + 1) {
        for (end = i; end < t->count && is_soft(steady[end], work[end], darkness, scale->blur_px);)
            end++;
        for (int k = i; k < end && (end - i) * mm > CHIP_LONG_MM; k++)
            take_out(t, k, margin, work);
    }
    free(area);
    return SW_OK;
}
