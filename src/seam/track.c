#include "seam/track.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "seam/window.h"

/* A chip is short (the trade fills anything under about 25 mm) and sticks out of the rim's own run by more than this:
 * below it sanding marks and texture cannot be told from it. */
static const double CHIP_LEAST_MM = 0.4, CHIP_SIGMAS = 6, CHIP_LONGEST_MM = 32, CHIP_SHORTEST_MM = 3.5;
/* A chip is dark all through; a pencil line beside the seam has bright tile behind it, which the reading cannot fit. */
static const double CHIP_MISFIT = 6, CHIP_DARK = 0.39, CHIP_DEEP = 0.6;
/* Where a chip has come down to this, it ends. */
static const double CHIP_END_MM = 0.12;
/* A station of less weight than this, 0.3 mm off the running median, is another line's. */
static const double LOST = 0.05;
/* Half length of the running median that chips are measured from, mm: longer than a chip, short against a tile. */
static const double BASELINE_MM = 28;
/* Bandwidth (one standard deviation of the weights) of the smoothing along the rim, mm. Sanded edges keep their line
 * over several centimetres; stations only 1 mm apart share pixels, noise and patches of light. */
static const double BANDWIDTH_MM = 9;
/* A picture sharper than this is sampled too coarsely to be read between the pixels: what is lost, px a rim for each px
 * short. */
static const double FINE_BLUR_PX = 0.5, COARSE = 0.5;
/* Light in the slot wanders over longer stretches than the scatter about the smoothed rim can show; factor on a rim's
 * random part (found on practice photos whose truth is known). */
static const double LONG_WAVES = 1.6;
/* Degrees of freedom of a standard deviation from the median absolute deviation, for each value: its efficiency on
 * normal samples (Rousseeuw and Croux 1993; from memory: 36.7 %). */
static const double MAD_FREEDOM = 0.367;
/* What the light model leaves open beyond its own covariance: the model is not the world. Factor on its standard
 * deviations, and a floor for one rim, px (found on practice photos whose truth is known). */
static const double MODEL_FACTOR = 1, MODEL_FLOOR_PX = 0.047;

/* How far an edge spread of the photo's own doing (exposure, tone curve) reaches, shares of the blur; a frame card that shows more
 * was printed with ink that ran, or is not as large as its sides were said to be, and gaps know nothing of that. (A tone curve
 * of exponent 0.8 makes 0.15.) */
static const double SPREAD_MOST_BLURS = 0.2;
/* A slot this many blurs wide feels the whole shift of a rim that comes with processing, a narrow one none of it: for small
 * differences of brightness any tone curve is straight. Modelled slots follow 1 - exp(-(width / (this blur))^2) within 0.1. */
static const double SHIFT_BLURS = 1.9;
/* Standard uncertainty of a height the user gives, mm: tiles measured with a ruler to 0.2 mm, or of foam that gives way
 * to the caliper. Common practice, no source. */
static const double HEIGHT_U_MM = 0.1;
/* The light model of a slot (slot.h) knows no wall that stands free above the lower top: where the far tile is the
 * higher one, the gap reads wrong by up to 0.4 px on two generated photos with steps of 6 and 10 mm, and by up to 0.75
 * px in drawings with known gaps of 1 to 3 mm (tests/unit/test_heights.c). Where it is the near one, the shade behind
 * the gap does less, up to 0.3 px on these. Standard uncertainties, px. */
static const double FREE_WALL_U_PX = 0.4, SHADE_U_PX = 0.2;

static sw_point to_frame(const sw_track *t, sw_point mm)
{
    double x = mm.x - t->origin.x, y = mm.y - t->origin.y;
    return (sw_point){x * t->u.x + y * t->u.y, x * t->n.x + y * t->n.y};
}

static void set_frame(const sw_grid_side *side, sw_track *t)
{
    double dx = side->to.x - side->from.x, dy = side->to.y - side->from.y, l = hypot(dx, dy);
    t->origin = side->from;
    t->u = (sw_point){dx / l, dy / l};
    t->n = (sw_point){-t->u.y, t->u.x}; /* turned left: east of a line that runs south, north of one that runs east */
    if (fabs(dx) > fabs(dy))
        t->n = (sw_point){t->u.y, -t->u.x};
}

