/* notes.h - what a calibration's photos lack, in plain words. */
#ifndef SW_SCALE_CALIBRATE_NOTES_H
#define SW_SCALE_CALIBRATE_NOTES_H

#include "scale/calibrate/calibrate.h"

/* *covered: share of the frame within a square of some corner kept, 0 to 1. A note names the parts of the frame (as the
 * photo is shown) that the board never, or hardly, reached. Of frame only its size and orientation are read. */
sw_status sw_note_coverage(const sw_view *views, size_t count, const sw_photo *frame, sw_notes *notes, double *covered);

/* How many of the views lie differently: turned or shifted against one another by more than a hand's tremble. */
size_t sw_distinct_views(const sw_view *views, size_t count);

/* Notes on what was found out about the board and the fit: bent, stretched, blurred. */
sw_status sw_note_board(const sw_view *views, size_t count, const sw_lens *lens, const sw_solution *solution,
                        sw_notes *notes);

#endif
