/* say.h - what an arrangement says besides its figures. */
#ifndef SW_ARRANGE_SAY_H
#define SW_ARRANGE_SAY_H

#include "push/outline_at.h"
#include "seamwright/arrange.h"

/* Notes on what was assumed and not seen. */
sw_status sw_arrange_say_notes(const sw_inspection *first, const sw_outline *outlines, sw_arrangement *arrangement,
                               sw_error *err);

/* The ± that a widest gap has on this table: the median of the seams'. NaN when none was seen. */
double sw_arrange_usual_u95(const sw_inspection *first);

/* Fills next. */
void sw_arrange_say_next(const sw_inspection *first, sw_arrangement *arrangement);

#endif
