/* judge.c - which stations of a seam have something of another colour in the gap or beside it. README.md tells the limits' figures. */
#include <math.h>
#include <stdlib.h>

#include "maths/running.h"
#include "tint/colours.h"

/* Stations are taken together over so much to either side, mm; of the sides longer than a pencil mark. */
static const double TOGETHER_MM = 1.5, SIDE_TOGETHER_MM = 3;

/* What counts as another colour in the gap: so much of it (levels px), so many times the noise, and such a share of the tops' luma for each px of luma
 * that is missing, as a gap that is brown at its bottom is also dark. The second three only next to a place that has the first. */
typedef struct limits {
    double colour, noises, share;
} limits;
static const limits SURE = {14, 5.5, 0.14}, GOES_ON = {6, 2, 0.05};
/* Where a gap is as wide as so many blurs, its bottom may be in sight and lit: then the share is that much. In between it grows. */
static const double NARROW_BLURS = 4.5, WIDE_BLURS = 7, WIDE_SHARE = 0.4;
/* Luma that the faintest line lacks, px: not known better. */
static const double LACKS_LEAST_PX = 0.3;
/* How much darker than its top a gap may be and be as grey as nothing else of it, share of the luma that it lacks; and how much of its tops' colour phones
 * smear over it. */
static const double GREY_MOST = 0.5, SMEAR_MOST = 1.1;
/* Tops whose colours differ by more, levels, hide a narrow gap as tops of unlike light do: where one gives way to the other is not known. Else it is known
 * to so many px, beyond the gap itself. */
static const double TOPS_DIFFER = 4, CHANGE_PX = 1;
/* Cameras make up two of three colours at each px from its neighbours: where tops' colours meet, a share of their difference is made up, px. */
static const double MADE_UP_PX = 0.5;
/* Beside the seam a top's colour is the tile's within so many levels, or spreads. Clean photos: 99 of 100 within 1 to 3, all within 4. */
static const double SIDE_OFF = 5, SIDE_SPREADS = 6;

/* What was read of the stations, steadied along the seam. */
typedef struct along {
    const sw_tint_reading *readings;
    double *blue, *red, *lacks; /* as in the readings; NaN: not read */
    double *off[2];             /* how far the sides' tint is from their tops', levels */
    double *work;
    int count;
} along;
enum { ARRAYS = 6 };

static bool take_room(const sw_tint_reading *readings, int count, along *a)
{
    size_t n = (size_t)count;
    double *at = malloc(ARRAYS * n * sizeof *at);
    *a = (along){readings, at, at + n, at + 2 * n, {at + 3 * n, at + 4 * n}, at + 5 * n, count};
    return at;
}

static double off_top(const sw_tint_reading *r, int side, const sw_top_tint *top)
{
    return hypot(r->top[side].blue - r->luma[side] * top->usual.blue,
                 r->top[side].red - r->luma[side] * top->usual.red);
}

static void steady(along *a, int half, double *values)
{
    for (int i = 0; i < a->count; i++)
        a->work[i] = values[i];
    sw_running_median(a->work, a->count, half, 1, 1, values);
}

static void take_together(const sw_top_tint *const tops[2], double spacing_mm, along *a)
{
    for (int i = 0; i < a->count; i++) {
        const sw_tint_reading *r = &a->readings[i];
        a->blue[i] = r->read ? r->own.blue : NAN;
        a->red[i] = r->read ? r->own.red : NAN;
        a->lacks[i] = r->read ? r->lacks : NAN;
        for (int side = 0; side < 2; side++)
            a->off[side][i] = r->read ? off_top(r, side, tops[side]) : NAN;
    }
    int half = (int)fmax(1, round(TOGETHER_MM / spacing_mm));
    steady(a, half, a->blue);
    steady(a, half, a->red);
    steady(a, half, a->lacks);
    half = (int)fmax(1, round(SIDE_TOGETHER_MM / spacing_mm));
    steady(a, half, a->off[0]);
    steady(a, half, a->off[1]);
}

/* Takes as much of a colour out of what is left as lies along `c`, between `least` and `most` times it. */
static void take_out(sw_chroma *left, sw_chroma c, double least, double most)
{
    double size = c.blue * c.blue + c.red * c.red;
    if (!(size > 0))
        return;
    double part = fmin(most, fmax(least, (left->blue * c.blue + left->red * c.red) / size));
    left->blue -= part * c.blue;
    left->red -= part * c.red;
}

