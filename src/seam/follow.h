/* follow.h - the path of a seam or a rim near its predicted place. */
#ifndef SW_SEAM_FOLLOW_H
#define SW_SEAM_FOLLOW_H

#include "seam/trace.h"

/* Finds the path: the smooth line of missing light (a seam) or of the brightness step (the table's rim) near the prediction. */
sw_status sw_trace_follow(const sw_photo *photo, sw_trace *trace, sw_error *err);

#endif
