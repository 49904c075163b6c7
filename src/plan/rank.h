/* rank.h - which edge first, and what to do about it: the first version, seam by seam. */
#ifndef SW_RANK_H
#define SW_RANK_H

#include "seamwright/report.h"

/* Fills inspection->ranking from its tiles and seams. */
sw_status sw_rank(sw_inspection *inspection, sw_error *err);

#endif
