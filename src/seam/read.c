#include "seam/read.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/running.h"
#include "maths/stats.h"
#include "photo/crossing.h"
#include "seam/beside.h"
#include "seam/reading.h"
#include "seam/sight.h"
#include "seam/soft.h"
#include "seam/widest_gap.h"

/* How far beyond the rims the tops are looked at, px: past the blur, near enough to share light and texture with the
 * rim. */
enum { TOP_FROM = 3, TOP_LENGTH = 9, SIDE_SAMPLES = 6, ROWS_MOST = SW_ROWS_MOST, PROFILE_MOST = SW_PROFILE_MOST };
/* A slot that takes less than this share of the light is narrower than the blur. */
static const double FAINT = 0.2;
/* Tops that differ by more than this share show a step where they touch. */
static const double STEP_SHOWS = 0.15;
/* A fit of such a slot that starts from no width stays there: a narrow one shows in the square of its width only. Start, px. */
static const double STEP_WIDTH_PX = 1;
/* Levels are the running median over this many stations on either side: pencil marks and dust are shorter. */
enum { LEVEL_STATIONS = 6 };
/* A shadow or a stripe that crosses darkens, or a reflection lightens, both tops by more than the first figure and alike within the second, logarithm of
 * light: levels then are the station's own. Clean tops stay within 0.03. */
static const double CROSSED = 0.06, CROSSED_ALIKE = 0.06;
/* Beyond the rough rims, px, a blurred line still lacks light. */
enum { LACKING_BESIDE = 3 };
/* Near a card, stations whose tops are off the seam's usual level by this share are on its white, or in its shadow. */
static const double CARD_STEP = 0.05;
static const double CARD_NEAR_MM = 18;
/* A sample is never trusted better than this share of the tops' light: rounding to 8 bits and what the edge response
 * leaves over (0.5 to 1 % of a step, response.c) act like noise that more stations do not average away. */
static const double NOISE_LEAST = 0.015;
/* Stations this near to the seam's ends see the crossing seam; those whose rough width is off the usual by this much may be chips. */
static const double END_MM = 8, ODD_WIDTH_PX = 1.5, ODD_WIDTH = 0.3;
/* A lit far wall looks like the top down to about this many gaps below its rim. */
static const double LIT_DEEP = 0.9;

typedef struct reader {
    const sw_photo *photo;
    const sw_trace *trace;
    sw_soften soften;
    int reach;
    double spacing;
    double lit_low, lit_high; /* how far beyond the rough rims the true ones may lie, share of the width: lit walls */
    double pad_low, pad_high; /* how far beyond them a step's face and shade may reach, px */
} reader;

/* No more of the shade is looked at than this, px; where it reaches farther, the top's level is perhaps read in it. */
static const double STRIP_MOST_PX = 45;
/* How far shade may reach, in steps: a lamp 35 degrees up. */
static const double STRIP_STEPS = 1.5;

/* What may lie beside the gap where tops differ by step_mm. */
static void make_room(const sw_trace *t, double step_mm, reader *r)
{
    double strip = STRIP_STEPS * fabs(step_mm) * t->px_per_mm,
           face = fmax(0, step_mm) * fabs(t->tangent) * t->px_per_mm;
    bool far_high = t->tangent >= 0, shade_high = (step_mm > 0) != far_high;
    strip = fmin(strip, STRIP_MOST_PX);
    double *shaded = shade_high ? &r->pad_high : &r->pad_low, *faced = far_high ? &r->pad_high : &r->pad_low;
    *shaded = fmax(*shaded, strip);
    *faced = fmax(*faced, face);
}

static reader start_reader(const sw_photo *photo, const sw_scale *scale, const sw_trace *t)
{
    reader r = {.photo = photo, .trace = t};
    r.soften = sw_soften_make(scale->sharpen, scale->sharpen_radius_px / t->stretch);
    make_room(t, t->step_mm, &r);
    r.reach = (int)fmin((PROFILE_MOST - 1) / 2, ceil(0.75 * SW_WIDEST_GAP_MM * t->px_per_mm) + TOP_FROM + TOP_LENGTH +
                                                    ceil(fmax(r.pad_low, r.pad_high)));
    double lit = LIT_DEEP * fabs(t->tangent);
    r.lit_low = t->tangent < 0 ? lit : 0;
    r.lit_high = t->tangent < 0 ? 0 : lit;
    r.spacing = t->count > 1 ? (t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) : 1;
    return r;
}

