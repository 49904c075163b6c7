#include "track/rims_mm.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "scale/tone.h"
#include "table/heights.h"
#include "track/chips.h"
#include "track/flank.h"
#include "track/smooth.h"

/* A picture sharper than this is sampled too coarsely to be read between the pixels: what is lost, px a rim for each px
 * short. */
static const double FINE_BLUR_PX = 0.5, COARSE = 0.5;
/* Light in the slot wanders over longer stretches than the scatter about the smoothed rim can show; factor on a rim's
 * random part (found on practice photos whose truth is known). */
static const double LONG_WAVES = 1.6;
/* What the edge response leaves over, of a gap between equal tops many blurs wide, px: seams of one photo err together by that
 * much (variety study). */
static const double RESPONSE_U_PX = 0.044;
/* Width of a slot that its error makes of a step between two tops, blurs times (ratio - 1) / sqrt(ratio) of their light: 0 to 0.3 in the
 * variety study. */
static const double STEP_U_BLURS = 0.25;

/* How far an edge spread of the photo's own doing (exposure, tone curve) reaches, shares of the blur; a frame card that shows more
 * was printed with ink that ran, or is not as large as its sides were said to be, and gaps know nothing of that. (A tone curve
 * of exponent 0.8 makes 0.15.) */
static const double SPREAD_MOST_BLURS = 0.2;
/* A slot this many blurs wide feels the whole shift of a rim that comes with processing, a narrow one none of it: for small
 * differences of brightness any tone curve is straight. Modelled slots follow 1 - exp(-(width / (this blur))^2) within 0.1. */
static const double SHIFT_BLURS = 1.9;
/* A blur that differs by a share of itself from the cards' changes a gap by up to this many blurs times that share: half out of focus
 * by 1 px, which makes the cards differ by 0.19, leaves an RMS error of 0.3 px. */
static const double UNEVEN_U_BLURS = 2.5;
/* Photos in focus have blurs of up to 1.3 px (study). Beyond SOFT_PX a gap is off by this share of the rest: a sample blurred by 2 px more
 * (2.1 px by its cards) has an RMS error of 0.06 mm. */
static const double SOFT_PX = 1.4, SOFT_U = 0.25;
/* A filter that keeps edges also flattens the faint light on the walls of a wide slot: by so much more is such a gap off than a narrow one (adverse photos:
 * 0.15 px between narrow ones, 0.4 px between gaps of 6 px and more). */
static const double FILTER_WIDE = 1;
/* Stray light: this much of what it takes off a narrow gap is one standard uncertainty, as the cards' black may be paler than print usually is
 * or the haze thicker beside them; beyond so many blurs a gap's rims show whatever its depth (adverse photos). More than HAZE_MOST of the tops'
 * light is never believed of it. */
static const double HAZE_SHARE = 0.8, HAZE_BLURS = 4, HAZE_MOST = 0.7;
/* So many blurs wide a gap's rims show, whatever the tone curve makes of its depth; then it only moves them. */
static const double TONE_BLURS = 4;
/* No phone keeps to sRGB's curve, and what it does between black and white no card shows: shadows lifted with more contrast above, as phones do it, change
 * the slope at the tops, and narrow gaps, by 0.03 to 0.08 (adverse photos). Standard uncertainty, share of a narrow gap's width. */
static const double TONE_USUAL_U = 0.025;
/* What a step leaves over: the wall that stands free above the lower top is modelled by an even sky and one lamp (cavity.c), the shade
 * behind the gap, where the near tile is the higher one, not at all. Up to 0.4 px in drawings with known gaps of 1 to 3 mm
 * (tests/unit/table/test_heights.c), 0.15 px on a generated photo with steps of 10 mm. Standard uncertainty, px. */
static const double STEP_U_PX = 0.1;

/* A model of sharp rims reads round ones this share of their radius too far apart each: 0.14 to 0.36 on practice photos, standard
 * uncertainty. */
static const double ROUND_SHARP = 0.23, ROUND_SHARP_U = 0.08;
/* Where rims are round, the model of their shoulders (one radius, an even sky, one lamp, no light between shoulders) leaves this share of
 * the radii over. Standard uncertainty: with it eight generated photos with radii of 0 to 1 mm, alike by tile or each edge its own, hold 90 %
 * on average, 64 to 100 % each. */
