/* jigsaw.h - tables whose best arrangement is known: a sheet cut into tiles by crooked lines, which close again where
 * they were cut. */
#ifndef SW_SUPPORT_JIGSAW_H
#define SW_SUPPORT_JIGSAW_H

#include <stdint.h>

#include "seamwright/report.h"

/* How crooked the cuts are, mm: random slopes (over a tile), bows and waves of up to so much. */
typedef struct jigsaw_cut {
    double slope, bow, wave;
    double rough; /* each edge's own noise, mm rms, the same over 22 mm or so as in a photo */
} jigsaw_cut;

/* An inspection of a cut sheet in which place p of the sheet, row after row, holds tile order[p], turned clockwise by
 * turns[p] quarters when it lies as cut. So the arrangement that closes is: at place p tile order[p] turned by
 * turns[p]. Only what sw_arrange needs is filled: table, tiles with outlines. Free with sw_inspection_free. */
sw_inspection jigsaw_make(int columns, int rows, const jigsaw_cut *cut, const int *order, const int *turns,
                          uint32_t *seed);

/* A random order and turns. */
void jigsaw_shuffle(int count, int *order, int *turns, uint32_t *seed);

#endif