/* Variance of the gap from the seam's shared light. */
static double shared_variance(const sw_trace *trace, const sw_place *p)
{
    double sum = 0;
    for (int a = 0; a < SW_LIGHT_NUMBERS; a++)
        for (int b = 0; b < SW_LIGHT_NUMBERS; b++)
            sum += p->width_by[a] * trace->light_covariance[a][b] * p->width_by[b];
    return fmax(0, sum) + p->doubt_px * p->doubt_px;
}

/* How far the rim at the low or high side stands nearer to the slot's middle than it reads, px along the crossing. */
static double shift_px(const sw_trace *trace, const sw_scale *scale, const sw_place *p, int high)
{
    if (trace->kind == SW_TRACE_SEAM) {
        double blurs = (p->rim_high_px - p->rim_low_px) * trace->stretch / (SHIFT_BLURS * scale->blur_px);
        return (blurs > 0 ? scale->rim_shift_px * (1 - exp(-blurs * blurs)) : 0) / trace->stretch;
    }
    double top = high ? p->high : p->low, floor = high ? p->low : p->high; /* a lighter floor shifts the other way */
    return top > floor ? scale->rim_shift_px * (1 - floor / top) / trace->stretch : 0;
}

/* The scale on the level of either rim, and the camera over the mm frame's plane. */
typedef struct levels {
    const sw_scale *scale[2];
    double camera[3];
} levels;

/* Tangent of the view angle across the track: + where the second rim is the far one. */
static double tangent_at(const levels *l, const sw_track *t, sw_point mm)
{
    return ((mm.x - l->camera[0]) * t->n.x + (mm.y - l->camera[1]) * t->n.y) / l->camera[2];
}

/* What a step of the tops adds to a station's uncertainty: the light at the step, and the heights' own with the camera's
 * that it is seen from. */
static void add_step(const levels *l, double px_per_mm, const sw_track *t, sw_track_point *p)
{
    double tangent = tangent_at(l, t, (sw_point){t->origin.x + p->at_mm * t->u.x, t->origin.y + p->at_mm * t->u.y});
    double step = t->rise_mm[SW_SECOND] - t->rise_mm[SW_FIRST], variance = 0;
    p->model_mm = hypot(p->model_mm, (step * tangent > 0 ? FREE_WALL_U_PX : SHADE_U_PX) / px_per_mm);
    for (int rim = 0; rim < 2; rim++)
        if (t->rise_mm[rim] != 0)
            variance += HEIGHT_U_MM * tangent * HEIGHT_U_MM * tangent;
    p->height_mm = sqrt(variance + pow(step * tangent * l->scale[0]->focal_u_rel, 2));
}

static void load_point(const sw_trace *trace, const levels *l, const sw_place *p, sw_track *t, sw_track_point *out)
{
    const sw_scale *scale = l->scale[0];
    double at_sum = 0, found = 0;
    out->seen = p->seen;
    out->dark = p->dark;
    out->misfit = trace->noise > 0 ? p->rms / trace->noise : 1;
    for (int rim = 0; rim < 2; rim++) {
        int high = (rim == SW_SECOND) != trace->reversed;
        double px = high ? p->rim_high_px : p->rim_low_px;
        out->raw[rim] = out->across[rim] = NAN;
        if (!t->has[rim] || !p->seen || !isfinite(px))
            continue;
        px += (high ? -1 : 1) * shift_px(trace, scale, p, high);
        sw_point place = trace->along_row ? (sw_point){px, p->line} : (sw_point){p->line, px};
        sw_point in = to_frame(t, sw_scale_to_mm(l->scale[rim], place));
        at_sum += in.x;
        out->raw[rim] = in.y;
        out->rim_random_mm[rim] = (high ? p->sd_high_px : p->sd_low_px) / trace->px_per_mm;
        out->rim_noise_mm[rim] = out->rim_random_mm[rim];
        found++;
    }
    if (found > 0) {
        out->at_mm = at_sum / found;
        out->random_mm = sqrt(fmax(0, p->sd_low_px * p->sd_low_px + p->sd_high_px * p->sd_high_px - 2 * p->cov_px2)) /
                         trace->px_per_mm;
        out->noise_mm = out->random_mm;
        out->light_mm = MODEL_FACTOR * sqrt(shared_variance(trace, p)) / trace->px_per_mm;
        out->model_mm = M_SQRT2 * MODEL_FLOOR_PX / trace->px_per_mm; /* two rims */
        out->pixels_mm = M_SQRT2 * fmax(0, COARSE * (FINE_BLUR_PX - scale->blur_px)) / trace->px_per_mm;
        double spread = fmin(fabs(scale->edge_spread_px), SPREAD_MOST_BLURS * scale->blur_px);
        out->spread_mm = hypot(spread, 2 * scale->rim_shift_u_px) / trace->px_per_mm;
        if (found > 1 && t->rise_mm[SW_FIRST] != t->rise_mm[SW_SECOND])
            add_step(l, trace->px_per_mm, t, out);
        out->systematic_mm =
            sqrt(out->light_mm * out->light_mm + out->model_mm * out->model_mm + out->pixels_mm * out->pixels_mm +
                 out->spread_mm * out->spread_mm + out->height_mm * out->height_mm);
        return;
    }
    sw_point place = trace->along_row ? (sw_point){p->path_px, p->line} : (sw_point){p->line, p->path_px};
    out->at_mm = to_frame(t, sw_scale_to_mm(scale, place)).x;
    out->seen = 0;
}

