/* tellings.h - cards of one photo that say the tops are not level: whether anything else explains them. */
#ifndef SW_INSPECT_TELLINGS_H
#define SW_INSPECT_TELLINGS_H

#include "table/tops.h"

typedef enum sw_telling {
    SW_TELLS_UNEVEN, /* only tops that are not level explain the cards */
    SW_TELLS_EITHER, /* so do level tops seen by another lens than the profile's */
    SW_TELLS_LEVEL,  /* level tops explain them as well */
    SW_TELLS_LENS,   /* level tops by another lens do, and with the profile the tops would slant as none do */
    SW_TELLS_NOTHING /* the tops would slant or stand apart as none do, and nothing else explains the cards */
} sw_telling;

/* Scales fitted to the same cards: with level tops, with level tops and no profile (the same where none was given; no squares: not
 * known), and on the tops as they were measured. */
sw_telling sw_tops_telling(const sw_scale *level, const sw_scale *own, const sw_scale *uneven, const sw_tops *tops);

/* Tops as told against tops as the cards say: SW_TELLS_NOTHING where the cards as fitted on the first leave over far more than on the second. *column and
 * *row are then of the tile that differs most, *higher_mm is how much higher it was told than its card says. */
sw_telling sw_tops_told_telling(const sw_scale *told_scale, const sw_scale *cards_scale, const sw_tops *told,
                                const sw_tops *cards, int *column, int *row, double *higher_mm);

/* Root mean square slope of the tops that tell, degrees. */
double sw_tops_slant_deg(const sw_tops *tops);

#endif
