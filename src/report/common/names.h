/* names.h - names and round figures that more than one writer needs. */
#ifndef SW_REPORT_COMMON_NAMES_H
#define SW_REPORT_COMMON_NAMES_H

#include <stdbool.h>

#include "inspection/names.h"
#include "seamwright/inspection.h"

/* Edges that run from north to south, as upright seams do; the others run from west to east. */
static inline bool sw_side_upright(sw_side side)
{
    return side == SW_EAST || side == SW_WEST;
}

/* Where places along an upright or a level seam or edge are counted from: "from its north end", "from its west end". */
const char *sw_from_end(bool upright);
/* Name of the seam an advice is about; "" when it is about none (an edge at the table's rim). */
const char *sw_advice_seam(const sw_inspection *inspection, const sw_advice *advice);
/* "100/60", "100", "99.6x99.8/59.7x59.9" as the command line takes it. */
void sw_reference_name(const sw_reference *reference, char *name, size_t room);
/* "profile", "estimated", "none". */
const char *sw_lens_source_name(sw_lens_source source);

/* How many times larger to draw what is `size_mm`, so that it takes `room_mm` at most: the largest of 100, 50, 20, ...
 * 2, 1 that does, and is not more than `most`. */
int sw_times_larger(double size_mm, double room_mm, int most);

#endif
