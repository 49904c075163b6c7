/* table.h - where the tiles lie: columns, rows, tile size, and names. */
#ifndef SEAMWRIGHT_TABLE_H
#define SEAMWRIGHT_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A tile's four top edges, as the tile lies in the photo; clockwise from north. */
typedef enum sw_side { SW_NORTH = 0, SW_EAST, SW_SOUTH, SW_WEST } sw_side;
/* A tile's four corners, clockwise from north-west: corner c lies where side (c + 3) % 4 meets side c. */
typedef enum sw_corner_name { SW_NW = 0, SW_NE, SW_SE, SW_SW } sw_corner_name;

/* "north", "east", "south", "west"; "NW", "NE", "SE", "SW". */
SW_API const char *sw_side_name(sw_side side);
SW_API const char *sw_corner_label(sw_corner_name corner);

typedef struct sw_table {
    int columns, rows; /* tiles across by tiles down, 1 to 26 each way */
    double tile_mm;    /* nominal side of a tile: as given, or the mean side rounded to a whole millimetre */
    bool tile_given;   /* by the user */
    double height_mm;  /* how high the tops in the mm frame's plane stand over the table, as given; 0 when not given */
} sw_table;

/* A tile whose top stands at a height of its own, mm above the table. */
typedef struct sw_tile_height {
    char tile[8]; /* "A1" */
    double height_mm;
} sw_tile_height;

/* SW_BAD_INPUT: not 1 to SW_TABLE_MOST tiles each way. */
SW_API sw_status sw_table_check(int columns, int rows, sw_error *err);

/* SW_BAD_INPUT: a height outside SW_HEIGHT_MM, tops more than SW_HEIGHTS_APART_MOST_MM apart, a tile named twice.
 * usual_mm is the height of all others, 0: not said. */
SW_API sw_status sw_heights_check(double usual_mm, const sw_tile_height *named, size_t count, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
