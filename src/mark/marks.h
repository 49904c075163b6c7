/* marks.h - the half-way marks of a table. */
#ifndef SW_MARK_MARKS_H
#define SW_MARK_MARKS_H

#include "seamwright/report.h"
#include "table/grid.h"

/* Fills inspection->marks; tiles and seams must be made already. */
sw_status sw_marks_make(const sw_photo *photo, const sw_grid *grid, sw_inspection *inspection, sw_error *err);

/* The step of every seam that has both its marks, from their places; NaN for the others. */
void sw_marks_pair(sw_inspection *inspection);

#endif
