/* grid.h - where the tiles lie, to a few millimetres: from line-like places of the reduced picture to columns and rows.
 */
#ifndef SW_TABLE_GRID_H
#define SW_TABLE_GRID_H

#include "photo/small.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/scale.h"
#include "seamwright/table.h"
#include "table/tops.h"

enum { SW_GRID_MOST = SW_TABLE_MOST, SW_GRID_SIDES = 4 };

/* One side of a cell: from its north or west end to the other, mm, as far as the reduced picture shows it. */
typedef struct sw_grid_side {
    sw_point from, to;
    double seen; /* share of its length where a line was seen there, 0 to 1 */
} sw_grid_side;

/* upright[i][j]: west side of column i (i = columns: the table's east side) in row j; level[i][j]: north side of row j
 * in column i (j = rows: the table's south side). */
typedef struct sw_grid {
    int columns, rows;
    double tile_mm;
    sw_grid_side upright[SW_GRID_MOST + 1][SW_GRID_MOST];
    sw_grid_side level[SW_GRID_MOST][SW_GRID_MOST + 1];
    bool touches
        [SW_GRID_SIDES]; /* west, east, north, south: the table reaches the photo's rim there, or tiles may go on beyond it */
    sw_tops tops;        /* unknown as found */
} sw_grid;

/* Finds the table around the scale's squares and turns the scale so that x runs along its rows to the east (as the
 * photo is shown) and the north-west corner of A1 is near (0, 0). table holds what the user said (0: not said) and gets
 * the result. told: where the table's outer corners are, to within SW_POINTED_OFF_MM; NULL: it is looked for. SW_NOT_FOUND: no tiles;
 * SW_BAD_INPUT: found something that contradicts what the user said, or cut off. */
sw_status sw_grid_find(const sw_photo *photo, const sw_small *small, const sw_corners *told, sw_scale *scale,
                       sw_table *table, sw_grid *grid, sw_error *err);

#endif
