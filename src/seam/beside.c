#include "seam/beside.h"

#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "seam/sight.h"

/* How far from the rims is looked, mm, and from where on, px: blur (an edge is at 0.99 of its light there), and shoulders of round rims. */
static const double BESIDE_MM = 9, CLEAR_PX = 3, CLEAR_BLURS = 2.2, CLEAR_MM = 0.4;
/* Profiles are taken together over so much of the seam, mm: grain goes, and what crosses the seam. */
static const double TOGETHER_MM = 16;
/* A top beside a seam is even: its light differs within the first share. On clean photos 99 of 100 places stay under 0.05, most under 0.02. The
 * second is beyond doubt. */
static const double UNEVEN = 0.06, VERY_UNEVEN = 0.1;
/* Nearer to the rim, from so many mm on, blur and round shoulders only darken: what is lighter there by that share is a scratch or another line. In gaps wider
 * than the last figure, mm, a lit wall can be as light. */
static const double NEAR_MM = 0.8, LIGHTER = 0.08, WALL_SHOWS_MM = 1.5;
/* A line so deep, share of the light, and as wide as gaps are, mm, and no cable, is a gap whatever fainter runs near it; only what lies on its tops
 * matters then. */
static const double GAP_DEPTH = 0.9, GAP_LEAST_MM = 1.5, GAP_MOST_MM = 4;
/* Shorter things are marks and stains; between two so near to each other is one, mm. */
static const double RUN_LEAST_MM = 18, RUN_JOIN_MM = 25;
/* It runs along the seam where so many of its stations have it at the same distance, mm, from the path; what crosses slantwise does not. Where so large a
 * share of a seam has that, which of the two is the seam is not known of the rest either: one of them may be too faint there to be found. */
static const double ALONG_WITHIN_MM = 0.75, ALONG_STATIONS = 0.8, ALONG_MOST = 0.25;
/* An edge counts as where the line lies if it is so steep, share of the steepest there is; the nearest one does. */
static const double STEEP = 0.7;
/* Where it runs into the seam it makes that wider from one station to the next, by so many mm over the CHIP_LONG_MM that a chip may have. */
static const double WIDER_MM = 0.5, INTO_MM = 8, CHIP_LONG_MM = 25;
/* The seam's ends show the one that crosses; cards have edges of their own, mm. */
static const double END_MM = 8, CARD_MM = 22;

/* Share of a seam from which on all of it is in doubt; the second figure beside tops with print. */
static const double MOST = 0.4, MOST_PRINTED = 0.1;

/* Profiles about the path, and their sum over the stations from `from` to before `to`. */
typedef struct bands {
    const sw_trace *trace;
    const sw_seam_reading *reading;
    double sum[SW_PROFILE_MOST];
    unsigned char *found;
    double *offset;  /* of what was found, mm from the path */
    int from, to, n; /* n: how many of them could be read */
    int sure;        /* stations beside which there is something without doubt */
    int along;       /* stations beside which a line runs along the seam */
    int count, size, half;
    double mm, px_per_mm, blur_px;
} bands;

/* Adds a station's pixel lines to the sum, or takes them out again. */
static void add(bands *b, int i, int sign)
{
    const sw_kept_lines *lines = &b->reading->lines[i];
    if (!b->trace->places[i].seen || lines->count == 0)
        return;
    for (int row = 0; row < lines->count; row++)
        for (int k = 0; k < b->size; k++)
            b->sum[k] += sign * (double)lines->v[row][k] / lines->count;
    b->n += sign;
}

/* Profiles of the stations about one together, and the widest that its slot is among them; stations come in turn. */
static bool together(bands *b, int at, double *v, double *low, double *high)
{
    const int from = at - b->half > 0 ? at - b->half : 0, to = at + b->half < b->count ? at + b->half + 1 : b->count;
    for (; b->to < to; b->to++)
        add(b, b->to, 1);
    for (; b->from < from; b->from++)
        add(b, b->from, -1);
    *low = INFINITY;
    *high = -INFINITY;
    for (int i = from; i < to; i++)
        if (b->trace->places[i].seen && b->reading->lines[i].count) {
            *low = fmin(*low, b->reading->roughs[i].low_rim);
            *high = fmax(*high, b->reading->roughs[i].high_rim);
        }
    for (int k = 0; k < b->size && b->n; k++)
        v[k] = b->sum[k] / b->n;
    return b->n > b->half;
}

