#include "seam/beside.h"

#include <math.h>
#include <stdlib.h>

#include "scale/frame.h"

/* How far from the rims is looked, mm, and from where on, px: blur, and shoulders of round rims. */
static const double BESIDE_MM = 9, CLEAR_PX = 3, CLEAR_BLURS = 3, CLEAR_MM = 0.4;
/* Profiles are taken together over so much of the seam, mm: grain goes, and what crosses the seam. */
static const double TOGETHER_MM = 16;
/* A line lacks this share of the light beside it (grain makes 0.03 of it on clean photos), an edge changes it by this share. */
static const double LINE_LACKS = 0.08, EDGE_CHANGES = 0.1;
/* How wide lines may be, mm, that are looked for: light is held against that so far to either side. */
enum { WIDTHS = 2 };
static const double LINE_MM[WIDTHS] = {0.9, 2.2};
/* An edge lies between two stretches of so many px, so far apart. */
enum { EDGE_FROM = 2, EDGE_LENGTH = 4 };
/* Shorter things are marks and stains; between two so near to each other is one, mm. */
static const double RUN_LEAST_MM = 18, RUN_JOIN_MM = 25;
/* The seam's ends show the one that crosses; cards have edges of their own, mm. */
static const double END_MM = 8, CARD_MM = 22;

/* Share of a seam from which on all of it is in doubt. */
static const double MOST = 0.4;

typedef struct bands {
    float *v; /* count profiles of size samples about the path */
    double *low, *high;
    unsigned char *found;
    int count, size, half;
    double mm, px_per_mm, blur_px;
} bands;

static void profile_of(const sw_trace *t, const sw_kept_lines *lines, int i, const bands *b, float *out)
{
    for (int k = 0; k < b->size; k++)
        out[k] = NAN;
    if (!t->places[i].seen || lines->count == 0)
        return;
    for (int k = 0; k < b->size; k++) {
        double sum = 0;
        for (int row = 0; row < lines->count; row++)
            sum += lines->v[row][k];
        out[k] = (float)(sum / lines->count);
    }
}

/* Profiles of the stations about one together, and the widest that its slot is among them. */
static bool together(const bands *b, int at, double *v, double *low, double *high)
{
    int n = 0;
    *low = INFINITY;
    *high = -INFINITY;
    for (int k = 0; k < b->size; k++)
        v[k] = 0;
    for (int i = at - b->half; i <= at + b->half; i++) {
        const float *one = b->v + (size_t)i * (size_t)b->size;
        if (i < 0 || i >= b->count || isnan(one[0]))
            continue;
        for (int k = 0; k < b->size; k++)
            v[k] += one[k];
        *low = fmin(*low, b->low[i]);
        *high = fmax(*high, b->high[i]);
        n++;
    }
    for (int k = 0; k < b->size && n; k++)
        v[k] /= n;
    return n > b->half;
}

static double mean3(const double *v, int i)
{
    return (v[i - 1] + v[i] + v[i + 1]) / 3;
}

static bool line_at(const double *v, int from, int to, int i, double px_per_mm)
{
    for (int w = 0; w < WIDTHS; w++) {
        int d = (int)fmax(3, round(LINE_MM[w] * px_per_mm));
        if (i - d - 1 < from || i + d + 1 > to)
            continue;
        double side = fmin(mean3(v, i - d), mean3(v, i + d));
        if (side - mean3(v, i) > LINE_LACKS * side)
            return true;
    }
    return false;
}

static bool edge_at(const double *v, int from, int to, int i)
{
    double a = 0, b = 0;
    if (i - EDGE_FROM - EDGE_LENGTH < from || i + EDGE_FROM + EDGE_LENGTH > to)
        return false;
    for (int k = EDGE_FROM; k < EDGE_FROM + EDGE_LENGTH; k++) {
        a += v[i - k];
        b += v[i + k];
    }
    return fabs(a - b) > EDGE_CHANGES * fmax(a, b);
}

/* Whether the tops beside the slot are anything but even, from place `from` to place `to`. */
static bool uneven(const double *v, int from, int to, double px_per_mm)
{
    for (int i = from + 1; i < to; i++)
        if (line_at(v, from, to, i, px_per_mm) || edge_at(v, from, to, i))
            return true;
    return false;
}

static bool something_beside(const bands *b, int at)
{
    double v[SW_PROFILE_MOST], low, high;
    if (!together(b, at, v, &low, &high))
        return false;
    double clear = fmax(CLEAR_PX, CLEAR_BLURS * b->blur_px) + CLEAR_MM * b->px_per_mm, far = BESIDE_MM * b->px_per_mm,
           mid = b->size / 2;
    int l1 = (int)floor(mid + low - clear), l0 = (int)fmax(0, ceil(l1 - far));
    int h0 = (int)ceil(mid + high + clear), h1 = (int)fmin(b->size - 1, floor(h0 + far));
    return uneven(v, l0, l1, b->px_per_mm) || uneven(v, h0, h1, b->px_per_mm);
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

/* Where most of a seam has a line beside it, so has the rest, too faint to be found. */
static void spread_over(bands *b, const sw_trace *t)
{
    double found = 0, seen = 0;
    for (int i = 0; i < b->count; i++) {
        found += b->found[i];
        seen += t->places[i].seen;
    }
    for (int i = 0; i < b->count && found > MOST * seen; i++)
        b->found[i] = t->places[i].seen;
}

static void look(const sw_scale *scale, const sw_trace *t, bands *b)
{
    int ends = (int)ceil(END_MM / b->mm);
    for (int i = ends; i < t->count - ends; i++) {
        const sw_trace_place *p = &t->places[i];
        sw_point px = sw_trace_pixel(t, p, p->path_px);
        b->found[i] = p->seen && !sw_scale_covers(scale, sw_scale_to_mm(scale, px), CARD_MM) && something_beside(b, i);
    }
}

sw_status sw_beside_judge(const sw_scale *scale, sw_trace *t, const sw_seam_reading *w, int reach)
{
    size_t n = (size_t)t->count;
    bands b = {.count = t->count, .size = 2 * reach + 1, .px_per_mm = t->px_per_mm, .blur_px = scale->blur_px};
    if (t->stepped || t->count < 3)
        return SW_OK;
    b.v = malloc(n * (size_t)b.size * sizeof *b.v);
    b.low = malloc(2 * n * sizeof *b.low);
    b.found = calloc(n, 1);
    if (b.v && b.low && b.found) {
        b.high = b.low + n;
        b.mm = fabs(t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) / t->px_per_mm;
        b.half = (int)ceil(TOGETHER_MM / 2 / b.mm);
        for (int i = 0; i < t->count; i++) {
            profile_of(t, &w->lines[i], i, &b, b.v + (size_t)i * (size_t)b.size);
            b.low[i] = w->roughs[i].low_rim;
            b.high[i] = w->roughs[i].high_rim;
        }
        look(scale, t, &b);
        settle_runs(&b);
        spread_over(&b, t);
        for (int i = 0; i < t->count; i++) {
            t->places[i].doubled = b.found[i];
            t->places[i].seen &= !b.found[i];
        }
    }
    sw_status status = b.v && b.low && b.found ? SW_OK : SW_NO_MEMORY;
    free(b.v);
    free(b.low);
    free(b.found);
    return status;
}
