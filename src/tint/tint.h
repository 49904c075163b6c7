/* tint.h - whether something of another colour lies across a seam, or beside it: dust in the gap, tape, wood, a hand.
 *
 * A tint is chroma over luma, both as stored. Light and shade of one colour keep it: stored values are a power of the light, so all three
 * fall by one factor. See README.md.
 */
#ifndef SW_TINT_TINT_H
#define SW_TINT_TINT_H

#include "seamwright/photo.h"
#include "seamwright/scale.h"

typedef struct sw_tint {
    double blue, red; /* Cb and Cr over luma; NaN: not known */
} sw_tint;

/* The tint of a tile's top. */
typedef struct sw_top_tint {
    sw_tint usual; /* NaN: the photo is grey, or nothing of the tile was seen */
    double spread; /* of patches as large as a finger nail about it */
    double noise;  /* standard deviation of colours.h's sums over 16 px of it, a few stations together, levels px */
} sw_top_tint;

/* middle: of the tile, half_mm: half its side; cards are left out. */
void sw_top_tint_read(const sw_photo *photo, const sw_scale *scale, sw_point middle_mm, double half_mm,
                      sw_top_tint *top);

/* One place along a seam, crossed along the photo's rows (along_row) or columns. */
typedef struct sw_tint_station {
    int line;                       /* pixel row or column */
    double low_rim_px, high_rim_px; /* places along it between which the gap was read */
    bool seen;                      /* others are neither read nor judged */
    bool gap;                       /* out: a thing of another colour lies in the gap */
    bool side;                      /* out: one lies beside it */
} sw_tint_station;

/* Judges the stations of a seam, spacing_mm apart. tops: of the low and the high side. SW_NO_MEMORY. A grey photo has no coloured station. */
sw_status sw_tint_judge(const sw_photo *photo, bool along_row, const sw_top_tint *const tops[2], double blur_px,
                        double spacing_mm, sw_tint_station *stations, int count);

#endif
