#include "seam/beside.h"

#include <math.h>
#include <stdlib.h>

#include "scale/frame.h"

/* How far from the rims is looked, mm, and from where on, px: blur (an edge is at 0.99 of its light there), and shoulders of round rims. */
static const double BESIDE_MM = 9, CLEAR_PX = 3, CLEAR_BLURS = 2.2, CLEAR_MM = 0.4;
/* Profiles are taken together over so much of the seam, mm: grain goes, and what crosses the seam. */
static const double TOGETHER_MM = 16;
/* A top beside a seam is even: its light differs within the first share. On clean photos 99 of 100 places stay under 0.05, most under 0.02. The
 * second is beyond doubt. */
static const double UNEVEN = 0.06, VERY_UNEVEN = 0.1;
/* A line so deep, share of the light, and as wide as gaps are, mm, and no cable, is a gap whatever fainter runs near it; only what lies on its tops
 * matters then. */
static const double GAP_DEPTH = 0.9, GAP_LEAST_MM = 1.5, GAP_MOST_MM = 4;
/* Shorter things are marks and stains; between two so near to each other is one, mm. */
static const double RUN_LEAST_MM = 18, RUN_JOIN_MM = 25;
/* Where it runs into the seam it makes that wider from one station to the next, by so many mm over the CHIP_LONG_MM that a chip may have. */
static const double WIDER_MM = 0.5, INTO_MM = 8, CHIP_LONG_MM = 25;
/* The seam's ends show the one that crosses; cards have edges of their own, mm. */
static const double END_MM = 8, CARD_MM = 22;

/* Share of a seam from which on all of it is in doubt; beside tops with print or coarse grain, of which more may touch the seam than is found. Patches of
 * plain tops spread by up to 0.013. */
static const double MOST = 0.4, MOST_PRINTED = 0.1, PRINTED = 0.03;

/* Profiles about the path, and their sum over the stations from `from` to before `to`. */
typedef struct bands {
    const sw_trace *trace;
    const sw_seam_reading *reading;
    double sum[SW_PROFILE_MOST];
    unsigned char *found;
    int from, to, n; /* n: how many of them could be read */
    int sure;        /* stations beside which there is something without doubt */
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

static double beside_at(bands *b, int at)
{
    double v[SW_PROFILE_MOST], low, high;
    if (!together(b, at, v, &low, &high))
        return 0;
    double clear = fmax(CLEAR_PX, CLEAR_BLURS * b->blur_px) + CLEAR_MM * b->px_per_mm, far = BESIDE_MM * b->px_per_mm,
           mid = b->size / 2;
    int l1 = (int)floor(mid + low - clear), l0 = (int)fmax(0, ceil(l1 - far));
    int h0 = (int)ceil(mid + high + clear), h1 = (int)fmin(b->size - 1, floor(h0 + far));
    return fmax(unevenness(v, l0, l1), unevenness(v, h0, h1));
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

/* Where most of a seam has a line beside it, so has the rest, too faint to be found. */
static void spread_over(bands *b, const sw_trace *t, double most)
{
    double seen = 0;
    for (int i = 0; i < b->count; i++)
        seen += t->places[i].seen;
    for (int i = 0; i < b->count && b->sure > most * seen; i++)
        b->found[i] = t->places[i].seen;
}

static bool surely_gap(const bands *b, int i)
{
    const sw_rough *a = &b->reading->roughs[i];
    double width_mm = (a->high_rim - a->low_rim) / b->px_per_mm;
    return a->dark < (1 - GAP_DEPTH) * fmin(a->low, a->high) && width_mm > GAP_LEAST_MM && width_mm < GAP_MOST_MM;
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
    if (!b.found)
        return SW_NO_MEMORY;
    b.mm = sw_trace_spacing_mm(t);
    b.half = (int)ceil(TOGETHER_MM / 2 / b.mm);
    look(scale, &b);
    settle_runs(&b);
    go_on_into_seam(&b);
    spread_over(&b, t, fmax(beside[0]->spread, beside[1]->spread) > PRINTED ? MOST_PRINTED : MOST);
    for (int i = 0; i < t->count; i++) {
        t->places[i].doubled = b.found[i] != 0;
        t->places[i].seen &= !b.found[i];
    }
    free(b.found);
    return SW_OK;
}
