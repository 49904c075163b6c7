/* copy.h - a second inspection, independent of the first. */
#ifndef SW_INSPECTION_COPY_H
#define SW_INSPECTION_COPY_H

#include "seamwright/report.h"

/* Everything but the ranking and the repeatability. Free *to with sw_inspection_free; on failure it is zeroed. */
sw_status sw_inspection_copy(const sw_inspection *from, sw_inspection *to, sw_error *err);

#endif
