/* heights.h - how high each tile's top stands, from what the user said. */
#ifndef SW_TABLE_HEIGHTS_H
#define SW_TABLE_HEIGHTS_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"
#include "seamwright/table.h"
#include "table/grid.h"

/* Standard uncertainty of a height the user gives, mm: tiles measured with a ruler to 0.2 mm, or of foam that gives way
 * to the caliper. Common practice, no source. */
static const double SW_HEIGHT_GIVEN_U_MM = 0.1;

typedef struct sw_heights {
    double plane_mm; /* the level of the mm frame: the usual height, or the lowest one named; 0: nothing was said */
    bool uneven;     /* some tile's top lies off that plane */
    int assumed;     /* tiles that nothing was said of although others were named */
    double mm[SW_GRID_MOST][SW_GRID_MOST]; /* [column][row] */
    bool known[SW_GRID_MOST]
              [SW_GRID_MOST]; /* measured by the user: named, or as the usual height beside named ones. The
                                             * usual height alone is what the foam was sold as */
} sw_heights;

/* usual_mm 0: not said. What is given has passed sw_heights_check. SW_BAD_INPUT: a name the table lacks; the sentence
 * begins with `file`. */
sw_status sw_heights_of(const char *file, double usual_mm, const sw_tile_height *named, size_t count, int columns,
                        int rows, sw_heights *out, sw_error *err);

/* The tops of a grid as given. */
void sw_heights_give(const sw_heights *heights, sw_grid *grid);

/* Which tile a place of the table lies on, for a grid as found. */
void sw_heights_tile_at(const sw_grid *grid, sw_point mm, int *column, int *row);

/* How far the tops on either side of a line of the grid (upright[column][row] or level[column][row]) stand above the mm
 * frame's plane: first the west or north one. 0 where there is no tile. */
void sw_heights_beside(const sw_grid *grid, bool upright, int column, int row, double rise_mm[2]);

/* The tops themselves; in the plane where there is no tile. */
void sw_heights_tops_beside(const sw_grid *grid, bool upright, int column, int row, sw_top tops[2]);

/* Standard uncertainty of the step there. */
double sw_heights_step_u(const sw_grid *grid, bool upright, int column, int row);

#endif