/* By how much the top is anything but even from place `from` to place `to`, share: a line lies there, or the edge of a shadow, or part of one. */
static double unevenness(const double *v, int from, int to)
{
    double least = INFINITY, most = -INFINITY;
    for (int i = from + 1; i < to; i++) {
        double light = (v[i - 1] + v[i] + v[i + 1]) / 3;
        least = fmin(least, light);
        most = fmax(most, light);
    }
    return most > least ? 1 - least / most : 0;
}

/* By how much what lies from place `near`, by the rim, to place `from` is lighter than the top from there to place `to`, share; 0 where that is no
 * scratch. way: 1 or -1, outwards; where `to` does not lie that way of `from` nothing of the top was read. */
static double lighter(const double *v, int near, int from, int to, int way)
{
    double some[SW_PROFILE_MOST], most = 0;
    size_t n = 0;
    if ((to - from) * way < 0)
        return 0;
    for (int i = from; (to - i) * way >= 0; i += way)
        some[n++] = v[i];
    for (int i = near; (from - i) * way >= 0; i += way)
        most = fmax(most, v[i]);
    double by = n ? most / sw_median(some, n) - 1 : 0;
    return by > LIGHTER ? by : 0;
}

/* The first steep edge on the way from place `from`, by the seam, to place `to`; NaN where there is none. */
static double edge_from(const double *v, int from, int to, int way)
{
    double steep[SW_PROFILE_MOST], most = 0;
    int n = 0;
    for (int i = from + 2 * way; (to - 2 * way - i) * way >= 0; i += way) {
        steep[n] = fabs(v[i + way] + v[i + 2 * way] - v[i - way] - v[i - 2 * way]);
        most = fmax(most, steep[n++]);
    }
    for (int k = 0; k < n; k++)
        if (steep[k] > STEEP * most)
            return from + (2 + k) * way;
    return NAN;
}

/* How uneven a station's sides are, share; notes where. */
static double beside_at(bands *b, int at)
{
    double v[SW_PROFILE_MOST], low, high;
    if (!together(b, at, v, &low, &high))
        return 0;
    double clear = fmax(CLEAR_PX, CLEAR_BLURS * b->blur_px) + CLEAR_MM * b->px_per_mm, far = BESIDE_MM * b->px_per_mm,
           mid = b->size / 2;
    int l1 = (int)floor(mid + low - clear), l0 = (int)fmax(0, ceil(l1 - far));
    int h0 = (int)ceil(mid + high + clear), h1 = (int)fmin(b->size - 1, floor(h0 + far));
    double near = NEAR_MM * b->px_per_mm, before = unevenness(v, l0, l1), behind = unevenness(v, h0, h1);
    if (high - low < WALL_SHOWS_MM * b->px_per_mm) {
        before = fmax(before, lighter(v, (int)floor(mid + low - near), l1, l0, -1));
        behind = fmax(behind, lighter(v, (int)ceil(mid + high + near), h0, h1, 1));
    }
    b->offset[at] = ((before > behind ? edge_from(v, l1, l0, -1) : edge_from(v, h0, h1, 1)) - mid) / b->px_per_mm;
    return fmax(before, behind);
}

/* Joins runs that are near to each other, drops short ones. */
static void settle_runs(bands *b)
{
    int join = (int)ceil(RUN_JOIN_MM / b->mm), least = (int)ceil(RUN_LEAST_MM / b->mm), last = -1;
    for (int i = 0; i < b->count; i++) {
        if (!b->found[i])
            continue;
        for (int k = last + 1; last >= 0 && i - last <= join && k < i; k++)
            b->found[k] = 1;
        last = i;
    }
    for (int i = 0, run; i < b->count; i += run + 1) {
        for (run = 0; i + run < b->count && b->found[i + run]; run++)
            ;
        for (int k = i; run < least && k < i + run; k++)
            b->found[k] = 0;
    }
}

/* Whether what was found in a run of stations lies at one distance from the path. */
static bool runs_along(const bands *b, int from, int count, double *work)
{
    size_t n = 0, within = 0;
    for (int i = from; i < from + count; i++)
        if (isfinite(b->offset[i]))
            work[n++] = b->offset[i];
    double usual = n ? sw_median(work, n) : NAN;
    for (size_t k = 0; k < n; k++)
        within += fabs(work[k] - usual) < ALONG_WITHIN_MM;
    return n && (double)within >= ALONG_STATIONS * (double)n;
}

