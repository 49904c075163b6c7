#include "seam/sight.h"

#include <math.h>
#include <stdlib.h>

#include "maths/lsq.h"
#include "maths/running.h"
#include "maths/stats.h"

/* A side is a tile's top while its light is within this of what the whole top makes expected there, logarithm: on clean photos 99 of 100
 * stations stay within 0.05. Of tops with print or stains so many of their spreads. */
static const double LIGHT_OFF = 0.10, LIGHT_SPREADS = 6;
/* A line fainter than this, share of the light, is as good as none: a closed seam, or something that lies on it. Of the sides less is forgiven
 * there, as nothing else speaks for a seam: on clean photos they stay within 0.035. */
static const double FAINT = 0.06, FAINT_OFF = 0.06;
/* A shadow darkens both sides alike, within this (logarithm), and leaves the line to be seen. */
static const double SHADOW_ALIKE = 0.12, LINE_DEPTH = 0.25;
/* Beside a step the lower top lies in shade, which leaves so much of the light (logarithm): 0.35. */
static const double SHADE_OFF = 1.05;
/* In a soft photo the dark line reaches into what is read of the sides: for each px of blur beyond the usual. */
static const double SOFT_OFF = 0.25, SOFT_PX = 1.2;
/* Stored values of so large a share of their range are clipped: nothing shows in a glare. */
static const double CLIPPED = 0.985;
/* Stations over which a side's light is taken together: longer than dust, a pencil mark or a chip's crumbs. */
enum { TOGETHER = 3 };
static const double LINE_TOGETHER_MM = 2;

/* A line suddenly so much wider than before, mm, is no gap between straight edges. */
static const double MUCH_WIDER_MM = 1.5;
/* The step between tops of two colours (logarithm of their light) hides narrow lines: less is known of their width, mm. */
static const double TOPS_DIFFER = 0.15;
/* A line breaks off where within so many mm it goes down by so much, to under so large a share: sanded and sawn edges do not, but at chips;
 * those are short, and wider than what is left and right of them. Narrow lines tell by their depth. */
static const double BREAK_WITHIN_MM = 4, BREAK_OVER_MM = 6, BREAK_MM = 0.2, BREAK_DIFFER_MM = 0.35, BREAK_SHARE = 0.5,
                    BREAK_DEPTH = 0.05, BREAK_DEPTH_SHARE = 0.35, CHIP_LONG_MM = 25;
/* A break is so many times what the line scatters by from place to place. */
static const double BREAK_SCATTERS = 5;
/* A line much wider than blur alone makes it (in blurs) is dark if it is a gap: what is paler is a gap filled with dust, or print. Lines
 * fainter than the last figure have no width that can be told. */
static const double RESOLVED_BLURS = 4.5, FILLED_DEPTH = 0.5, FILLED_FAINT = 0.15, FILLED_SHARE = 0.33;
/* More breaks than this make the pieces between them no chips: a seam has one or two. */
enum { CHIPS_MOST = 4 };
/* Fewer stations make no reliable width. */
static const double BREAK_STATIONS = 6;
/* At its very ends the sides are the crossing seam's, mm. */
static const double SIDE_END_MM = 4;
/* So near to its ends a seam shows the one that crosses it, mm. */
static const double END_MM = 8;
/* What is next to a cover is half covered: nothing so near counts, mm. */
static const double MARGIN_MM = 2.5;

/* A cover of the tops' own light goes on beyond its shaded rim: where next to no line is seen nothing so near to a cover on the tops counts, mm. */
static const double GOES_ON_MM = 20;
/* So short a piece between two that are not seen may well be part of one cover, mm: a cable that lies aslant, black in a black gap. */
static const double ISLAND_MM = 10;

/* A line so wide, mm, whose middle strays from a parabola by so much, mm (median), is a cable or a cord: sawn edges are straight, and lenses bend evenly. */
static const double CROOKED_WIDE_MM = 1.5, CROOKED_MM = 0.4;

/* Share of a seam from which on the rest is not believed either; the second figure beside tops with print. */
static const double REMNANT = 0.7, REMNANT_PRINTED = 0.1;

