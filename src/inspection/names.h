/* names.h - names of places on a table that sentences need. */
#ifndef SW_INSPECTION_NAMES_H
#define SW_INSPECTION_NAMES_H

#include "seamwright/inspection.h"

/* "north end" or "west end" of an edge for far 0, "south end" or "east end" for far 1. */
const char *sw_end_name(sw_side side, int far);

#endif
