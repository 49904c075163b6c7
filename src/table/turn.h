/* turn.h - how far the tiles' sides stand turned against the axes. */
#ifndef SW_TABLE_TURN_H
#define SW_TABLE_TURN_H

#include "table/block.h"
#include "table/strokes.h"

/* Radians counter-clockwise: the mean slope of the strokes along every side of the block, those within reach of it, mm.
 */
double sw_leftover_turn(const sw_strokes *strokes, const sw_block *b, double reach);

#endif
