/* told.h - whether the photo contradicts the size of tile that it is read with: seams that nothing shows, or lines through all tiles. */
#ifndef SW_TABLE_TOLD_H
#define SW_TABLE_TOLD_H

#include <stdbool.h>

#include "table/block.h"

typedef enum sw_told {
    SW_TOLD_FITS,
    SW_TOLD_TOO_SMALL, /* seams of the larger tiles show, and none between them */
    SW_TOLD_NO_SEAM,   /* no seam shows at all: one tile, or a table whose seams are closed */
    SW_TOLD_TOO_LARGE  /* lines like the seams run through all tiles */
} sw_told;

/* The table that the photo shows. */
typedef struct sw_shown {
    int columns, rows;
    double tile_mm;
} sw_shown;

/* b: the table as it is read with tiles of the size told. *shown is set but where it fits. */
sw_told sw_told_judge(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b,
                      sw_shown *shown);

/* Where no size was told: whether fainter lines run through all tiles of b, so that they may be smaller and nearly closed. *shown: the table that it
 * would be. */
bool sw_told_faint(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b,
                   sw_shown *shown);

#endif
