#include "mark/tick.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"

/* Sides of a sample, mm from it; the near ones at least so many px off. A stroke is up to 1.2 mm wide. */
static const double SIDE_FROM_MM = 0.9, SIDE_TO_MM = 2.2;
enum { SIDE_FROM_LEAST = 2, SIDE_LEAST = 3 };
/* A single sample counts for no more than so many standard deviations: one dark grain is no stroke. */
static const float CLIP = 8;
/* Depths where the three stretches begin and end: near 0 to B, far A to the band's end, all. */
static const double STRETCH_A_MM = 5, STRETCH_B_MM = 6.5;
/* A stroke's sum stands out of the texture's sums by so many of their standard deviations. Some thousand independent
 * lines are looked at in a band and some dozen bands in a photo; normal chance would be content with 5, texture has
 * longer tails. */
static const double SIGNIFICANT = 7;
/* Two candidates less apart, mm, are the same stroke. */
static const double SAME_MM = 2;
/* Every so many sums tell the texture's spread. */
enum { EVERY = 7 };
/* What is taken out with a stroke to either side of it, mm. */
static const double TAKEN_MM = 1;
/* The stretches, and what two of them have in common. */
enum { EARLY, LATE, WHOLE, STRETCHES, NEAR = 0, MIDDLE, FAR };
/* Sums are worked out so many at a time, which the compiler makes into one vector operation. */
enum { LANES = 8 };

typedef struct line_search {
    const sw_band *band;
    float *dip;             /* rows x stride, in standard deviations */
    size_t stride;          /* columns and LANES more, which are 0 */
    int places, slants;     /* places: a multiple of LANES */
    int first_place;        /* column of place 0 */
    double slant_step;      /* mm along per mm in */
    float *sum[STRETCHES];  /* slants x places, in standard deviations */
    float scale[STRETCHES]; /* of a dip in them */
    double *work;
} line_search;

static double slope_of(const line_search *s, int slant)
{
    return (slant - (s->slants - 1) / 2) * s->slant_step;
}

static double at_of(const line_search *s, int place)
{
    return sw_band_along(s->band, s->first_place + place);
}

/* Dips of one row, not yet in standard deviations. run: room for columns + 1. */
static void row_dips(const sw_band *band, int row, double *run, float *out)
{
    const float *v = band->light + (size_t)row * (size_t)band->columns;
    int n = band->columns, from = (int)fmax(SIDE_FROM_LEAST, round(SIDE_FROM_MM / band->pitch_mm));
    int side = (int)fmax(SIDE_LEAST, round((SIDE_TO_MM - SIDE_FROM_MM) / band->pitch_mm));
    run[0] = 0;
    for (int c = 0; c < n; c++) /* a hidden sample makes all sums after it NaN; they begin anew behind it */
        run[c + 1] = isnan(v[c]) ? 0 : run[c] + v[c];
    int bare = 0; /* samples since the last hidden one */
    for (int c = 0; c < n; c++)
        out[c] = 0;
    for (int c = 0; c < n; c++) {
        bare = isnan(v[c]) ? 0 : bare + 1;
        int middle = c - from - side + 1;
        if (bare < 2 * (from + side) - 1 || middle - from - side + 1 < 0)
            continue;
        double low = run[middle - from + 1] - run[middle - from + 1 - side], high = run[c + 1] - run[c + 1 - side];
        double less = fmin(low, high) / side;
        if (less > 0)
            out[middle] = (float)((less - v[middle]) / less);
    }
}

static void make_dips(line_search *s)
{
    const sw_band *band = s->band;
    size_t all = (size_t)band->rows * s->stride, n = 0;
    for (int r = 0; r < band->rows; r++)
        row_dips(band, r, s->work, s->dip + (size_t)r * s->stride);
    for (size_t i = 0; i < all; i += EVERY)
        if (s->dip[i] != 0)
            s->work[n++] = s->dip[i];
    if (n == 0)
        return;
    double middle = sw_median(s->work, n), sd = sw_mad_sigma(s->work, n, middle);
    float scale = sd > 0 ? (float)(1 / sd) : 0, centre = (float)middle;
    for (size_t i = 0; i < all; i++)
        if (s->dip[i] != 0)
            s->dip[i] = fminf(CLIP, fmaxf(-CLIP, (s->dip[i] - centre) * scale));
}

