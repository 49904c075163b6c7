/* block.h - blocks of equal square cells grown in maps of line evidence. */
#ifndef SW_TABLE_BLOCK_H
#define SW_TABLE_BLOCK_H

#include <stdbool.h>

#include "table/evidence.h"
#include "table/grid.h"

/* How close to the nominal side a found pitch must be when the user gave it. */
#define SW_GIVEN_SLACK 0.04
/* How far a side may lie from its place in an even grid, mm: gaps, slips and size errors of tiles. */
#define SW_SLIP_MM 4.0
/* The same for the table's own sides, once the tiles' size is known: shadows' edges lie farther off. */
#define SW_OUTER_SLIP_MM 2.5

/* The smallest tiles that are looked for, mm: smaller than a card they are not what this is for. */
#define SW_TILE_FOUND_LEAST_MM 60.0

/* Free with sw_search_free. */
typedef struct sw_search {
    sw_evidence upright, level;
    double pitch;
} sw_search;

void sw_search_free(sw_search *s);
double sw_search_slip(const sw_search *s);

/* A block of cells: lines x[0..columns] to the east, y[0..rows] to the south (y falling). */
typedef struct sw_block {
    int columns, rows;
    double x[SW_GRID_MOST + 1], y[SW_GRID_MOST + 1], worth;
    bool split; /* by the size told: its worth is that of the lines that were found */
} sw_block;

/* Mean side of its cells. */
double sw_block_pitch(const sw_block *b);

/* What the block would be worth if all its sides showed. */
double sw_block_ideal(const sw_block *b, double pitch);

/* The best block round the scale's squares; given: the tile size, 0 when unknown. Sets the search's pitch. */
sw_block sw_block_find(sw_search *s, const sw_scale *scale, double given);

/* Moves each line to where its sides show best, all at once. Returns what the inner lines are worth; *outer gets the same of the
 * table's own four sides. */
double sw_block_settle(const sw_search *s, sw_block *b, double *outer);

/* Looks at the table's own four sides again: tiles are of one size, and a side that makes the outermost ones larger or much
 * smaller than the rest is the edge of a shadow, or of what the table stands on. Such a side is moved to where the tiles
 * end, or to the best line near it. */
void sw_block_trim(const sw_search *s, sw_block *b);

/* With the tile size given, a block whose cells are a whole number of tiles wide is a table with seams too tight to
 * show: it is cut into tiles of that size. */
sw_block sw_block_split(sw_search *s, sw_block b, double tile_mm);

#endif