static int load(const sw_trace *trace, const sw_scale *scale, sw_track *t)
{
    sw_scale lifted[2];
    levels l = {.scale = {scale, scale}};
    int no_camera = sw_camera_place(scale, l.camera);
    for (int rim = 0; rim < 2; rim++)
        if (t->has[rim] && t->rise_mm[rim] != 0 && (no_camera || sw_scale_lift(scale, t->rise_mm[rim], &lifted[rim])))
            return -1;
        else if (t->has[rim] && t->rise_mm[rim] != 0)
            l.scale[rim] = &lifted[rim];
    t->count = trace->count;
    t->points = calloc((size_t)trace->count + 1, sizeof *t->points);
    if (!t->points)
        return -1;
    for (int i = 0; i < trace->count; i++)
        load_point(trace, &l, &trace->places[i], t, &t->points[i]);
    if (t->count > 1 && t->points[0].at_mm > t->points[t->count - 1].at_mm)
        for (int i = 0, j = t->count - 1; i < j; i++, j--) {
            sw_track_point swap = t->points[i];
            t->points[i] = t->points[j];
            t->points[j] = swap;
        }
    return 0;
}

/* How far the rim stands back from its baseline: + where material is missing. */
static double shy(const sw_track *t, int i, int rim, double baseline)
{
    double d = t->points[i].raw[rim] - baseline;
    return rim == SW_FIRST ? -d : d;
}

/* Running median of a rim; near the ends the window is cut, but still looks at a run longer than a chip. Where stations
 * are dense, every few of them only. */
static void baseline_of(const sw_track *t, int rim, int half, double *out)
{
    enum { ENOUGH = 200 };
    int every = 2 * half / ENOUGH + 1;
    sw_window w = {0};
    half = half / every * every;
    for (int i = -half; i < t->count; i++) {
        int in = i + half, out_of = i - half - every;
        if (in % every == 0 && in < t->count)
            sw_window_put(&w, t->points[in].chip[rim] ? NAN : t->points[in].raw[rim]);
        if (out_of >= 0 && out_of % every == 0)
            sw_window_take(&w, t->points[out_of].chip[rim] ? NAN : t->points[out_of].raw[rim]);
        if (i >= 0)
            out[i] = w.count > 4 ? sw_window_median(&w) : NAN;
    }
}

static int add_chip(sw_track *t, sw_track_chip chip)
{
    sw_track_chip *chips = realloc(t->chips, (size_t)(t->chip_count + 1) * sizeof *chips);
    if (!chips)
        return -1;
    t->chips = chips;
    t->chips[t->chip_count++] = chip;
    return 0;
}

