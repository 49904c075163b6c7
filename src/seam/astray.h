/* astray.h - lines that were followed and are not the seam: a pencil line, a strip, the edge of a shadow beside a seam that is closed. */
#ifndef SW_SEAM_ASTRAY_H
#define SW_SEAM_ASTRAY_H

#include "seam/measure.h"

/* Sets `astray` of seams whose line makes the tile at one side too narrow and the one at the other side too wide by about as much. Call when
 * all traces are followed. SW_NO_MEMORY. */
sw_status sw_astray_judge(const sw_scale *scale, const sw_grid *grid, sw_traces *traces);

#endif
