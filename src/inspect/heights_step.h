/* heights_step.h - tiles of unequal height on their way through an inspection: before the seams are read, and what to
 * say of it afterwards. */
#ifndef SW_INSPECT_HEIGHTS_STEP_H
#define SW_INSPECT_HEIGHTS_STEP_H

#include "photo/small.h"
#include "seamwright/inspect.h"
#include "table/grid.h"
#include "table/heights.h"

/* After the table is found as if it were level: reads the user's heights. Where tops differ, the squares are fitted
 * again, each on its own tile's level, and the table is found again; grid->rise_mm says how far each tile stands above
 * the mm frame's plane. */
sw_status sw_heights_settle(const sw_photo *photo, const sw_photo *seen, const sw_small *small,
                            const sw_options *options, const sw_reference *reference, sw_inspection *inspection,
                            sw_grid *grid, sw_heights *heights, sw_error *err);

/* Writes the heights into the tiles; where tops differ, the tiles' nominal side becomes that of the tiles as measured.
 */
void sw_heights_note(const sw_heights *heights, sw_inspection *inspection);

/* Adds a note when there are tiles whose height was not given although others' were. */
sw_status sw_heights_assumed(const sw_heights *heights, sw_notes *notes);
/* Adds a note on the seams, no tile's height being given, where a step of 1 mm would fake or hide more than the tolerance
 * or than the figure's own uncertainty. */
sw_status sw_heights_faked(const sw_options *options, sw_inspection *inspection);

/* Up to how wide a gap this seam's higher tile hides from the camera; 0: none. */
double sw_heights_hide_mm(const sw_inspection *inspection, const sw_seam *seam);

#endif