/* Where a cover shows: by the line, or by the tops beside it. */
enum { LINE_COVERED = 1, TOPS_COVERED = 2 };

typedef struct looked {
    double *off[2]; /* light of the sides against their tops', logarithm */
    double *width;  /* of the dark line, mm */
    double *depth;  /* share of the lesser top's light that it lacks */
    double *apart;  /* how far its rims are, mm */
    double *work;
    unsigned char *covered;
    int count;
    double mm;   /* from station to station */
    bool differ; /* tops are of two colours */
} looked;

/* What breaks off: the line's width (mm) or its depth. */
typedef struct breaking {
    const double *v;
    double least, share; /* a break is more than that, down to less than such a share */
    double nothing;      /* and to no more than this */
} breaking;

static bool take_room(int count, looked *l)
{
    size_t n = (size_t)count;
    *l = (looked){.count = count};
    l->off[0] = malloc(6 * n * sizeof *l->work);
    l->covered = calloc(n, 1);
    if (!l->off[0] || !l->covered)
        return false;
    l->off[1] = l->off[0] + n;
    l->width = l->off[1] + n;
    l->depth = l->width + n;
    l->apart = l->depth + n;
    l->work = l->apart + n;
    return true;
}

static void leave_room(looked *l)
{
    free(l->off[0]);
    free(l->covered);
}

static void look(const sw_top_light *const beside[2], const sw_trace *t, const sw_seam_reading *w, looked *l)
{
    const int ends = (int)ceil(END_MM / l->mm);
    int differ = 0;
    for (int i = 0; i < t->count; i++) {
        const sw_trace_place *p = &t->places[i];
        const sw_rough *a = &w->roughs[i];
        l->off[0][i] = l->off[1][i] = l->width[i] = l->depth[i] = l->apart[i] = NAN;
        bool end = i < ends || i >= t->count - ends;
        if (!p->seen)
            continue;
        l->off[0][i] = log(a->low) - sw_top_light_at(beside[0], w->mm[i]);
        l->off[1][i] = log(a->high) - sw_top_light_at(beside[1], w->mm[i]);
        l->width[i] = end ? NAN : a->lacks / t->px_per_mm;
        l->apart[i] = end ? NAN : (a->high_rim - a->low_rim) / t->px_per_mm;
        l->depth[i] = 1 - a->dark / fmin(a->low, a->high);
        differ += fabs(log(a->low / a->high)) > TOPS_DIFFER ? 1 : -1;
    }
    l->differ = differ > 0;
}

/* Running medians of what was seen, in place. */
static void steady(double *values, int half, looked *l)
{
    for (int i = 0; i < l->count; i++)
        l->work[i] = values[i];
    sw_running_median(l->work, l->count, half, 1, 1, values);
}

/* Whether a side's light, off from its top's by so much, is not a top's. */
static bool strange(const sw_top_light *top, double off, double least, double soft, bool stepped)
{
    double limit = fmax(least, LIGHT_SPREADS * top->spread) + soft;
    return off > limit || off < -(stepped ? fmax(SHADE_OFF, limit) : limit);
}

static bool strange_sides(const sw_top_light *const beside[2], double soft, bool stepped, const looked *l, int i)
{
    double a = l->off[0][i], b = l->off[1][i], least = l->depth[i] < FAINT && !stepped ? FAINT_OFF : LIGHT_OFF;
    bool shadow = fabs(a - b) < SHADOW_ALIKE && l->depth[i] > LINE_DEPTH;
    return !shadow && (strange(beside[0], a, least, soft, stepped) || strange(beside[1], b, least, soft, stepped));
}

/* Sides that are not their tiles' tops. */
static void find_strange_sides(const sw_photo *photo, const sw_top_light *const beside[2], const sw_seam_reading *w,
                               double soft, bool stepped, looked *l)
{
    const int ends = (int)ceil(SIDE_END_MM / l->mm);
    const double glare = photo->linear[(int)(CLIPPED * ((1 << photo->bits) - 1))];
    for (int i = ends; i < l->count - ends; i++)
        if (strange_sides(beside, soft, stepped, l, i) || fmax(w->roughs[i].low, w->roughs[i].high) >= glare)
            l->covered[i] |= TOPS_COVERED;
}