static const double ROUND_U_SHARE = 0.06;

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
static double shared_variance(const sw_trace *trace, const sw_trace_place *p)
{
    double sum = 0;
    for (int a = 0; a < SW_SLOT_NUMBERS; a++)
        for (int b = 0; b < SW_SLOT_NUMBERS; b++)
            sum += p->width_by[a] * trace->light_covariance[a][b] * p->width_by[b];
    return fmax(0, sum);
}

/* How far the rim at the low or high side stands nearer to the slot's middle than it reads, px along the crossing. */
static double shift_px(const sw_trace *trace, const sw_scale *scale, const sw_trace_place *p, bool high)
{
    if (trace->kind == SW_TRACE_SEAM) {
        double blurs = (p->rim_high_px - p->rim_low_px) * trace->stretch / (SHIFT_BLURS * scale->blur_px);
        return (blurs > 0 ? scale->rim_shift_px * (1 - exp(-blurs * blurs)) : 0) / trace->stretch;
    }
    double top = high ? p->high : p->low, floor = high ? p->low : p->high; /* a lighter floor shifts the other way */
    return top > floor ? scale->rim_shift_px * (1 - floor / top) / trace->stretch : 0;
}

/* What the edge response leaves over. It moves the rims of a wide slot; of a narrow one the missing light tells, which a response
 * keeps. But where one top is lighter than the other, a narrow slot of width w between them looks like the step from one to the
 * other, moved, and sharper by a variance of a b w^2 / (b - a)^2 (a, b the tops' light over the slot's): that is all that tells
 * its width, so a response too blurred or too sharp by a share of it makes a slot of about blur times (b - a) / sqrt(a b). */
static double response_u_px(const sw_trace *trace, const sw_scale *scale, const sw_trace_place *p)
{
    double width = fmax(0, p->rim_high_px - p->rim_low_px) * trace->stretch,
           blurs = width / (SHIFT_BLURS * scale->blur_px);
    double ratio = fmax(p->low, p->high) / fmin(p->low, p->high);
    double rims = RESPONSE_U_PX * (1 - exp(-blurs * blurs));
    double step = STEP_U_BLURS * scale->blur_px * (ratio - 1) / sqrt(ratio);
    return hypot(rims, step > 0 ? step / hypot(1, width / (4 * step)) : 0) / trace->stretch;
}

double sw_uneven_u_px(const sw_scale *scale)
{
    return UNEVEN_U_BLURS * scale->blur_u_rel * scale->blur_px;
}

double sw_soft_u_px(const sw_scale *scale)
{
    return SOFT_U * fmax(0, scale->blur_px - SOFT_PX);
}

/* What blur and a program make of a gap, px along the crossing. */
static double processed_u_px(const sw_trace *trace, const sw_scale *scale, const sw_trace_place *p)
{
    double blur = hypot(sw_uneven_u_px(scale), sw_soft_u_px(scale)),
           blurs = fmax(0, p->rim_high_px - p->rim_low_px) * trace->stretch / (SHIFT_BLURS * scale->blur_px);
    double filter = scale->filter_u_px * (1 + FILTER_WIDE * (1 - exp(-blurs * blurs)));
    return hypot(blur, hypot(filter, scale->levels_u_px)) / trace->stretch;
}

/* What stray light makes of a gap, px along the crossing. Of a narrow one only width times depth shows, share of the tops' light; with a share q of
 * that from the haze, the gap is 1 / (1 - q) times as wide as it looks. */
static double haze_u_px(const sw_trace *trace, const sw_scale *scale, const sw_trace_place *p)
{
    double width = fmax(0, p->rim_high_px - p->rim_low_px), narrow = HAZE_BLURS * scale->blur_px / trace->stretch;
    double share = fmin(scale->haze / fmin(p->low, p->high), HAZE_MOST);
    if (trace->kind != SW_TRACE_SEAM || !(share > 0))
        return 0;
    return HAZE_SHARE * share / (1 - share) * width / hypot(1, width / narrow);
}

/* What the tone curve makes of a gap, px along the crossing: of a narrow one a share of its width. */
static double tone_u_px(const sw_trace *trace, const sw_scale *scale, const sw_trace_place *p)
{
    double width = fmax(0, p->rim_high_px - p->rim_low_px), narrow = TONE_BLURS * scale->blur_px / trace->stretch;
    if (trace->kind != SW_TRACE_SEAM)
        return 0;
    double usual = TONE_USUAL_U * width / (1 + width * width / (narrow * narrow));
    return hypot(usual, sw_tone_u_rel(scale, fmin(p->low, p->high)) * width / hypot(1, width / narrow));
}

