/* outline.h - tiles and seams in figures, from the tracks of their rims. */
#ifndef SW_TILE_OUTLINE_H
#define SW_TILE_OUTLINE_H

#include "seamwright/report.h"
#include "track/track.h"

/* The track of a tile's side, and which of its rims belongs to the tile. */
const sw_track *sw_side_track(const sw_tracks *tracks, int column, int row, sw_side side, int *rim);

/* Fills inspection->tiles (names, corners, edges, chips at the table's rim). The inspection's scale and table must be set. */
sw_status sw_tiles_make(const sw_tracks *tracks, sw_inspection *inspection, sw_error *err);

/* Fills inspection->seams; the tiles must be made already. */
sw_status sw_seams_make(const sw_tracks *tracks, sw_inspection *inspection, sw_error *err);

/* Length of a rim over which smoothed places still move together, mm: about this far apart they count as independent. */
#define SW_INDEPENDENT_MM 22.0

#endif