/* Median over BREAK_OVER_MM from a station on, in one direction. */
static double median_beyond(const looked *l, const double *v, int from, int way)
{
    enum { MOST = 64 };
    double some[MOST];
    size_t n = 0, wanted = (size_t)fmin(MOST, fmax(BREAK_STATIONS, ceil(BREAK_OVER_MM / l->mm)));
    for (int i = from; i >= 0 && i < l->count && n < wanted; i += way)
        if (isfinite(v[i]) && !l->covered[i])
            some[n++] = v[i];
    return 2 * n >= wanted ? sw_median(some, n) : NAN;
}

/* How far values over `least` go on from a station, mm. */
static double goes_on_mm(const looked *l, const double *v, int from, int way, double least)
{
    int i = from, missed = 0;
    for (; i >= 0 && i < l->count && missed < 3; i += way)
        missed = v[i] >= least || isnan(v[i]) ? 0 : missed + 1;
    return (abs(i - from) - missed) * l->mm;
}

/* Takes out the side of a break where the line is less, up to where it is more again. */
static void cover_on(looked *l, const double *v, int from, int way, double least)
{
    int more = 0;
    for (int i = from; i >= 0 && i < l->count && more < 3; i += way) {
        more = v[i] >= least ? more + 1 : 0;
        l->work[i] = more == 0;
    }
}

/* A line that is suddenly so much wider, mm, over more than a chip's length is as likely something that lies on the seam: a cable. */
static void cover_wide(looked *l, int from, int way, double least)
{
    int missed = 0;
    for (int i = from; i >= 0 && i < l->count && missed < 3; i += way) {
        missed = l->width[i] < least ? missed + 1 : 0;
        l->work[i] = 1;
    }
}

/* Whether the line breaks off at a station, the lesser side lying that way; between: half-way from the lesser to the other. */
static bool breaks_off(const looked *l, const breaking *b, int i, int half, int way, double *between, double *by)
{
    double less = median_beyond(l, b->v, i + way * half, way), more = median_beyond(l, b->v, i - way * half, -way);
    *between = (more + less) / 2;
    *by = more - less;
    return more - less > b->least && less < b->share * more && less < b->nothing;
}

/* How many times it does, stations next to each other counted once. */
static int count_breaks(const looked *l, const breaking *b, int half)
{
    int breaks = 0, last[2] = {-l->count, -l->count};
    double between, by;
    for (int i = half; i < l->count - half; i++)
        for (int way = -1; way <= 1; way += 2)
            if (breaks_off(l, b, i, half, way, &between, &by)) {
                breaks += i > last[way > 0] + 2 * half;
                last[way > 0] = i;
            }
    return breaks;
}

static void find_breaks(const breaking *b, looked *l)
{
    int half = (int)ceil(BREAK_WITHIN_MM / 2 / l->mm);
    bool chips = count_breaks(l, b, half) <= 2 * CHIPS_MOST;
    double between, by;
    for (int i = 0; i < l->count; i++)
        l->work[i] = 0;
    for (int i = half; i < l->count - half; i++)
        for (int way = -1; way <= 1; way += 2) {
            if (!breaks_off(l, b, i, half, way, &between, &by))
                continue;
            if (chips && goes_on_mm(l, b->v, i - way * half, -way, between) <= CHIP_LONG_MM)
                continue;
            cover_on(l, b->v, i + way * half, way, between);
            if (b->v == l->width && by > MUCH_WIDER_MM &&
                goes_on_mm(l, b->v, i - way * half, -way, between) > CHIP_LONG_MM)
                cover_wide(l, i - way * half, -way, between);
        }
    for (int i = 0; i < l->count; i++)
        l->covered[i] |= l->work[i] > 0;
}