/* The pixel lines that belong to a station: those nearer to it than to its neighbours, at most ROWS_MOST of them. */
static int rows_of(const reader *r, const sw_trace_place *p, int *rows)
{
    int first = (int)ceil(p->line - r->spacing / 2), last = (int)floor(p->line + r->spacing / 2 - 1e-9), n = 0;
    if (last < first)
        first = last = (int)lround(p->line);
    double every = fmax(1, (last - first + 1.0) / ROWS_MOST);
    for (double at = first; at <= last + 1e-9 && n < ROWS_MOST; at += every)
        rows[n++] = (int)at;
    return n;
}

static double path_on(const reader *r, const sw_trace_place *p, int row)
{
    return p->path_px + r->trace->slope * (row - p->line);
}

/* keep may be NULL. */
static bool mean_profile(const reader *r, const sw_trace_place *p, double *v, sw_kept_lines *keep)
{
    double one[PROFILE_MOST];
    int rows[ROWS_MOST], n = rows_of(r, p, rows), size = 2 * r->reach + 1;
    memset(v, 0, (size_t)size * sizeof *v);
    for (int k = 0; k < n; k++) {
        int start = (int)lround(path_on(r, p, rows[k])) - r->reach;
        if (sw_crossing_read(r->photo, &r->soften, r->trace->along_row, rows[k], start, size, one) > r->reach)
            return false;
        for (int i = 0; i < size; i++)
            v[i] += one[i];
        if (!keep)
            continue;
        keep->row[k] = rows[k];
        keep->start[k] = start;
        keep->count = k + 1;
        for (int i = 0; i < size; i++)
            keep->v[k][i] = (float)one[i];
    }
    for (int i = 0; i < size; i++)
        v[i] /= n;
    return true;
}

static double quantile_range(const double *v, int from, int to, double q)
{
    double copy[PROFILE_MOST];
    int n = to - from + 1;
    memcpy(copy, v + from, (size_t)n * sizeof *v);
    return sw_quantile(copy, (size_t)n, q);
}

/* Where the profile, walking from `from` in direction `way`, first rises through `level`; whole pixels, linear between.
 */
static double rises(const double *v, int n, int from, int way, double level)
{
    int i = from;
    while (i + way >= 0 && i + way < n && v[i + way] < level)
        i += way;
    if (i + way < 0 || i + way >= n)
        return i;
    double rise = v[i + way] - v[i];
    return rise > 0 ? i + way * fmin(1, fmax(0, (level - v[i]) / rise)) : i;
}

/* Where the profile goes through `level`, upwards or downwards, nearest to the middle; the middle when it does not. */
static double step_near(const double *v, int n, int mid, int reach, double level, bool up)
{
    double best = mid, off = reach;
    for (int i = mid - reach > 0 ? mid - reach : 0; i < mid + reach && i + 1 < n; i++) {
        if ((v[i] < level) != up || (v[i + 1] < level) == up)
            continue;
        double at = i + (level - v[i]) / (v[i + 1] - v[i]);
        if (fabs(at - mid) < off) {
            off = fabs(at - mid);
            best = at;
        }
    }
    return best;
}

static sw_rough read_rough(const reader *r, const double *v)
{
    int n = 2 * r->reach + 1, mid = r->reach, near = (int)fmax(3, 1.2 * r->trace->px_per_mm);
    /* The path may run anywhere in a wide slot: the tops are what the brighter half of each side shows. */
    sw_rough out = {.low = quantile_range(v, 0, mid - near, 0.7), .high = quantile_range(v, mid + near, n - 1, 0.7)};
    int darkest = mid;
    for (int i = mid - near; i <= mid + near; i++)
        if (v[i] < v[darkest])
            darkest = i;
    out.dark = v[darkest];
    double top = fmin(out.low, out.high);
    if (top - out.dark < FAINT * top) {
        double area = 0, first = 0;
        for (int i = mid - 3; i <= mid + 3; i++) {
            double gone = fmax(0, top - v[i]); /* the step from one top to the other hides no light */
            area += gone;
            first += gone * i;
        }
        double centre = area > 0 ? first / area : mid, width = fmin(2, area / (0.85 * top));
        if (fabs(out.high - out.low) > STEP_SHOWS * top) { /* the slot lies on the darker side of the step */
            width = fmax(width, STEP_WIDTH_PX);
            centre = step_near(v, n, mid, near, (out.low + out.high) / 2, out.high > out.low) +
                     (out.high > out.low ? -width : width) / 2;
        }
        out.low_rim = centre - mid - width / 2;
        out.high_rim = centre - mid + width / 2;
        return out;
    }
    out.low_rim = rises(v, n, darkest, -1, (out.low + out.dark) / 2) - mid;
    out.high_rim = rises(v, n, darkest, 1, (out.high + out.dark) / 2) - mid;
    return out;
}