/* Looks for chips of one rim: runs that stand back, short enough, and coming back to the baseline on both sides. */
static int find_chips(sw_track *t, int rim, const double *baseline, double scatter)
{
    double least = fmax(CHIP_LEAST_MM, CHIP_SIGMAS * scatter);
    for (int i = 1; i < t->count - 1; i++) {
        if (!isfinite(baseline[i]) || !(shy(t, i, rim, baseline[i]) > least) || t->points[i].chip[rim])
            continue;
        int from = i, to = i;
        double end = fmax(CHIP_END_MM, 2 * scatter), depth = 0;
        while (from > 0 && shy(t, from - 1, rim, baseline[from - 1]) > end)
            from--;
        while (to + 1 < t->count && shy(t, to + 1, rim, baseline[to + 1]) > end)
            to++;
        for (int k = from; k <= to; k++)
            depth = fmax(depth, shy(t, k, rim, baseline[k]));
        double length = t->points[to].at_mm - t->points[from].at_mm, misfit = 0, dark = 0, deep = 0;
        for (int k = from; k <= to; k++) {
            misfit += t->points[k].misfit / (to - from + 1);
            if (shy(t, k, rim, baseline[k]) > CHIP_DEEP * depth) {
                dark += t->points[k].dark;
                deep++;
            }
        }
        if (length <= CHIP_LONGEST_MM && length >= CHIP_SHORTEST_MM && misfit < CHIP_MISFIT &&
            dark < CHIP_DARK * deep && from > 1 && to < t->count - 2) {
            for (int k = from - 1; k <= to + 1; k++)
                t->points[k].chip[rim] = 1;
            if (add_chip(t, (sw_track_chip){rim, (t->points[from].at_mm + t->points[to].at_mm) / 2, length, depth}))
                return -1;
        }
        i = to;
    }
    return 0;
}

/* Robust local parabola at `at`: weighted by distance and by how far each station stood off in the round before. */
typedef struct local {
    double value, sum_w2; /* smoothed value; sum of the squares of its weights */
} local;

/* Stations are evenly spaced, so the distance's weight comes from a table: kernel[k] is that of the k-th neighbour. */
static local fit_local(const sw_track *t, int rim, const double *weight, const double *kernel, int half, int i)
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
        return (local){NAN, NAN};
    double r[3] = {c0 / det, c1 / det, c2 / det};
    local out = {r[0] * y[0] + r[1] * y[1] + r[2] * y[2], 0};
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            out.sum_w2 += r[a] * s2[a + b] * r[b];
    return out;
}

static double step_of(const sw_track *t)
{
    double step = t->count > 1 ? (t->points[t->count - 1].at_mm - t->points[0].at_mm) / (t->count - 1) : 1;
    return fmax(step, 1e-3);
}

/* The smoothed rim and, in spread, its variance over that of a station. Where the stations are denser than needed, the
 * local fits are made at every few stations only and interpolated. */
