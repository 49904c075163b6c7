/* unseen.h - seams of which a good part was not seen. */
#ifndef SW_INSPECT_UNSEEN_H
#define SW_INSPECT_UNSEEN_H

#include "seam/measure.h"
#include "seamwright/inspection.h"

/* Adds a note for the seams beside which another line runs, for those that are much softer than the cards, for tiles that are not there, and for a
 * patterned floor. SW_NO_MEMORY. */
sw_status sw_note_lines_beside(sw_inspection *inspection, const sw_traces *traces);

/* SW_NOT_FOUND where the floor shows in the place of a whole outer row or column, or of all tiles but one: that is no such table.
 * SW_NO_MEMORY. */
sw_status sw_refuse_misread(const sw_inspection *inspection, const sw_traces *traces, sw_error *err);

/* Adds a note to the inspection for each seam of which a good part was not seen. SW_NO_MEMORY. */
sw_status sw_note_unseen(sw_inspection *inspection);

#endif