/* Mean of the tops beside the rims, from the profile. */
static void read_levels(const reader *r, const double *v, sw_rough *a)
{
    int n = 2 * r->reach + 1;
    double width = a->high_rim - a->low_rim;
    int l1 = (int)floor(a->low_rim - r->lit_low * width - r->pad_low) + r->reach - TOP_FROM, l0 = l1 - TOP_LENGTH;
    int h0 = (int)ceil(a->high_rim + r->lit_high * width + r->pad_high) + r->reach + TOP_FROM, h1 = h0 + TOP_LENGTH;
    a->low_at = -r->reach / 2.0;
    a->high_at = r->reach / 2.0;
    if (l0 >= 0 && l1 > l0 && l1 < n) {
        a->low = quantile_range(v, l0, l1, 0.5);
        a->low_at = (l0 + l1) / 2.0 - r->reach;
    }
    if (h0 >= 0 && h1 < n && h1 > h0) {
        a->high = quantile_range(v, h0, h1, 0.5);
        a->high_at = (h0 + h1) / 2.0 - r->reach;
    }
}

/* Light missing between the tops, each side of the darkest place against its own top, so that noise cancels; where tops differ, against the
 * lesser one only: the step from one to the other hides a narrow slot, and where it lies is not known. */
static double lacking(const reader *r, const double *v, const sw_rough *a)
{
    int n = 2 * r->reach + 1, from = (int)floor(a->low_rim) + r->reach - LACKING_BESIDE,
        to = (int)ceil(a->high_rim) + r->reach + LACKING_BESIDE, darkest;
    double sum = 0;
    from = from < 0 ? 0 : from;
    to = to >= n ? n - 1 : to;
    darkest = from;
    for (int i = from; i <= to; i++)
        if (v[i] < v[darkest])
            darkest = i;
    double lesser = fmin(a->low, a->high);
    bool differ = fabs(a->high - a->low) > STEP_SHOWS * lesser;
    for (int i = from; i <= to; i++) {
        double top = i < darkest ? a->low : i > darkest ? a->high : (a->low + a->high) / 2;
        double share = top > 0 ? 1 - v[i] / (differ ? lesser : top) : 0;
        sum += differ ? fmax(0, share) : share;
    }
    return sum;
}

/* Running median of a field of the seen stations. */
static void smooth(double *values, const sw_trace *t, int half, double *work)
{
    for (int i = 0; i < t->count; i++)
        work[i] = t->places[i].seen ? values[i] : NAN;
    sw_running_median(work, t->count, half, 1, 1, values);
}

/* Levels of both sides, steadied along the seam but where something crosses it. */
static void smooth_levels(const sw_trace *t, sw_seam_reading *w)
{
    smooth(w->low, t, LEVEL_STATIONS, w->work);
    smooth(w->high, t, LEVEL_STATIONS, w->work);
    for (int i = 0; i < t->count; i++) {
        const sw_rough *a = &w->roughs[i];
        double low = log(a->low / w->low[i]), high = log(a->high / w->high[i]);
        if (t->places[i].seen && low * high > 0 && fmin(fabs(low), fabs(high)) > CROSSED &&
            fabs(low - high) < CROSSED_ALIKE) {
            w->low[i] = a->low;
            w->high[i] = a->high;
        }
    }
}

static double usual_of(const sw_trace *t, const double *level, double *work)
{
    size_t n = 0;
    for (int i = 0; i < t->count; i++)
        if (t->places[i].seen)
            work[n++] = level[i];
    return n ? sw_median(work, n) : 0;
}

