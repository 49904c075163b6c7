/* read.c - the rims along a followed path: first roughly, from half-way brightness, then by the model of slot.h or, at
 * the table's own rim, of one step. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "slot.h"
#include "stats.h"
#include "trace.h"
#include "window.h"

/* Widest slot that is read, mm; and how far beyond the rims the tops are looked at, px: past the blur, near enough to
 * share light and texture with the rim. */
static const double SLOT_MOST_MM = 8;
enum { TOP_FROM = 3, TOP_LENGTH = 9, SIDE_SAMPLES = 6, ROWS_MOST = 2, PROFILE_MOST = 141 };
/* A slot that takes less than this share of the light is narrower than the blur. */
static const double FAINT = 0.2;
/* Levels are the running median over this many stations on either side: pencil marks and dust are shorter. */
enum { LEVEL_STATIONS = 6 };
/* Near a card, stations whose tops are off the seam's usual level by this share are on its white, or in its shadow. */
static const double CARD_STEP = 0.05;
static const double CARD_NEAR_MM = 18;
/* A sample is never trusted better than this share of the tops' light: rounding to 8 bits and what the edge response
 * leaves over (0.5 to 1 % of a step, response.c) act like noise that more stations do not average away. */
static const double NOISE_LEAST = 0.015;
/* How well the smoothed path tells the middle of a slot, px; only matters where there is next to no slot. */
static const double PATH_SD_PX = 0.6;
enum { ROUNDS = 3 };

/* One station read roughly: a mean profile about its path, in whole pixels from -reach to reach. */
typedef struct rough {
    double low_rim, high_rim; /* relative to the path */
    double low, high, dark;
} rough;

/* The pixel lines of one station as they were read for its rough look; the fit takes its samples from them. */
typedef struct kept_lines {
    int count, row[ROWS_MOST], start[ROWS_MOST];
    float v[ROWS_MOST][PROFILE_MOST];
} kept_lines;

typedef struct reader {
    const sw_photo *photo;
    const sw_trace *trace;
    sw_soften soften;
    int reach, rows[ROWS_MOST];
    double spacing;
} reader;

static reader start_reader(const sw_photo *photo, const sw_scale *scale, const sw_trace *t)
{
    reader r = {.photo = photo, .trace = t};
    r.soften = sw_soften_make(scale->sharpen, scale->sharpen_radius_px / t->stretch);
    r.reach = (int)fmin((PROFILE_MOST - 1) / 2, ceil(0.75 * SLOT_MOST_MM * t->px_per_mm) + TOP_FROM + TOP_LENGTH);
    r.spacing = t->count > 1 ? (t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) : 1;
    return r;
}

/* The pixel lines that belong to a station: those nearer to it than to its neighbours, at most ROWS_MOST of them. */
static int rows_of(const reader *r, const sw_place *p, int *rows)
{
    int first = (int)ceil(p->line - r->spacing / 2), last = (int)floor(p->line + r->spacing / 2 - 1e-9), n = 0;
    if (last < first)
        first = last = (int)lround(p->line);
    double every = fmax(1, (last - first + 1.0) / ROWS_MOST);
    for (double at = first; at <= last + 1e-9 && n < ROWS_MOST; at += every)
        rows[n++] = (int)at;
    return n;
}

static double path_on(const reader *r, const sw_place *p, int row)
{
    return p->path_px + r->trace->slope * (row - p->line);
}

