/* tile_size.h - tiles are of one size: a rim that would make one much smaller than the others was not it. */
#ifndef SW_TRACK_TILE_SIZE_H
#define SW_TRACK_TILE_SIZE_H

#include "seam/measure.h"
#include "track/track.h"

/* Beside a step, where shade may pass for gap: stations of a seam that would make a tile much smaller than the table's usual one are not
 * seen. SW_NO_MEMORY. */
sw_status sw_tile_sizes_judge(const sw_traces *traces, sw_tracks *tracks);

#endif
