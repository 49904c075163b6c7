/* tops.h - how high the tops stand: what is not known yet, and what follows from what is. */
#ifndef SW_INSPECTION_TOPS_H
#define SW_INSPECTION_TOPS_H

#include <math.h>

#include "seamwright/inspection.h"

/* A tile's or a seam's figures of height and rim as they are before anything is known: NaN, rises 0. */
void sw_tile_unknown(sw_tile *tile);
void sw_seam_unknown(sw_seam *seam);
void sw_tops_unknown(sw_inspection *inspection);

/* Whether a tile's height is known. */
static inline bool sw_height_known(const sw_tile *tile)
{
    return isfinite(tile->height_mm) && isfinite(tile->height_u95_mm);
}

/* How far a tile's top stands above the mm frame's plane at a place. */
double sw_rise_at(const sw_tile *tile, sw_point mm);

/* From the rises (and slopes) of all tiles whose height_u95_mm is not NaN: height_mm against their median; tilt_deg where
 * tilt_u95_deg is not NaN; and the seams' steps between two such tiles, with the uncertainties of two tiles that have
 * nothing in common. Tiles and seams must be made. */
void sw_tops_settle(sw_inspection *inspection);

#endif
