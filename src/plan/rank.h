/* rank.h - a line of advice for every seam, from what the whole table needs. */
#ifndef SW_PLAN_RANK_H
#define SW_PLAN_RANK_H

#include "seamwright/report.h"

/* Fills inspection->ranking from its tiles and seams. SW_NO_MEMORY. */
sw_status sw_rank(sw_inspection *inspection, sw_error *err);

#endif