/* keep may be NULL. */
static int mean_profile(const reader *r, const sw_place *p, double *v, kept_lines *keep)
{
    double one[PROFILE_MOST];
    int rows[ROWS_MOST], n = rows_of(r, p, rows), size = 2 * r->reach + 1;
    memset(v, 0, (size_t)size * sizeof *v);
    for (int k = 0; k < n; k++) {
        int start = (int)lround(path_on(r, p, rows[k])) - r->reach;
        if (sw_crossing_read(r->photo, &r->soften, r->trace->along_row, rows[k], start, size, one) > r->reach)
            return -1;
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
    return 0;
}

static double median_range(const double *v, int from, int to)
{
    double copy[PROFILE_MOST];
    int n = to - from + 1;
    memcpy(copy, v + from, (size_t)n * sizeof *v);
    return sw_median(copy, (size_t)n);
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

static rough read_rough(const reader *r, const double *v)
{
    int n = 2 * r->reach + 1, mid = r->reach, near = (int)fmax(3, 1.2 * r->trace->px_per_mm);
    /* The path may run anywhere in a wide slot: the tops are what the brighter half of each side shows. */
    rough out = {.low = quantile_range(v, 0, mid - near, 0.7), .high = quantile_range(v, mid + near, n - 1, 0.7)};
    int darkest = mid;
    for (int i = mid - near; i <= mid + near; i++)
        if (v[i] < v[darkest])
            darkest = i;
    out.dark = v[darkest];
    double top = fmin(out.low, out.high);
    if (top - out.dark < FAINT * top) {
        double area = 0, first = 0;
        for (int i = mid - 3; i <= mid + 3; i++) {
            double gone = fmax(0, (i < darkest ? out.low : out.high) - v[i]);
            area += gone;
            first += gone * i;
        }
        double centre = area > 0 ? first / area : mid, width = fmin(2, area / (0.85 * top));
        out.low_rim = centre - mid - width / 2;
        out.high_rim = centre - mid + width / 2;
        return out;
    }
    out.low_rim = rises(v, n, darkest, -1, (out.low + out.dark) / 2) - mid;
    out.high_rim = rises(v, n, darkest, 1, (out.high + out.dark) / 2) - mid;
    return out;
}

/* Mean of the tops beside the rims, from the profile. */
static void read_levels(const reader *r, const double *v, rough *a)
{
    int n = 2 * r->reach + 1;
    int l1 = (int)floor(a->low_rim) + r->reach - TOP_FROM, l0 = l1 - TOP_LENGTH;
    int h0 = (int)ceil(a->high_rim) + r->reach + TOP_FROM, h1 = h0 + TOP_LENGTH;
    if (l0 >= 0 && l1 > l0 && l1 < n)
        a->low = median_range(v, l0, l1);
    if (h0 >= 0 && h1 < n && h1 > h0)
        a->high = median_range(v, h0, h1);
}

/* Running median of a field of the seen stations. */
static void smooth(double *values, const sw_place *places, int count, int half, double *work)
{
    sw_window w = {0};
    memcpy(work, values, (size_t)count * sizeof *work);
    for (int i = -half; i < count; i++) {
        int in = i + half, out = i - half - 1;
        if (in < count && places[in].seen)
            sw_window_put(&w, work[in]);
        if (out >= 0 && places[out].seen)
            sw_window_take(&w, work[out]);
        if (i >= 0 && w.count)
            values[i] = sw_window_median(&w);
    }
}

/* Marks the stations on a card's white or in its shadow. */
static void mark_card(sw_trace *t, const double *low, const double *high, double step_px, double *work)
{
    int near = (int)ceil(CARD_NEAR_MM * t->px_per_mm / step_px), any = 0;
    size_t n = 0;
    for (int i = 0; i < t->count; i++)
        any += !t->places[i].seen;
    if (!any)
        return;
    for (int i = 0; i < t->count; i++)
        if (t->places[i].seen)
            work[n++] = low[i];
    double usual_low = n ? sw_median(work, n) : 0;
    n = 0;
    for (int i = 0; i < t->count; i++)
        if (t->places[i].seen)
            work[n++] = high[i];
    double usual_high = n ? sw_median(work, n) : 0;
    for (int i = 0; i < t->count; i++) {
        int close = 0;
        for (int k = i - near; k <= i + near; k++)
            close |= k >= 0 && k < t->count && t->places[k].seen == 0;
        if (close && t->places[i].seen &&
            (fabs(low[i] / usual_low - 1) > CARD_STEP || fabs(high[i] / usual_high - 1) > CARD_STEP))
            t->places[i].seen = -1; /* settled below, so that it does not spread */
    }
    for (int i = 0; i < t->count; i++)
        t->places[i].seen = t->places[i].seen > 0;
}

/* Samples of a station for the fit: every line, from SIDE_SAMPLES outside one rim to as far outside the other, as far
 * as was read. */
static void take_samples(const reader *r, const sw_place *p, const kept_lines *lines, double low_rim, double high_rim,
                         sw_slot_station *s)
{
    for (int k = 0; k < lines->count; k++) {
        double path = path_on(r, p, lines->row[k]);
        int start = (int)floor(path + low_rim) - SIDE_SAMPLES - lines->start[k];
        int end = (int)ceil(path + high_rim) + SIDE_SAMPLES + 1 - lines->start[k];
        start = start < 0 ? 0 : start;
        end = end > 2 * r->reach + 1 ? 2 * r->reach + 1 : end;
        for (int i = start; i < end && s->count < SW_SLOT_SAMPLES; i++) {
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

/* Everything a seam's reading needs, in one block each. */
typedef struct workroom {
    double *low, *high, *centre, *work;
    rough *roughs;
    sw_slot_station *stations;
    float *samples;
    kept_lines *lines;
} workroom;

static int take_room(int count, workroom *w)
{
    size_t n = (size_t)count;
    memset(w, 0, sizeof *w);
    w->low = malloc(n * 4 * sizeof *w->low);
    w->roughs = calloc(n, sizeof *w->roughs);
    w->stations = calloc(n, sizeof *w->stations);
    w->lines = malloc(n * sizeof *w->lines);
    w->samples = malloc(n * 2 * SW_SLOT_SAMPLES * sizeof *w->samples);
    if (!w->low || !w->roughs || !w->stations || !w->samples || !w->lines)
        return -1;
    w->high = w->low + n;
    w->centre = w->high + n;
    w->work = w->centre + n;
    for (size_t i = 0; i < n; i++) {
        w->stations[i].x = w->samples + i * 2 * SW_SLOT_SAMPLES;
        w->stations[i].v = w->stations[i].x + SW_SLOT_SAMPLES;
    }
    return 0;
}

static void leave_room(workroom *w)
{
    free(w->low);
    free(w->roughs);
    free(w->stations);
    free(w->samples);
    free(w->lines);
}

double sw_trace_rough_width(const sw_photo *photo, const sw_scale *scale, const sw_trace *t)
{
    enum { LOOKS = 40 };
    double v[PROFILE_MOST], widths[LOOKS];
    reader r = start_reader(photo, scale, t);
    size_t n = 0;
    for (int k = 0; k < LOOKS; k++) {
        const sw_place *p = &t->places[(2 * k + 1) * t->count / (2 * LOOKS)];
        if (!p->seen || mean_profile(&r, p, v, NULL))
            continue;
        rough a = read_rough(&r, v);
        widths[n++] = (a.high_rim - a.low_rim) * t->stretch;
    }
    return n ? sw_median(widths, n) : 0;
}

static void read_all_roughly(const reader *r, sw_trace *t, workroom *w)
{
    double v[PROFILE_MOST];
    for (int i = 0; i < t->count; i++) {
        sw_place *p = &t->places[i];
        if (p->seen && mean_profile(r, p, v, &w->lines[i]))
            p->seen = 0;
        if (!p->seen)
            continue;
        w->roughs[i] = read_rough(r, v);
        read_levels(r, v, &w->roughs[i]);
        w->low[i] = w->roughs[i].low;
        w->high[i] = w->roughs[i].high;
        w->centre[i] = (w->roughs[i].low_rim + w->roughs[i].high_rim) / 2;
    }
}

static void fill_stations(const reader *r, const sw_trace *t, workroom *w)
{
    for (int i = 0; i < t->count; i++) {
        sw_slot_station *s = &w->stations[i];
        const rough *a = &w->roughs[i];
        s->used = t->places[i].seen;
        if (!s->used)
            continue;
        s->low = w->low[i];
        s->high = w->high[i];
        s->centre = (a->low_rim + a->high_rim) / 2;
        s->width = a->high_rim - a->low_rim;
        s->centre_prior = w->centre[i];
        s->centre_prior_sd = PATH_SD_PX;
        take_samples(r, &t->places[i], &w->lines[i], a->low_rim, a->high_rim, s);
        s->used = s->count > 4 && s->low > 0 && s->high > 0;
    }
}

static void hand_over(sw_trace *t, const workroom *w)
{
    for (int i = 0; i < t->count; i++) {
        sw_place *p = &t->places[i];
        const sw_slot_station *s = &w->stations[i];
        p->seen = s->used && isfinite(s->centre) && isfinite(s->width);
        if (!p->seen)
            continue;
        p->rim_low_px = p->path_px + s->centre - s->width / 2;
        p->rim_high_px = p->path_px + s->centre + s->width / 2;
        double cc = s->variance[0], cw = s->variance[1], ww = s->variance[2];
        p->sd_low_px = sqrt(fmax(0, cc - cw + ww / 4));
        p->sd_high_px = sqrt(fmax(0, cc + cw + ww / 4));
        p->cov_px2 = cc - ww / 4;
        memcpy(p->width_by, s->shared, sizeof p->width_by);
        p->low = s->low;
        p->high = s->high;
        p->rms = s->rms;
        p->dark = w->roughs[i].dark / fmin(s->low, s->high);
    }
}

sw_status sw_trace_read_seam(const sw_photo *photo, const sw_scale *scale, const sw_slot_prior *prior, sw_trace *t,
                             sw_error *err)
{
    workroom w;
    sw_status status = SW_OK;
    reader r = start_reader(photo, scale, t);
    if (take_room(t->count, &w)) {
        status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
        goto done;
    }
    read_all_roughly(&r, t, &w);
    mark_card(t, w.low, w.high, r.spacing, w.work);
    smooth(w.low, t->places, t->count, LEVEL_STATIONS, w.work);
    smooth(w.high, t->places, t->count, LEVEL_STATIONS, w.work);
    smooth(w.centre, t->places, t->count, 12, w.work);
    fill_stations(&r, t, &w);
    t->noise = noise_of(w.stations, t->count);
    sw_edge_table table;
    sw_edge_table_make(scale->blur_px, scale->halo, t->stretch, &table);
    sw_slot_light light = prior->mean;
    if (sw_slot_fit(&table, w.stations, t->count, t->tangent >= 0, prior, t->noise, ROUNDS, &light,
                    t->light_covariance)) {
        for (int i = 0; i < t->count; i++)
            t->places[i].seen = 0;
        goto done;
    }
    t->light = light;
    hand_over(t, &w);
done:
    leave_room(&w);
    return status;
}
