/* heights_step.h - tiles of unequal height: where they come into an inspection, and what to say of them. */
#ifndef SW_INSPECT_HEIGHTS_STEP_H
#define SW_INSPECT_HEIGHTS_STEP_H

#include "seamwright/inspect.h"
#include "table/grid.h"
#include "table/heights.h"

/* The tops of the table in a photo, into grid->tops: as given; else as known from all photos (known, may be NULL); else as the cards
 * tell; else level, within what goes unnoticed. SW_BAD_INPUT: known is another table; SW_NO_MEMORY. */
sw_status sw_tops_of_photo(const sw_heights *heights, const sw_tops *known, const sw_scale *scale, double tile_mm,
                           sw_grid *grid);
/* Makes tops level that are so within within_mm (root mean square) and do not slant; how well they are known stays. */
void sw_tops_lay_level(sw_tops *tops, double within_mm);
/* Makes tops level that need not be: what they were measured to rise goes into how well heights and steps are known. */
void sw_tops_suppose_level(sw_tops *tops);
/* Whether some top lies off the mm frame's plane. */
bool sw_tops_uneven(const sw_tops *tops);
/* The top under each of the scale's squares, as sw_scale_find_on takes it. */
void sw_tops_under_squares(const sw_grid *grid, const sw_scale *scale, sw_top *tops);
/* Writes the grid's tops into the tiles, with what follows for them and the seams; of given heights nothing counts as known where
 * nobody named a tile. Where tops differ, the tiles' nominal side becomes that of the tiles as measured. */
void sw_tops_to_tiles(const sw_grid *grid, sw_inspection *inspection);

/* Adds a note when there are tiles whose height was not given although others' were. */
sw_status sw_heights_assumed(const sw_heights *heights, sw_notes *notes);
/* Up to how wide a gap this seam's higher tile hides from the camera; 0: none. */
double sw_heights_hide_mm(const sw_inspection *inspection, const sw_seam *seam);

#endif