/* Column of a line's place 0 in a row. */
static int first_of(const line_search *s, int row, int slant)
{
    return s->first_place + (int)lround(slope_of(s, slant) * sw_band_depth(s->band, row) / s->band->pitch_mm);
}

static void add_row(const line_search *s, int row, int slant, float *sum)
{
    const float *dip = s->dip + (size_t)row * s->stride + first_of(s, row, slant);
    for (int p = 0; p < s->places; p += LANES)
        for (int k = 0; k < LANES; k++)
            sum[p + k] += dip[p + k];
}

static int part_of(const line_search *s, int row)
{
    double depth = sw_band_depth(s->band, row);
    return depth < STRETCH_A_MM ? NEAR : depth < STRETCH_B_MM ? MIDDLE : FAR;
}

/* The stretches overlap, so what they have in common is summed once. */
static void sum_lines(line_search *s)
{
    for (int j = 0; j < s->slants; j++)
        for (int r = 0; r < s->band->rows; r++)
            add_row(s, r, j, s->sum[part_of(s, r)] + (size_t)j * (size_t)s->places);
    const size_t all = (size_t)s->slants * (size_t)s->places;
    float *near = s->sum[NEAR], *middle = s->sum[MIDDLE], *far = s->sum[FAR];
    for (size_t i = 0; i < all; i++) {
        float early = near[i] + middle[i], late = middle[i] + far[i], whole = near[i] + late;
        s->sum[EARLY][i] = early;
        s->sum[LATE][i] = late;
        s->sum[WHOLE][i] = whole;
    }
}

/* Sums become standard deviations of all of them. */
static void rate_sums(line_search *s, int which)
{
    float *sum = s->sum[which];
    size_t all = (size_t)s->slants * (size_t)s->places, n = 0;
    for (size_t i = 0; i < all; i += EVERY)
        s->work[n++] = sum[i];
    double middle = sw_median(s->work, n), sd = sw_mad_sigma(s->work, n, middle);
    float scale = sd > 0 ? (float)(1 / sd) : 0, centre = (float)middle;
    s->scale[which] = scale;
    for (size_t i = 0; i < all; i++)
        sum[i] = (sum[i] - centre) * scale;
}

static sw_status start(line_search *s, double reach_mm)
{
    const sw_band *band = s->band;
    double deep = sw_band_depth(band, band->rows - 1);
    s->slant_step = band->pitch_mm / deep;
    s->slants = 2 * (int)floor(SW_TICK_SLANT / s->slant_step) + 1;
    s->first_place = (int)ceil((-reach_mm - band->first_mm) / band->pitch_mm);
    s->places = (band->columns - 2 * s->first_place + LANES - 1) / LANES * LANES;
    s->stride = (size_t)band->columns + LANES;
    size_t cells = (size_t)s->slants * (size_t)s->places, all = (size_t)band->rows * s->stride;
    size_t room = (cells > all ? cells : all) / EVERY + 2;
    s->dip = calloc(all + 1, sizeof *s->dip);
    s->work = malloc((room + (size_t)s->stride) * sizeof *s->work);
    for (int k = 0; k < STRETCHES; k++)
        s->sum[k] = calloc(cells + 1, sizeof *s->sum[k]);
    return !s->dip || !s->work || !s->sum[0] || !s->sum[1] || !s->sum[2] ? SW_NO_MEMORY : SW_OK;
}

static void end(line_search *s)
{
    free(s->dip);
    free(s->work);
    for (int k = 0; k < STRETCHES; k++)
        free(s->sum[k]);
}