static void fit_rim(sw_track *t, int rim, const double *weight, const double *kernel, int half, double *spread)
{
    int every = (int)fmax(1, floor(BANDWIDTH_MM / 3 / step_of(t))), last = t->count - 1;
    sw_track_point *p = t->points;
    for (int i = 0, before = 0; before < last || i == 0; before = i, i = i + every > last ? last : i + every) {
        local l = fit_local(t, rim, weight, kernel, half, i);
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
static void smooth_rim(sw_track *t, int rim, double *weight, double *work)
{
    double *rest = work, *spread = rest + t->count, *kernel = spread + t->count, step = step_of(t), scatter = 0;
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
    t->rim_freedom[rim] = MAD_FREEDOM * (double)n;
    for (int i = 0; i < t->count; i++) {
        double own = t->points[i].rim_noise_mm[rim], share = sqrt(fmax(0, spread[i]));
        t->points[i].rim_random_mm[rim] = scatter * share;
        t->points[i].rim_noise_mm[rim] = fmin(own, scatter) * share;
    }
}

/* First weights of the smoothing: none in chips, at the ends (the smoothed rim is carried on from further in) and where nothing was read; little where a station stands
 * far off the running median. work may be baseline itself. */
static void start_weights(const sw_track *t, int rim, const double *baseline, double *weight)
{
    double last = t->count ? t->points[t->count - 1].at_mm : 0;
    for (int i = 0; i < t->count; i++) {
        const sw_track_point *p = &t->points[i];
        double r = (p->raw[rim] - baseline[i]) / 0.15; /* mm: more than any edge strays within a running median */
        int good =
            p->seen && isfinite(r) && !p->chip[rim] && p->at_mm > SW_SEAM_END_MM && p->at_mm < last - SW_SEAM_END_MM;
        weight[i] = good ? 1 / (1 + r * r * r * r) : 0;
        if (weight[i] < LOST)
            weight[i] = 0; /* or it would come back once the smooth rim has bent its way */
    }
}

/* Standard deviation of single gaps about the smoothed one, and how much neighbours repeat each other: the sum of the
 * autocorrelation over the first lags. Without it a mean over n stations would look better than it is. count: the gaps
 * it rests on. */
static void gap_randomness(const sw_track *t, double *work, double *sd, double *repeat, double *count)
{
    enum { LAGS = 12 };
    size_t n = 0;
    for (int i = 0; i < t->count; i++) {
        const sw_track_point *p = &t->points[i];
        double r = (p->raw[1] - p->raw[0]) - (p->across[1] - p->across[0]);
        work[i] = p->seen && isfinite(r) && !p->chip[0] && !p->chip[1] ? r : NAN;
    }
    double *good = work + t->count;
    for (int i = 0; i < t->count; i++)
        if (isfinite(work[i]))
            good[n++] = work[i];
    *sd = n > 8 ? sw_mad_sigma(good, n, 0) : NAN;
    *count = (double)n;
    double limit = 4 * *sd, variance = 0, within = 0;
    for (int i = 0; i < t->count; i++)
        if (fabs(work[i]) < limit) {
            variance += work[i] * work[i];
            within++;
        }
    variance /= fmax(1, within);
    *repeat = 1;
    for (int lag = 1; lag <= LAGS; lag++) {
        double sum = 0, pairs = 0;
        for (int i = 0; i + lag < t->count; i++)
            if (fabs(work[i]) < limit && fabs(work[i + lag]) < limit) {
                sum += work[i] * work[i + lag];
                pairs++;
            }
        double rho = pairs > 20 ? sum / pairs / variance : 0;
        if (rho <= 0.05)
            break;
        *repeat += 2 * rho;
    }
}

static void rate_gaps(sw_track *t, double *work)
{
    double sd = NAN, repeat = 1, count = 0;
    gap_randomness(t, work, &sd, &repeat, &count);
    t->gap_freedom = isfinite(sd) ? MAD_FREEDOM * count / repeat : 0;
    for (int rim = 0; rim < 2; rim++)
        t->rim_freedom[rim] /= repeat;
    for (int i = 0; i < t->count; i++) {
        sw_track_point *p = &t->points[i];
        double share = t->scatter_mm[0] > 0 ? p->rim_random_mm[0] / t->scatter_mm[0] : 0.3;
        if (isfinite(sd)) {
            p->random_mm = sd * share * sqrt(repeat);
            p->noise_mm = fmin(p->noise_mm, sd) * share;
        }
        for (int rim = 0; rim < 2; rim++)
            p->rim_random_mm[rim] *= LONG_WAVES * sqrt(repeat);
    }
}

sw_status sw_track_make(const sw_trace *trace, const sw_scale *scale, const sw_grid_side *side, const double rise_mm[2],
                        sw_track *t, sw_error *err)
{
    memset(t, 0, sizeof *t);
    int low_is = trace->reversed ? SW_SECOND : SW_FIRST;
    t->has[low_is] = trace->kind != SW_TRACE_HIGH_TILE;
    t->has[!low_is] = trace->kind != SW_TRACE_LOW_TILE;
    if (rise_mm)
        memcpy(t->rise_mm, rise_mm, sizeof t->rise_mm);
    set_frame(side, t);
    double *work = malloc(((size_t)trace->count + 1) * 4 * sizeof *work);
    sw_status status = SW_NO_MEMORY;
    if (!work || load(trace, scale, t))
        goto done;
    for (int rim = 0; rim < 2; rim++) {
        if (!t->has[rim])
            continue;
        double *baseline = work, *rest = work + t->count;
        size_t n = 0;
        baseline_of(t, rim, (int)ceil(BASELINE_MM / step_of(t)), baseline);
        for (int i = 0; i < t->count; i++)
            if (isfinite(t->points[i].raw[rim]) && isfinite(baseline[i]))
                rest[n++] = t->points[i].raw[rim] - baseline[i];
        if (n < 8)
            continue;
        if (find_chips(t, rim, baseline, fmin(sw_mad_sigma(rest, n, 0), CHIP_LEAST_MM / 3)))
            goto done;
        /* once more without the chips, which near an end are most of what the median sees */
        baseline_of(t, rim, (int)ceil(BASELINE_MM / step_of(t)), baseline);
        start_weights(t, rim, baseline, work);
        smooth_rim(t, rim, work, work + t->count);
    }
    if (t->has[0] && t->has[1])
        rate_gaps(t, work);
    status = SW_OK;
done:
    free(work);
    if (status) {
        sw_track_free(t);
        return sw_fail(err, status, "not enough memory for the seams");
    }
    return SW_OK;
}

void sw_track_free(sw_track *t)
{
    if (!t)
        return;
    free(t->points);
    free(t->chips);
    memset(t, 0, sizeof *t);
}