/* Marks the stations on a card's white or in its shadow. */
static void mark_card(sw_trace *t, const double *low, const double *high, double step_px, double *work)
{
    int near = (int)ceil(CARD_NEAR_MM * t->px_per_mm / step_px);
    double usual_low = usual_of(t, low, work), usual_high = usual_of(t, high, work);
    for (int i = 0; i < t->count; i++) {
        bool close = false;
        for (int k = i - near; k <= i + near; k++)
            close |= k >= 0 && k < t->count && !t->places[k].seen;
        work[i] = close && t->places[i].seen &&
                  (fabs(low[i] / usual_low - 1) > CARD_STEP || fabs(high[i] / usual_high - 1) > CARD_STEP);
    }
    for (int i = 0; i < t->count; i++) /* only now, so that it does not spread */
        t->places[i].seen &= work[i] == 0;
}

/* Samples of a station for the fit: every line, from SIDE_SAMPLES outside one rim to as far outside the other, as far
 * as was read. */
static void take_samples(const reader *r, const sw_trace_place *p, const sw_kept_lines *lines, double low_rim,
                         double high_rim, int room, sw_slot_station *s)
{
    low_rim -= r->lit_low * (high_rim - low_rim) + r->pad_low;
    high_rim += r->lit_high * (high_rim - low_rim) + r->pad_high;
    for (int k = 0; k < lines->count; k++) {
        double path = path_on(r, p, lines->row[k]);
        int start = (int)floor(path + low_rim) - SIDE_SAMPLES - lines->start[k];
        int end = (int)ceil(path + high_rim) + SIDE_SAMPLES + 1 - lines->start[k];
        start = start < 0 ? 0 : start;
        end = end > 2 * r->reach + 1 ? 2 * r->reach + 1 : end;
        for (int i = start; i < end && s->count < room; i++) {
            s->x[s->count] = (float)(lines->start[k] + i - path);
            s->v[s->count++] = lines->v[k][i];
        }
    }
}

/* Spread of the tops about their levels over the whole seam: sensor noise and the tiles' texture together. */
static double noise_of(const sw_slot_station *stations, int count)
{
    enum { MOST = 6000 };
    double rest[MOST], level = 0, levels = 0;
    size_t n = 0;
    for (int i = 0; i < count; i++) {
        const sw_slot_station *s = &stations[i];
        if (s->used) {
            level += (s->low + s->high) / 2;
            levels++;
        }
        double low = s->centre - s->width / 2 - TOP_FROM, high = s->centre + s->width / 2 + TOP_FROM;
        for (int k = i % 3; s->used && k < s->count && n < MOST; k += 3) {
            if (s->x[k] < low)
                rest[n++] = s->v[k] - s->low;
            else if (s->x[k] > high)
                rest[n++] = s->v[k] - s->high;
        }
    }
    double least = levels > 0 ? NOISE_LEAST * level / levels : 0.01;
    return n > 20 ? fmax(least, sw_mad_sigma(rest, n, 0)) : fmax(least, 0.01);
}

static sw_seam_reading *take_room(int count)
{
    size_t n = (size_t)count;
    sw_seam_reading *w = calloc(1, sizeof *w);
    if (!w)
        return NULL;
    w->count = count;
    w->low = malloc(n * 4 * sizeof *w->low);
    w->roughs = calloc(n, sizeof *w->roughs);
    w->stations = calloc(n, sizeof *w->stations);
    w->lines = calloc(n, sizeof *w->lines);
    w->mm = calloc(n, sizeof *w->mm);
    if (!w->mm || !w->low || !w->roughs || !w->stations || !w->lines) {
        sw_seam_reading_free(w);
        return NULL;
    }
    w->high = w->low + n;
    w->centre = w->high + n;
    w->work = w->centre + n;
    return w;
}

void sw_seam_reading_free(sw_seam_reading *w)
{
    if (!w)
        return;
    free(w->low);
    free(w->roughs);
    free(w->stations);
    free(w->samples);
    free(w->lines);
    free(w->mm);
    free(w);
}

void sw_seam_leave_out(sw_seam_reading *w)
{
    for (int i = 0; w && i < w->count; i++)
        w->stations[i].used = false;
}

double sw_seam_rough_width(const sw_seam_reading *w, const sw_trace *t)
{
    size_t n = 0;
    for (int i = 0; i < w->count; i++)
        if (w->stations[i].used)
            w->work[n++] = (w->roughs[i].high_rim - w->roughs[i].low_rim) * t->stretch;
    return n ? sw_median(w->work, n) : 0;
}

