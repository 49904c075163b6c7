/* turned.h - an inspection as it would be, had the table lain turned by quarter turns. */
#ifndef SW_INSPECT_COMBINE_TURNED_H
#define SW_INSPECT_COMBINE_TURNED_H

#include "seamwright/report.h"

/* Turns tiles, seams and table counter-clockwise by so many quarter turns (any number): names, sides, directions along
 * seams and edges, half-way marks and places in mm all follow. Seams are put in order, tile by tile, the upright one first. Scale,
 * ranking and notes stay as they are. On failure it may be turned part of the way: free it. */
sw_status sw_inspection_turn(sw_inspection *inspection, int quarter_turns, sw_error *err);

#endif
