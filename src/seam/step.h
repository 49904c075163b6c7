/* step.h - seams whose two tops stand at different heights: which stations can be believed. */
#ifndef SW_SEAM_STEP_H
#define SW_SEAM_STEP_H

#include "seam/measure.h"

/* Where the near tile is the higher one it hides part of the gap, perhaps all of it. Stations of which nothing is left to
 * see are marked as not seen. grid->rise_mm says how high the tops stand; a level table is left alone. */
void sw_steps_judge(const sw_grid *grid, sw_traces *traces);

#endif