static void read_all_roughly(const reader *r, const sw_scale *scale, sw_trace *t, sw_seam_reading *w)
{
    double v[PROFILE_MOST];
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        if (p->seen && !mean_profile(r, p, v, &w->lines[i]))
            p->seen = false;
        if (!p->seen)
            continue;
        w->mm[i] = sw_scale_to_mm(scale, sw_trace_pixel(t, p, p->path_px));
        w->roughs[i] = read_rough(r, v);
        read_levels(r, v, &w->roughs[i]);
        w->roughs[i].lacks = lacking(r, v, &w->roughs[i]);
        w->low[i] = w->roughs[i].low;
        w->high[i] = w->roughs[i].high;
        w->centre[i] = (w->roughs[i].low_rim + w->roughs[i].high_rim) / 2;
    }
}

/* How many samples take_samples would take of a station at most. */
static size_t samples_of(const reader *r, const sw_rough *a, int lines)
{
    double width = a->high_rim - a->low_rim;
    size_t n =
        (size_t)(ceil(width * (1 + r->lit_low + r->lit_high) + r->pad_low + r->pad_high) + 2 * SIDE_SAMPLES + 4) *
        (size_t)lines;
    return n < SW_SLOT_SAMPLES ? n : SW_SLOT_SAMPLES;
}

/* Sets aside the stations that tell nothing of the light: seam ends, chips. */
static void mark_aside(const sw_trace *t, sw_seam_reading *w, double mm_per_station)
{
    int ends = (int)ceil(END_MM / mm_per_station), n = 0;
    for (int i = 0; i < t->count; i++)
        if (w->stations[i].used)
            w->work[n++] = w->stations[i].width;
    double usual = n ? sw_median(w->work, (size_t)n) : 0, off = ODD_WIDTH_PX + ODD_WIDTH * usual;
    for (int i = 0; i < t->count; i++)
        w->stations[i].aside = i < ends || i >= t->count - ends || fabs(w->stations[i].width - usual) > off;
}

static sw_status fill_stations(const reader *r, const sw_trace *t, sw_seam_reading *w)
{
    size_t need = 1;
    for (int i = 0; i < t->count; i++)
        need += t->places[i].seen ? samples_of(r, &w->roughs[i], w->lines[i].count) : 0;
    w->samples = malloc(2 * need * sizeof *w->samples);
    if (!w->samples)
        return SW_NO_MEMORY;
    float *next = w->samples;
    for (int i = 0; i < t->count; i++) {
        sw_slot_station *s = &w->stations[i];
        const sw_rough *a = &w->roughs[i];
        s->used = t->places[i].seen;
        if (!s->used)
            continue;
        size_t room = samples_of(r, a, w->lines[i].count);
        s->x = next;
        s->v = next + room;
        next += 2 * room;
        s->low = w->low[i];
        s->high = w->high[i];
        s->low_at = a->low_at;
        s->high_at = a->high_at;
        s->centre = (a->low_rim + a->high_rim) / 2;
        s->width = a->high_rim - a->low_rim;
        take_samples(r, &t->places[i], &w->lines[i], a->low_rim, a->high_rim, (int)room, s);
        s->used = s->count > 4 && s->low > 0 && s->high > 0;
    }
    free(w->lines);
    w->lines = NULL;
    return SW_OK;
}

sw_status sw_trace_read_seam(const sw_photo *photo, const sw_scale *scale, const sw_top_light *const beside[2],
                             sw_trace *t, sw_seam_reading **reading, sw_error *err)
{
    reader r = start_reader(photo, scale, t);
    sw_seam_reading *w = take_room(t->count);
    *reading = NULL;
    if (!w)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    read_all_roughly(&r, scale, t, w);
    mark_card(t, w->low, w->high, r.spacing, w->work);
    const int readable = sw_sight_count(t);
    if (beside && (sw_sight_judge(photo, scale, beside, t, w) || sw_soft_judge(scale, t, w) ||
                   sw_beside_judge(scale, beside, t, w, r.reach))) {
        sw_seam_reading_free(w);
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    }
    if (beside) {
        sw_sight_close_islands(t);
        sw_sight_drop_remnants(beside, t, readable);
    }
    smooth_levels(t, w);
    smooth(w->centre, t, 12, w->work);
    if (fill_stations(&r, t, w)) {
        sw_seam_reading_free(w);
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    }
    mark_aside(t, w, fabs(r.spacing) / t->px_per_mm);
    t->noise = noise_of(w->stations, t->count);
    sw_edge_table_make(scale->blur_px, scale->halo, t->stretch, &w->table);
    *reading = w;
    return SW_OK;
}
