/* outline.h - tiles and seams in figures, from the tracks of their rims. */
#ifndef SW_TILE_OUTLINE_H
#define SW_TILE_OUTLINE_H

#include "seam/track.h"
#include "seamwright/report.h"
#include "table/grid.h"

/* upright[i * rows + j] and level[i * (rows + 1) + j], as sw_traces. Free with sw_tracks_free. */
typedef struct sw_tracks {
    int columns, rows;
    sw_track *upright, *level;
} sw_tracks;

void sw_tracks_free(sw_tracks *tracks);

static inline const sw_track *sw_upright_track(const sw_tracks *t, int line, int row)
{
    return &t->upright[line * t->rows + row];
}

static inline const sw_track *sw_level_track(const sw_tracks *t, int column, int line)
{
    return &t->level[column * (t->rows + 1) + line];
}

/* The track of a tile's side, and which of its rims belongs to the tile. */
const sw_track *sw_side_track(const sw_tracks *tracks, int column, int row, sw_side side, int *rim);

/* Fills inspection->tiles (names, corners, edges, chips at the table's rim). The inspection's scale and table must be set. */
sw_status sw_tiles_make(const sw_tracks *tracks, sw_inspection *inspection, sw_error *err);

/* Fills inspection->seams; the tiles must be made already. */
sw_status sw_seams_make(const sw_tracks *tracks, sw_inspection *inspection, sw_error *err);

/* Length of a rim over which smoothed places still move together, mm: about this far apart they count as independent. */
#define SW_INDEPENDENT_MM 22.0

#endif