/* Colour that no gap between these tops has, levels px; below 0: none. What is one top's and was held against the other's is their tints' difference times its luma. */
static double foreign(const along *a, int i, double gap_px)
{
    const sw_tint_reading *r = &a->readings[i];
    const sw_chroma low = {r->top[0].blue / r->luma[0], r->top[0].red / r->luma[0]},
                    high = {r->top[1].blue / r->luma[1], r->top[1].red / r->luma[1]};
    const double luma = fmax(r->luma[0], r->luma[1]), lacks = fmax(0, a->lacks[i]) + LACKS_LEAST_PX;
    sw_chroma left = {a->blue[i], a->red[i]}, change = {luma * (high.blue - low.blue), luma * (high.red - low.red)},
              both = {luma * (low.blue + high.blue) / 2, luma * (low.red + high.red) / 2};
    double differ = fmax(0, hypot(change.blue, change.red) - TOPS_DIFFER),
           moved = differ > 0 ? r->wide / 2 : gap_px / 2 + CHANGE_PX;
    take_out(&left, change, -moved, moved);
    take_out(&left, both, -GREY_MOST * lacks, SMEAR_MOST * lacks);
    return hypot(left.blue, left.red) - MADE_UP_PX * differ;
}

static bool beyond(const limits *l, const along *a, int i, double gap_px, double blur_px, double noise)
{
    const sw_tint_reading *r = &a->readings[i];
    if (isnan(a->blue[i]) || !r->read)
        return false;
    double part =
        r->wide /
        (2 *
         SW_TINT_TOP_PX); /* two stretches of plain top make `noise`, the gap and its share in its tops' level this */
    double colour = foreign(a, i, gap_px), wide = (gap_px / blur_px - NARROW_BLURS) / (WIDE_BLURS - NARROW_BLURS);
    double share = l->share + (WIDE_SHARE - l->share) * fmin(1, fmax(0, wide));
    double luma = fmin(r->luma[0], r->luma[1]), lacks = fmax(0, a->lacks[i]) + LACKS_LEAST_PX;
    return colour > l->colour && colour > l->noises * noise * sqrt(part + part * part) && colour > share * luma * lacks;
}

static void find_in_gap(const along *a, double blur_px, double noise, sw_tint_station *stations)
{
    for (int i = 0; i < a->count; i++)
        stations[i].gap = beyond(&SURE, a, i, stations[i].high_rim_px - stations[i].low_rim_px, blur_px, noise);
    for (int way = -1; way <= 1; way += 2)
        for (int i = way > 0 ? 1 : a->count - 2; i >= 0 && i < a->count; i += way)
            stations[i].gap |= stations[i - way].gap &&
                               beyond(&GOES_ON, a, i, stations[i].high_rim_px - stations[i].low_rim_px, blur_px, noise);
}

static void find_beside(const along *a, const sw_top_tint *const tops[2], sw_tint_station *stations)
{
    for (int i = 0; i < a->count; i++)
        for (int side = 0; side < 2; side++) {
            double spread = SIDE_SPREADS * tops[side]->spread * a->readings[i].luma[side];
            stations[i].side |= a->off[side][i] > fmax(SIDE_OFF, spread);
        }
}

sw_status sw_tint_judge(const sw_photo *photo, bool along_row, const sw_top_tint *const tops[2], double blur_px,
                        double spacing_mm, sw_tint_station *stations, int count)
{
    along a;
    for (int i = 0; i < count; i++)
        stations[i].gap = stations[i].side = false;
    if (!photo->chroma || count < 3 || isnan(tops[0]->usual.blue) || isnan(tops[1]->usual.blue))
        return SW_OK;
    sw_tint_reading *readings = calloc((size_t)count, sizeof *readings);
    if (!readings || !take_room(readings, count, &a)) {
        free(readings);
        return SW_NO_MEMORY;
    }
    for (int i = 0; i < count; i++)
        readings[i] = sw_tint_across(photo, along_row, &stations[i]);
    take_together(tops, spacing_mm, &a);
    find_in_gap(&a, blur_px, fmax(tops[0]->noise, tops[1]->noise), stations);
    find_beside(&a, tops, stations);
    free(readings);
    free(a.blue);
    return SW_OK;
}
