/* say.h - what an arrangement says besides its figures. */
#ifndef SW_ARRANGE_SAY_H
#define SW_ARRANGE_SAY_H

#include "push/outline_at.h"
#include "seamwright/arrange.h"

/* Notes on what was assumed and not seen. */
sw_status sw_arrange_say_notes(const sw_inspection *first, const sw_outline *outlines, sw_arrangement *arrangement,
                               sw_error *err);

/* Fills next. */
void sw_arrange_say_next(sw_arrangement *arrangement);

#endif
