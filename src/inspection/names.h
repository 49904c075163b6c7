/* names.h - names of places on a table that sentences need. */
#ifndef SW_INSPECTION_NAMES_H
#define SW_INSPECTION_NAMES_H

#include "seamwright/inspection.h"

/* "north end" or "west end" of an edge for far 0, "south end" or "east end" for far 1. */
const char *sw_end_name(sw_side side, int far);

enum { EDGE_NAME_ROOM = 24 }; /* "Z99 north" with room to spare */

/* "A1 east" into name; "" for an index that is no tile. Returns name. */
const char *sw_edge_name(const sw_inspection *inspection, int tile, sw_side side, char name[EDGE_NAME_ROOM]);

#endif
