/* tiles_size.h - the size of the tiles as measured. */
#ifndef SW_INSPECTION_TILES_SIZE_H
#define SW_INSPECTION_TILES_SIZE_H

#include "seamwright/inspection.h"

/* Median length of all edges, mm; its u95 as that of one edge, since what makes lengths wrong is common to all of them. NaN where none
 * was measured. u95_mm may be NULL. */
double sw_tiles_size(const sw_inspection *inspection, double *u95_mm);

#endif
