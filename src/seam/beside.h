/* beside.h - lines and edges that run beside a seam: pencil lines, cables, the edge of a shadow. Which of two lines is the seam cannot be
 * told for sure, and the tops' light is not the one at the rims. */
#ifndef SW_SEAM_BESIDE_H
#define SW_SEAM_BESIDE_H

#include "seam/reading.h"

/* Marks stations with such a line or edge within BESIDE_MM as not seen, and as `doubled`. Does nothing beside a step, whose own bands look
 * like that. Call while the reading has its pixel lines. SW_NO_MEMORY. */
sw_status sw_beside_judge(const sw_scale *scale, sw_trace *trace, const sw_seam_reading *reading, int reach);

#endif
