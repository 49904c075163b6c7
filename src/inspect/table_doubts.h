/* table_doubts.h - what makes one doubt that the table was read as it is: it reaches the photo's rim, its tiles are of another size. */
#ifndef SW_INSPECT_TABLE_DOUBTS_H
#define SW_INSPECT_TABLE_DOUBTS_H

#include "seamwright/inspection.h"
#include "table/grid.h"

/* Adds to the inspection's notes, once the tiles are measured. size_off: sw_tiles_size_off of them, from before it was held. SW_NO_MEMORY. */
sw_status sw_note_table(const sw_grid *grid, double size_off, sw_inspection *inspection);

#endif
