/* board.h - a checkerboard's crossings in one photo, as many as can be seen. */
#ifndef SW_SCALE_CALIBRATE_BOARD_H
#define SW_SCALE_CALIBRATE_BOARD_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/photo.h"
#include "seamwright/scale.h"

/* One crossing: its place on the board (column, row, counted from an outermost seen one) and in the photo. */
typedef struct sw_crossing {
    int column, row;
    sw_point px;
    double u_px;           /* standard uncertainty per axis */
    sw_point across, down; /* steps to the next crossing that way, px */
} sw_crossing;

/* What a photo shows of a board. Columns run along the board's columns and rows along its rows wherever the two can be
 * told apart; seen from the printed side. Free with sw_board_view_free. */
typedef struct sw_board_view {
    sw_crossing *crossings;
    size_t count;
    int columns, rows; /* how far the crossings reach; some inside may be missing */
    bool sides_known;  /* else the part seen fits on the board lengthwise and crosswise */
} sw_board_view;

/* Finds the board. SW_NOT_FOUND with the reason (no more than a clause, the caller names the photo) when the photo is
 * of no use. On failure *view is zeroed. */
sw_status sw_board_find(const sw_photo *photo, sw_checkerboard board, sw_board_view *view, sw_error *err);

/* Finds every crossing again, now that the lens is known; those that are lost are dropped. */
void sw_board_refine(const sw_photo *photo, const sw_lens *lens, sw_board_view *view);

void sw_board_view_free(sw_board_view *view);

#endif