/* How much values differ from one stretch of BREAK_OVER_MM to the next, robustly (standard deviation). */
static double scatter(looked *l, const double *v)
{
    int apart = (int)fmax(1, round(BREAK_OVER_MM / l->mm));
    size_t n = 0;
    for (int i = 0; i + apart < l->count; i++)
        if (isfinite(v[i]) && isfinite(v[i + apart]))
            l->work[n++] = v[i + apart] - v[i];
    return n ? sw_mad_sigma(l->work, n, 0) : INFINITY;
}

/* Pale though it is wide: dust in the gap, or a strip of shadow beside it. Beside a step shade and face are pale, too. */
static void find_filled(double blur_mm, bool stepped, looked *l)
{
    for (int i = 0; !stepped && i < l->count; i++) {
        double wide = RESOLVED_BLURS * blur_mm;
        bool pale = l->width[i] > wide * l->depth[i] && l->depth[i] < FILLED_DEPTH && l->depth[i] > FILLED_FAINT;
        l->covered[i] |= pale || (l->apart[i] > wide && l->width[i] < FILLED_SHARE * l->apart[i]);
    }
}

/* Things of another colour than the tops', in the gap or beside it. */
static sw_status find_coloured(const sw_photo *photo, const sw_scale *scale, const sw_top_light *const beside[2],
                               const sw_trace *t, const sw_seam_reading *w, looked *l)
{
    const sw_top_tint *tops[2] = {&beside[0]->tint, &beside[1]->tint};
    sw_tint_station *stations = calloc((size_t)t->count, sizeof *stations);
    if (!stations)
        return SW_NO_MEMORY;
    for (int i = 0; i < t->count; i++) {
        const sw_trace_place *p = &t->places[i];
        int line = (int)lround(p->line);
        double path = p->path_px + t->slope * (line - p->line);
        stations[i] =
            (sw_tint_station){line, path + w->roughs[i].low_rim, path + w->roughs[i].high_rim, p->seen, false, false};
    }
    sw_status status = sw_tint_judge(photo, t->along_row, tops, scale->blur_px, l->mm, stations, t->count);
    const int ends = (int)ceil(SIDE_END_MM / l->mm);
    for (int i = ends; !status && i < t->count - ends; i++)
        l->covered[i] |= (stations[i].gap ? LINE_COVERED : 0) | (stations[i].side ? TOPS_COVERED : 0);
    free(stations);
    return status;
}

/* Middle of the dark line, mm across, against a straight line in the photo; place: from -1 to 1 along the seam. */
static double middle_of(const sw_trace *t, const sw_seam_reading *w, int i, double *place)
{
    const sw_trace_place *p = &t->places[i];
    *place = 2.0 * i / t->count - 1;
    return (p->path_px + (w->roughs[i].low_rim + w->roughs[i].high_rim) / 2 - t->slope * p->line) * t->stretch /
           t->px_per_mm;
}

static bool is_crooked(const sw_trace *t, const sw_seam_reading *w, looked *l)
{
    enum { N = 3 };
    double a[N * N] = {0}, c[N] = {0}, u, wide[2] = {0};
    size_t n = 0;
    for (int i = 0; i < t->count; i++) {
        if (isnan(l->apart[i]))
            continue;
        double v = middle_of(t, w, i, &u), terms[N] = {1, u, u * u};
        for (int k = 0; k < N * N; k++)
            a[k] += terms[k / N] * terms[k % N];
        for (int k = 0; k < N; k++)
            c[k] += terms[k] * v;
        wide[l->apart[i] > CROOKED_WIDE_MM]++;
    }
    if (wide[0] > wide[1] || wide[1] < N || sw_cholesky_solve(a, c, N))
        return false;
    for (int i = 0; i < t->count; i++)
        if (isfinite(l->apart[i])) {
            double v = middle_of(t, w, i, &u);
            l->work[n++] = fabs(v - c[0] - c[1] * u - c[2] * u * u);
        }
    return sw_median(l->work, n) > CROOKED_MM;
}