/* What the shoulders' light leaves over of the gap between round rims, mm; 0 between sharp ones. */
static double round_u_mm(const sw_trace *trace)
{
    const double *r = trace->round_mm, *u = trace->round_u_mm;
    if (!(r[0] >= 0 && r[1] >= 0))
        return 0;
    double shoulders = ROUND_U_SHARE * hypot(r[0], r[1]);
    return trace->stepped ? hypot(shoulders, hypot(ROUND_SHARP_U * (r[0] + r[1]), ROUND_SHARP * hypot(u[0], u[1])))
                          : shoulders;
}

/* How far a round rim's side face lies from where its rim was read, px along the crossing: so deep below the top does it begin; beside a
 * step the rim was read as a sharp one, somewhere on its shoulder. */
static double round_px(const sw_trace *trace, bool high)
{
    double radius_px = trace->round_mm[high] > 0 ? trace->round_mm[high] * trace->px_per_mm : 0;
    return trace->stepped ? (high ? -1 : 1) * ROUND_SHARP * radius_px : radius_px * trace->tangent;
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
static void add_step(const levels *l, double px_per_mm, double step_u_mm, const sw_track *t, sw_track_point *p)
{
    double tangent = tangent_at(l, t, (sw_point){t->origin.x + p->at_mm * t->u.x, t->origin.y + p->at_mm * t->u.y});
    double step = t->rise_mm[SW_SECOND] - t->rise_mm[SW_FIRST];
    if (step != 0)
        p->model_mm = hypot(p->model_mm, STEP_U_PX / px_per_mm);
    p->height_mm = fabs(tangent) * hypot(step_u_mm, step * l->scale[0]->focal_u_rel);
}

static void load_point(const sw_trace *trace, const levels *l, const sw_trace_place *p, sw_track *t,
                       sw_track_point *out)
{
    const sw_scale *scale = l->scale[0];
    double at_sum = 0, found = 0;
    out->seen = p->seen;
    out->dark = p->dark;
    out->misfit = trace->noise > 0 ? p->rms / trace->noise : 1;
    for (int rim = 0; rim < 2; rim++) {
        bool high = (rim == SW_SECOND) != trace->reversed;
        double px = high ? p->rim_high_px : p->rim_low_px;
        out->raw[rim] = out->across[rim] = NAN;
        if (!t->has[rim] || !p->seen || !isfinite(px))
            continue;
        px += (high ? -1 : 1) * shift_px(trace, scale, p, high);
        px += round_px(trace, high);
        sw_point place = sw_trace_pixel(trace, p, px);
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
        out->light_mm = sqrt(shared_variance(trace, p)) / trace->px_per_mm;
        out->model_mm = hypot(response_u_px(trace, scale, p) / trace->px_per_mm, round_u_mm(trace));
        out->model_mm = hypot(out->model_mm, processed_u_px(trace, scale, p) / trace->px_per_mm);
        out->model_mm = hypot(out->model_mm, haze_u_px(trace, scale, p) / trace->px_per_mm);
        out->model_mm = hypot(out->model_mm, tone_u_px(trace, scale, p) / trace->px_per_mm);
        out->pixels_mm = M_SQRT2 * fmax(0, COARSE * (FINE_BLUR_PX - scale->blur_px)) / trace->px_per_mm;
        double spread = fmin(fabs(scale->edge_spread_px), SPREAD_MOST_BLURS * scale->blur_px);
        out->spread_mm = hypot(spread, 2 * scale->rim_shift_u_px) / trace->px_per_mm;
        if (found > 1 && (trace->step_u_mm > 0 || t->rise_mm[SW_FIRST] != t->rise_mm[SW_SECOND]))
            add_step(l, trace->px_per_mm, trace->step_u_mm, t, out);
        sw_track_point_sum(out);
        return;
    }
    sw_point place = sw_trace_pixel(trace, p, p->path_px);
    out->at_mm = to_frame(t, sw_scale_to_mm(scale, place)).x;
    out->seen = false;
}

static sw_status load(const sw_trace *trace, const sw_scale *scale, sw_track *t)
{
    sw_scale lifted[2];
    levels l = {.scale = {scale, scale}};
    bool no_camera = sw_camera_place(scale, l.camera);
    for (int rim = 0; rim < 2; rim++)
        if (t->has[rim] && !sw_top_in_plane(&t->tops[rim])) {
            if (no_camera || sw_scale_lift(scale, &t->tops[rim], &lifted[rim]))
                return SW_NO_MEMORY;
            l.scale[rim] = &lifted[rim];
        }
    t->count = trace->count;
    t->points = calloc((size_t)trace->count + 1, sizeof *t->points);
    if (!t->points)
        return SW_NO_MEMORY;
    for (int i = 0; i < trace->count; i++)
        load_point(trace, &l, &trace->places[i], t, &t->points[i]);
    if (t->count > 1 && t->points[0].at_mm > t->points[t->count - 1].at_mm)
        for (int i = 0, j = t->count - 1; i < j; i++, j--) {
            sw_track_point swap = t->points[i];
            t->points[i] = t->points[j];
            t->points[j] = swap;
        }
    return SW_OK;
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
    t->gap_freedom = isfinite(sd) ? SW_MAD_FREEDOM * count / repeat : 0;
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

sw_status sw_track_make(const sw_trace *trace, const sw_scale *scale, const sw_grid_side *side, const sw_top tops[2],
                        sw_track *t, sw_error *err)
{
    memset(t, 0, sizeof *t);
    int low_is = trace->reversed ? SW_SECOND : SW_FIRST;
    t->has[low_is] = trace->kind != SW_TRACE_HIGH_TILE;
    t->has[!low_is] = trace->kind != SW_TRACE_LOW_TILE;
    for (int rim = 0; tops && rim < 2; rim++) {
        t->tops[rim] = tops[rim];
        t->rise_mm[rim] = sw_top_rise(&tops[rim], sw_between(side->from, side->to, 0.5));
    }
    for (int high = 0; high < 2; high++) {
        int rim = high ? !low_is : low_is;
        t->round_mm[rim] = t->has[rim] ? trace->round_mm[high] : NAN;
        t->round_u_mm[rim] = t->has[rim] ? trace->round_u_mm[high] : NAN;
    }
    set_frame(side, t);
    double *work = malloc(((size_t)trace->count + 1) * 4 * sizeof *work);
    sw_status status = SW_NO_MEMORY;
    if (!work || load(trace, scale, t))
        goto done;
    for (int rim = 0; rim < 2; rim++) {
        if (!t->has[rim])
            continue;
        double *baseline = work, *rest = work + t->count;
        status = sw_chips_find(t, rim, baseline, rest);
        if (status == SW_NO_MEMORY)
            goto done;
        if (!status)
            sw_rim_smooth(t, rim, baseline, rest);
    }
    if (t->has[0] && t->has[1]) {
        rate_gaps(t, work);
        sw_flank_widen(t);
    }
    status = SW_OK;
done:
    free(work);
    if (status) {
        sw_track_free(t);
        return sw_fail(err, status, "not enough memory for the seams");
    }
    return SW_OK;
}

sw_status sw_tracks_make(const sw_traces *traces, const sw_scale *scale, const sw_grid *g, sw_tracks *tracks,
                         sw_error *err)
{
    *tracks = (sw_tracks){.columns = g->columns, .rows = g->rows, .count = traces->count};
    tracks->upright = calloc((size_t)traces->count, sizeof *tracks->upright);
    if (!tracks->upright)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory for the seams");
    tracks->level = tracks->upright + (traces->level - traces->upright);
    sw_status status = SW_OK;
    sw_top tops[2];
    for (int i = 0; !status && i <= g->columns; i++)
        for (int r = 0; !status && r < g->rows; r++) {
            int k = i * g->rows + r;
            sw_heights_tops_beside(g, true, i, r, tops);
            status = sw_track_make(&traces->upright[k], scale, &g->upright[i][r], tops, &tracks->upright[k], err);
        }
    for (int i = 0; !status && i < g->columns; i++)
        for (int r = 0; !status && r <= g->rows; r++) {
            int k = i * (g->rows + 1) + r;
            sw_heights_tops_beside(g, false, i, r, tops);
            status = sw_track_make(&traces->level[k], scale, &g->level[i][r], tops, &tracks->level[k], err);
        }
    return status;
}
