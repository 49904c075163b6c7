/* table_doubts.h - what makes one doubt that the table was read as it is: it reaches the photo's rim, its tiles are of another size. */
#ifndef SW_INSPECT_TABLE_DOUBTS_H
#define SW_INSPECT_TABLE_DOUBTS_H

#include "seamwright/inspection.h"
#include "table/grid.h"

/* Adds to the inspection's notes, once the tiles are measured. SW_NO_MEMORY. */
sw_status sw_note_table(const sw_grid *grid, sw_inspection *inspection);

#endif