/* On from what covers the tops, as long as there is next to no line. */
static void go_on_unseen(looked *l)
{
    const int most = (int)ceil(GOES_ON_MM / l->mm);
    for (int i = 0; i < l->count; i++)
        l->work[i] = l->covered[i];
    for (int i = 0; i < l->count; i++)
        for (int way = -1; way <= 1 && l->work[i] >= TOPS_COVERED; way += 2)
            for (int k = i + way; k >= 0 && k < l->count && abs(k - i) <= most && l->depth[k] < FAINT; k += way)
                l->covered[k] |= LINE_COVERED;
}

/* A few stations on either side go with what is covered. */
static void widen(looked *l)
{
    int margin = (int)ceil(MARGIN_MM / l->mm);
    for (int i = 0; i < l->count; i++)
        l->work[i] = l->covered[i];
    for (int i = 0; i < l->count; i++)
        for (int k = i - margin; k <= i + margin && l->work[i] > 0; k++)
            if (k >= 0 && k < l->count)
                l->covered[k] = 1;
}

bool sw_sight_printed(const sw_top_light *const beside[2])
{
    return beside[0]->printed || beside[1]->printed;
}

int sw_sight_count(const sw_trace *t)
{
    int seen = 0;
    for (int i = 0; i < t->count; i++)
        seen += t->places[i].seen;
    return seen;
}

void sw_sight_drop_remnants(const sw_top_light *const beside[2], sw_trace *t, int readable)
{
    const double most = sw_sight_printed(beside) ? REMNANT_PRINTED : REMNANT;
    bool drop = readable - sw_sight_count(t) > most * readable;
    for (int i = 0; i < t->count; i++)
        t->places[i].seen &= !drop;
}

sw_status sw_sight_judge(const sw_photo *photo, const sw_scale *scale, const sw_top_light *const beside[2], sw_trace *t,
                         const sw_seam_reading *w)
{
    const int readable = sw_sight_count(t);
    looked l;
    if (!take_room(t->count, &l)) {
        leave_room(&l);
        return SW_NO_MEMORY;
    }
    l.mm = sw_trace_spacing_mm(t);
    look(beside, t, w, &l);
    for (int side = 0; side < 2; side++)
        steady(l.off[side], TOGETHER, &l);
    steady(l.width, (int)fmax(1, round(LINE_TOGETHER_MM / l.mm)), &l);
    steady(l.apart, (int)fmax(1, round(LINE_TOGETHER_MM / l.mm)), &l);
    steady(l.depth, (int)fmax(1, round(LINE_TOGETHER_MM / l.mm)), &l);
    double soft = SOFT_OFF * fmax(0, scale->blur_px - SOFT_PX);
    find_strange_sides(photo, beside, w, soft, t->stepped, &l);
    find_filled(scale->blur_px / t->px_per_mm, t->stepped, &l);
    const breaking width = {l.width, l.differ ? BREAK_DIFFER_MM : BREAK_MM, BREAK_SHARE, INFINITY};
    const breaking depth = {l.depth, fmax(BREAK_DEPTH, BREAK_SCATTERS * scatter(&l, l.depth)), BREAK_DEPTH_SHARE,
                            FAINT};
    find_breaks(&width, &l);
    if (!t->stepped) /* shade and face are no line whose depth means anything */
        find_breaks(&depth, &l);
    if (find_coloured(photo, scale, beside, t, w, &l)) {
        leave_room(&l);
        return SW_NO_MEMORY;
    }
    if (!t->stepped)
        go_on_unseen(&l);
    widen(&l);
    bool crooked = !t->may_step && is_crooked(t, w, &l);
    for (int i = 0; i < t->count; i++)
        t->places[i].seen &= !l.covered[i] && !crooked;
    sw_sight_drop_remnants(beside, t, readable);
    leave_room(&l);
    return SW_OK;
}

void sw_sight_close_islands(sw_trace *t)
{
    const int most = (int)floor(ISLAND_MM / sw_trace_spacing_mm(t));
    int last = -1; /* the last station that is not seen */
    for (int i = 0; i < t->count; i++) {
        if (t->places[i].seen)
            continue;
        for (int k = last + 1; last >= 0 && i - last - 1 <= most && k < i; k++)
            t->places[k].seen = false;
        last = i;
    }
}
