/* drawn_grid.h - what the table stage makes of a drawing: for the tests of tables found and of tables pointed at. */
#ifndef SW_SUPPORT_DRAWN_GRID_H
#define SW_SUPPORT_DRAWN_GRID_H

#include "support/draw.h"
#include "table/grid.h"

/* grid is freed with free(). */
typedef struct found {
    sw_status status;
    sw_error err;
    sw_scale scale;
    sw_table table;
    sw_grid *grid;
} found;

/* From the drawing, which is freed, to the grid; said holds what the user says, told where its corners are, or NULL. */
found look_at_drawing(drawing *d, sw_table said, const sw_corners *told);

/* Frames on the corner tiles. */
void put_cards(drawing *d, const draw_table *t);

/* Every side lies where the drawing has it, to within near_mm, and shows on a share of least_seen of its length. */
void expect_sides(const found *f, const draw_view *view, const draw_table *t, double near_mm, double least_seen);

#endif
