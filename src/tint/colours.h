/* colours.h - the colours along a seam as across.c reads them and judge.c weighs them. Inside this room. */
#ifndef SW_TINT_COLOURS_H
#define SW_TINT_COLOURS_H

#include "tint/tint.h"

/* The tops are read over so many px. */
enum { SW_TINT_TOP_PX = 16 };

/* Cb and Cr, 0 where there is no colour, in stored levels of 8 bits. */
typedef struct sw_chroma {
    double blue, red;
} sw_chroma;

/* What lies across one station. */
typedef struct sw_tint_reading {
    sw_chroma own;    /* colour that light and shade of the tops do not explain, levels px */
    sw_chroma top[2]; /* of the low and the high side's top */
    double luma[2];   /* theirs, levels */
    double lacks;     /* luma that is missing, px of the tops' */
    double wide;      /* px that were added up */
    bool read;
} sw_tint_reading;

sw_tint_reading sw_tint_across(const sw_photo *photo, bool along_row, const sw_tint_station *station);

/* The same kind of sum over `half` px of a plain top held against as many beside it, about a pixel of a row or column: noise. NaN outside. */
sw_chroma sw_tint_of_plain_top(const sw_photo *photo, bool along_row, int line, int at, int half);

#endif
