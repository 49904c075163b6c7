/* budgets.h - the uncertainty budgets of a few figures that stand for all of their kind. */
#ifndef SW_TILE_BUDGETS_H
#define SW_TILE_BUDGETS_H

#include "seamwright/report.h"

/* Fills inspection->budgets from the parts that tiles and seams keep; both must be made. A figure that was not
 * measured, or whose parts are not known, has no budget. */
void sw_budgets_make(sw_inspection *inspection);

/* A plain sentence: the one thing that would lower this part of a figure, with this scale. */
const char *sw_budget_remedy(const sw_scale *scale, sw_part part, sw_budget_figure figure);

/* Where a part of a figure comes from: the photo, the lens profile, or nowhere but from us. */
sw_part_kind sw_budget_kind(const sw_scale *scale, sw_part part);

/* What is left out of the figure's uncertainty, where it is of interest: fills left_out and note of lines that are not
 * included, and returns how many. index: of the seam, or 4 times the tile and the corner or side. */
size_t sw_budget_left_out(const sw_inspection *inspection, sw_budget_figure figure, size_t index,
                          sw_budget_line lines[SW_PART_COUNT]);

#endif
