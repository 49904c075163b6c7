/* rims_mm.h - from pixels to rims: a trace in millimetres. */
#ifndef SW_TRACK_RIMS_MM_H
#define SW_TRACK_RIMS_MM_H

#include "seam/measure.h"
#include "track/track.h"

/* Turns a read trace into a track: rims in mm, chips set apart, smoothed, and how uncertain the gap is. side gives the frame; rise_mm how far the first and the second tile's top stand
 * above the mm frame's plane (that of a tile that is not there does not matter; NULL: level): each rim is taken to mm on its own
 * tile's level. */
sw_status sw_track_make(const sw_trace *trace, const sw_scale *scale, const sw_grid_side *side, const sw_top tops[2],
                        sw_track *track, sw_error *err);

/* What a blur that is not everywhere the cards' makes of a gap, and one that is wider than a lens's in focus, px; standard uncertainties. */
double sw_uneven_u_px(const sw_scale *scale);
double sw_soft_u_px(const sw_scale *scale);

/* All traces of a table, each rim on its tile's level (grid->tops). */
sw_status sw_tracks_make(const sw_traces *traces, const sw_scale *scale, const sw_grid *grid, sw_tracks *tracks,
                         sw_error *err);

#endif
