/* beside.h - lines and edges that run beside a seam: pencil lines, cables, the edge of a shadow. Which of two lines is the seam cannot be
 * told for sure, and the tops' light is not the one at the rims. */
#ifndef SW_SEAM_BESIDE_H
#define SW_SEAM_BESIDE_H

#include "seam/reading.h"
#include "seam/top_light.h"

/* Marks stations with such a line or edge within BESIDE_MM as not seen, and as `doubled`. Does nothing beside a step, whose own bands look
 * like that. beside: light of the tiles on the low and on the high side. Call while the reading has its pixel lines. SW_NO_MEMORY. */
sw_status sw_beside_judge(const sw_scale *scale, const sw_top_light *const beside[2], sw_trace *trace,
                          const sw_seam_reading *reading, int reach);

#endif
