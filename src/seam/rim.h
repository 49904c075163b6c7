/* rim.h - the rim of a tile at the table's own rim: one step from the top to whatever lies behind. */
#ifndef SW_SEAM_RIM_H
#define SW_SEAM_RIM_H

#include "seam/trace.h"

/* Reads the one rim of a side at the table's own rim. */
sw_status sw_trace_read_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *trace, sw_error *err);

#endif
