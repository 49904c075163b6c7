/* tiles_size.h - the size of the tiles as measured. */
#ifndef SW_INSPECTION_TILES_SIZE_H
#define SW_INSPECTION_TILES_SIZE_H

#include "seamwright/inspection.h"

/* Median length of all edges, mm; its u95 as that of one edge, since what makes lengths wrong is common to all of them. NaN where none
 * was measured. u95_mm may be NULL. */
double sw_tiles_size(const sw_inspection *inspection, double *u95_mm);

/* By how much, as a share, tiles measure more than they were told to; 0 where no size was told, or they are of it: makers keep 0.5 % (common practice,
 * no source), cards as printed 0.4 to 1 %. */
double sw_tiles_size_off(const sw_inspection *inspection);

#endif