/* The line that stands out most; its stretch's rows. False when none does. */
static bool best_line(const line_search *s, sw_tick *out, int *from_row, int *to_row)
{
    const size_t all = (size_t)s->slants * (size_t)s->places;
    size_t best = 0;
    int which = -1;
    float most = (float)SIGNIFICANT;
    for (int k = 0; k < STRETCHES; k++)
        for (size_t i = 0; i < all; i++)
            if (s->sum[k][i] > most) {
                most = s->sum[k][i];
                best = i;
                which = k;
            }
    if (which < 0)
        return false;
    *out = (sw_tick){.at_mm = at_of(s, (int)(best % (size_t)s->places)),
                     .slope = slope_of(s, (int)(best / (size_t)s->places)),
                     .significance = most};
    double from = which == LATE ? STRETCH_A_MM : 0, to = which == EARLY ? STRETCH_B_MM : INFINITY;
    *from_row = s->band->rows;
    *to_row = 0;
    for (int r = s->band->rows - 1; r >= 0; r--)
        if (sw_band_depth(s->band, r) >= from && sw_band_depth(s->band, r) < to) {
            *from_row = r;
            *to_row = *to_row ? *to_row : r + 1;
        }
    return true;
}

/* Takes a stroke out of the rows and out of every sum it is part of, so that the next one shows. */
static void take_out(line_search *s, const sw_tick *stroke)
{
    const int wide = (int)ceil(TAKEN_MM / s->band->pitch_mm);
    for (int r = 0; r < s->band->rows; r++) {
        float *dip = s->dip + (size_t)r * s->stride;
        int part = part_of(s, r);
        double along = stroke->at_mm + stroke->slope * sw_band_depth(s->band, r);
        int middle = (int)lround((along - s->band->first_mm) / s->band->pitch_mm);
        const int low = middle - wide > 0 ? middle - wide : 0, high = (int)fmin(middle + wide, s->band->columns - 1);
        for (int j = 0; j < s->slants; j++) {
            int first = first_of(s, r, j);
            float *sums[STRETCHES];
            for (int k = 0; k < STRETCHES; k++)
                sums[k] = s->sum[k] + (size_t)j * (size_t)s->places;
            for (int c = low > first ? low : first; c <= high && c - first < s->places; c++)
                for (int k = 0; k < STRETCHES; k++)
                    if (part == MIDDLE || k == WHOLE || (k == EARLY) == (part == NEAR))
                        sums[k][c - first] -= dip[c] * s->scale[k];
        }
        for (int c = low; c <= high; c++)
            dip[c] = 0;
    }
}

/* Lines across a stroke lead to it once more, less well than the best one did. */
static bool is_new(const sw_tick *tick, const sw_tick *found, int count)
{
    for (int k = 0; k < count; k++)
        if (fabs(found[k].at_mm - tick->at_mm) < SAME_MM)
            return false;
    return true;
}

sw_status sw_ticks_find(const sw_band *band, double reach_mm, double blur_mm, sw_tick strokes[SW_TICKS_MOST],
                        int *found)
{
    line_search s = {.band = band};
    *found = 0;
    if (band->rows < 4)
        return SW_OK;
    if (start(&s, reach_mm)) {
        end(&s);
        return SW_NO_MEMORY;
    }
    make_dips(&s);
    sum_lines(&s);
    for (int k = 0; k < STRETCHES; k++)
        rate_sums(&s, k);
    for (int tries = 0; tries < 2 * SW_TICKS_MOST && *found < SW_TICKS_MOST; tries++) {
        sw_tick rough;
        int from_row, to_row;
        if (!best_line(&s, &rough, &from_row, &to_row))
            break;
        sw_tick fine = rough;
        if (!sw_tick_fit(band, blur_mm, from_row, to_row, &fine)) {
            if (fabs(fine.at_mm) <= reach_mm && is_new(&fine, strokes, *found))
                strokes[(*found)++] = fine;
            take_out(&s, &fine);
        }
        take_out(&s, &rough);
    }
    end(&s);
    return SW_OK;
}
