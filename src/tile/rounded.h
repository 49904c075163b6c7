/* rounded.h - how far a tile's rims are rounded. */
#ifndef SW_TILE_ROUNDED_H
#define SW_TILE_ROUNDED_H

#include "seamwright/report.h"
#include "track/track.h"

/* Fills the edges' rim_mm and rim_u95_mm from the tracks. */
void sw_rims_to_tiles(const sw_tracks *tracks, sw_inspection *inspection);

#endif