static void count_along(bands *b, double *work)
{
    for (int i = 0, run; i < b->count; i += run + 1) {
        for (run = 0; i + run < b->count && b->found[i + run]; run++)
            ;
        b->along += runs_along(b, i, run, work) ? run : 0;
    }
}

static double apart(const bands *b, int i)
{
    return b->reading->roughs[i].high_rim - b->reading->roughs[i].low_rim;
}

/* Goes on from the end of a run while the seam is wider than it was in the run: the line has run into it, and is no chip. */
static void go_on(bands *b, int end, int way)
{
    const int into = (int)ceil(INTO_MM / b->mm), most = (int)ceil(CHIP_LONG_MM / b->mm);
    double sum = 0, n = 0;
    for (int i = end; i >= 0 && i < b->count && abs(i - end) < 2 * into && b->found[i]; i -= way)
        if (b->trace->places[i].seen) {
            sum += apart(b, i);
            n++;
        }
    for (int i = end + way; i >= 0 && i < b->count && abs(i - end) <= most && b->trace->places[i].seen; i += way) {
        if (!(apart(b, i) > sum / n + WIDER_MM * b->px_per_mm))
            return;
        b->found[i] = 2;
    }
}

static void go_on_into_seam(bands *b)
{
    for (int i = 1; i < b->count; i++) {
        if (b->found[i - 1] == 1 && !b->found[i])
            go_on(b, i - 1, 1);
        if (b->found[i] == 1 && !b->found[i - 1])
            go_on(b, i, -1);
    }
}

static bool surely_gap(const bands *b, int i)
{
    const sw_rough *a = &b->reading->roughs[i];
    double width_mm = (a->high_rim - a->low_rim) / b->px_per_mm;
    return a->dark < (1 - GAP_DEPTH) * fmin(a->low, a->high) && width_mm > GAP_LEAST_MM && width_mm < GAP_MOST_MM;
}

/* Where most of a seam has a line beside it, so has the rest, too faint to be found. */
static void spread_over(bands *b, const sw_trace *t, double most)
{
    double seen = 0;
    for (int i = 0; i < b->count; i++)
        seen += t->places[i].seen;
    for (int i = 0; i < b->count; i++)
        if (b->sure > most * seen || (b->along > ALONG_MOST * seen && !surely_gap(b, i)))
            b->found[i] = t->places[i].seen;
}

static void look(const sw_scale *scale, bands *b)
{
    int ends = (int)ceil(END_MM / b->mm);
    for (int i = ends; i < b->count - ends; i++) {
        if (!b->trace->places[i].seen || sw_scale_covers(scale, b->reading->mm[i], CARD_MM))
            continue;
        bool gap = surely_gap(b, i);
        double uneven = beside_at(b, i);
        b->found[i] = uneven > (gap ? VERY_UNEVEN : UNEVEN);
        if (!b->found[i])
            b->offset[i] = NAN;
        b->sure += uneven > VERY_UNEVEN && !gap;
    }
}

sw_status sw_beside_judge(const sw_scale *scale, const sw_top_light *const beside[2], sw_trace *t,
                          const sw_seam_reading *w, int reach)
{
    bands b = {.trace = t,
               .reading = w,
               .count = t->count,
               .size = 2 * reach + 1,
               .px_per_mm = t->px_per_mm,
               .blur_px = scale->blur_px};
    if (t->stepped || t->count < 3)
        return SW_OK;
    b.found = calloc((size_t)t->count, 1);
    b.offset = malloc(2 * (size_t)t->count * sizeof *b.offset);
    if (!b.found || !b.offset) {
        free(b.found);
        free(b.offset);
        return SW_NO_MEMORY;
    }
    for (int i = 0; i < t->count; i++)
        b.offset[i] = NAN;
    b.mm = sw_trace_spacing_mm(t);
    b.half = (int)ceil(TOGETHER_MM / 2 / b.mm);
    look(scale, &b);
    settle_runs(&b);
    count_along(&b, b.offset + t->count);
    go_on_into_seam(&b);
    spread_over(&b, t, sw_sight_printed(beside) ? MOST_PRINTED : MOST);
    for (int i = 0; i < t->count; i++) {
        t->places[i].doubled = b.found[i] != 0;
        t->places[i].seen &= !b.found[i];
    }
    free(b.found);
    free(b.offset);
    return SW_OK;
}
