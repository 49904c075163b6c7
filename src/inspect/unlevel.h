/* unlevel.h - what one photo cannot tell of the tops, and what would. */
#ifndef SW_INSPECT_UNLEVEL_H
#define SW_INSPECT_UNLEVEL_H

#include "seamwright/inspect.h"
#include "table/tops.h"

/* Adds a note that tops are not level, where cards say so; and one that names the seams whose uncertainty is mostly that of a step
 * nobody knows, and what to do about it. SW_NO_MEMORY. */
sw_status sw_note_unlevel(const sw_tops *tops, sw_inspection *inspection);

#endif
