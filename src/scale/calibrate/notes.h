/* notes.h - what a calibration's photos lack, in plain words. */
#ifndef SW_SCALE_CALIBRATE_NOTES_H
#define SW_SCALE_CALIBRATE_NOTES_H

#include "scale/calibrate/calibrate.h"

/* Adds a sentence (printf style). When the notes are full, the last one says so. */
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void sw_note(sw_notes *notes, const char *format, ...);

/* Share of the frame within a square of some corner kept, 0 to 1; and a note that names the parts of the frame (as the
 * photo is shown with this orientation tag) that the board never, or hardly, reached. */
double sw_coverage(const sw_view *views, size_t count, int width_px, int height_px, int orientation, sw_notes *notes);

/* How many of the views lie differently: turned or shifted against one another by more than a hand's tremble. */
size_t sw_distinct_views(const sw_view *views, size_t count);

/* Notes on what was found out about the board and the fit: bent, stretched, blurred. */
void sw_note_board(const sw_view *views, size_t count, const sw_lens *lens, const sw_solution *solution,
                   sw_notes *notes);

#endif
