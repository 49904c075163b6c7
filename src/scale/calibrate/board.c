/* board.c - from a photo to the part of a checkerboard that it shows. */
#include "scale/calibrate/board.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "maths/point.h"
#include "scale/calibrate/grow.h"

/* Crossings that OpenCV is asked for, each way: 4 x 4 are not found by chance in foliage or tiles. */
enum { FIRST_LOOK = 4 };
/* Fewest crossings, and fewest in each direction, that say more of the lens than they cost in unknown pose. */
enum { CROSSINGS_LEAST = 12, LINE_LEAST = 3 };
/* Crossings on an outer line that may be none of the board's. */
enum { DECEPTIONS_MOST = 2 };
/* What half a turn may leave in the small window (see SW_MISFIT_MOST) when the large one shows something beside the
 * board: the 116 crossings named below leave 0.02 to 0.07, a thumb that reaches into the small window more than 0.1. */
static const double SMALL_MISFIT_MOST = 0.1;

/* ---- the view ---- */

static sw_status collect(const sw_field *f, sw_board_view *view, sw_error *err)
{
    int west = f->side, north = f->side, east = -1, south = -1;
    view->crossings = malloc((size_t)f->side * (size_t)f->side * sizeof *view->crossings);
    if (!view->crossings)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    for (int row = 0; row < f->side; row++) {
        for (int column = 0; column < f->side; column++) {
            const sw_cell *c = sw_field_known(f, column, row);
            if (!c)
                continue;
            view->crossings[view->count++] =
                (sw_crossing){column, row, c->saddle.px, c->saddle.u_px, c->across, c->down};
            west = column < west ? column : west;
            north = row < north ? row : north;
            east = column > east ? column : east;
            south = row > south ? row : south;
        }
    }
    view->columns = east - west + 1;
    view->rows = south - north + 1;
    for (size_t i = 0; i < view->count; i++) {
        view->crossings[i].column -= west;
        view->crossings[i].row -= north;
    }
    return SW_OK;
}

/* The four outer lines of a view. */
typedef enum rim { WEST, EAST, NORTH, SOUTH, RIMS } rim;

static bool on_rim(const sw_board_view *view, const sw_crossing *c, rim r)
{
    return r == WEST    ? c->column == 0
           : r == EAST  ? c->column == view->columns - 1
           : r == NORTH ? c->row == 0
                        : c->row == view->rows - 1;
}

static void drop_rim(sw_board_view *view, rim r)
{
    size_t kept = 0;
    for (size_t i = 0; i < view->count; i++) {
        sw_crossing c = view->crossings[i];
        if (on_rim(view, &c, r))
            continue;
        c.column -= r == WEST;
        c.row -= r == NORTH;
        view->crossings[kept++] = c;
    }
    view->count = kept;
    view->columns -= r == WEST || r == EAST;
    view->rows -= r == NORTH || r == SOUTH;
}

static bool fits(const sw_board_view *view, int columns, int rows)
{
    return view->columns <= columns && view->rows <= rows;
}

/* Beside the board, print or a shadow may make a crossing of the rim's corner. As long as the view is too large for the
 * board, outer lines go that hold no more than such deceptions. */
static void trim(sw_checkerboard board, sw_board_view *view)
{
    while (!fits(view, board.columns - 1, board.rows - 1) && !fits(view, board.rows - 1, board.columns - 1)) {
        size_t least = DECEPTIONS_MOST + 1;
        rim weakest = RIMS;
        for (rim r = WEST; r < RIMS; r++) {
            size_t on = 0;
            for (size_t i = 0; i < view->count; i++)
                on += (size_t)on_rim(view, &view->crossings[i], r);
            if (on < least) {
                least = on;
                weakest = r;
            }
        }
        if (weakest == RIMS)
            return;
        drop_rim(view, weakest);
    }
}

static void quarter_turn(sw_board_view *view)
{
    for (size_t i = 0; i < view->count; i++) {
        sw_crossing *c = &view->crossings[i];
        int column = c->column;
        sw_point across = c->across;
        c->column = c->row;
        c->row = view->columns - 1 - column;
        c->across = c->down;
        c->down = sw_times(across, -1);
    }
    int columns = view->columns;
    view->columns = view->rows;
    view->rows = columns;
}

static sw_status settle_sides(sw_checkerboard board, sw_board_view *view, sw_error *err)
{
    int columns = board.columns - 1, rows = board.rows - 1;
    int longer = view->columns > view->rows ? view->columns : view->rows, shorter = view->columns + view->rows - longer;
    bool lengthwise = fits(view, columns, rows), crosswise = fits(view, rows, columns);
    if (!lengthwise && !crosswise)
        return sw_fail(
            err, SW_NOT_FOUND,
            "shows a board of at least %d x %d squares, not of %d x %d; give the squares of the board as printed",
            longer + 1, shorter + 1, board.columns, board.rows);
    if (!lengthwise)
        quarter_turn(view);
    view->sides_known = lengthwise != crosswise;
    return SW_OK;
}

static int whole(sw_checkerboard board)
{
    return (board.columns - 1) * (board.rows - 1);
}

/* Fills the field from the first way of looking that shows enough of a board. */
static sw_status look_and_grow(sw_field *f, int shorter, int least, int *found, sw_error *err)
{
    sw_spots spots;
    sw_status status = sw_look_for_saddles(f->photo, &spots, err);
    *found = 0;
    if (status == SW_OK && sw_field_grow(f, &spots, found))
        status = sw_fail(err, SW_NO_MEMORY, "out of memory");
    free(spots.points);
    for (int try = 0; try < SW_LOOKS && status == SW_OK && *found < least; try++) {
        status = sw_look_with_opencv(f->photo, shorter - 1 < FIRST_LOOK ? shorter - 1 : FIRST_LOOK, try, &spots, err);
        if (status == SW_OK && sw_field_grow(f, &spots, found))
            status = sw_fail(err, SW_NO_MEMORY, "out of memory");
        free(spots.points);
        if (status == SW_NOT_FOUND)
            status = SW_OK;
    }
    return status;
}

static sw_status settle(const sw_field *f, sw_checkerboard board, int found, int least, sw_board_view *view,
                        sw_error *err)
{
    if (found == 0)
        return sw_fail(err, SW_NOT_FOUND, "no checkerboard found in it; is it sharp, evenly lit and not too small?");
    sw_status status = collect(f, view, err);
    if (status != SW_OK)
        return status;
    if (found < least || view->columns < LINE_LEAST || view->rows < LINE_LEAST)
        return sw_fail(err, SW_NOT_FOUND, "shows too little of the board (%d of its %d inner corners)", found,
                       whole(board));
    trim(board, view);
    return settle_sides(board, view, err);
}

sw_status sw_board_find(const sw_photo *photo, sw_checkerboard board, sw_board_view *view, sw_error *err)
{
    int longer = board.columns > board.rows ? board.columns : board.rows, found = 0;
    int least = whole(board) < CROSSINGS_LEAST ? whole(board) : CROSSINGS_LEAST;
    sw_field f = {.photo = photo, .side = 3 * longer};
    *view = (sw_board_view){0};
    f.cells = calloc((size_t)f.side * (size_t)f.side, sizeof *f.cells);
    if (!f.cells)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    sw_status status = look_and_grow(&f, board.columns + board.rows - longer, least, &found, err);
    if (status == SW_OK)
        status = settle(&f, board, found, least, view, err);
    if (status != SW_OK)
        sw_board_view_free(view);
    free(f.cells);
    return status;
}

/* The largest window that shows nothing but the board. Where the outermost squares are cut short or the rim is narrow,
 * the outer crossings have room for the small window only (OpenCV's sample photos: 116 of 702 crossings, where the lens
 * is known least). */
static sw_status find_again(const sw_photo *photo, const sw_lens *lens, const sw_crossing *c, sw_saddle *saddle)
{
    const sw_saddle_guess guess = {c->px, c->across, c->down};
    if (sw_saddle_find(photo, lens, &guess, SW_REACH_LAST, saddle) == 0 && saddle->misfit <= SW_MISFIT_MOST)
        return SW_OK;
    return sw_saddle_find(photo, lens, &guess, SW_REACH_FIRST, saddle) || saddle->misfit > SMALL_MISFIT_MOST
               ? SW_NOT_FOUND
               : SW_OK;
}

void sw_board_refine(const sw_photo *photo, const sw_lens *lens, sw_board_view *view)
{
    size_t kept = 0;
    for (size_t i = 0; i < view->count; i++) {
        sw_crossing c = view->crossings[i];
        sw_saddle saddle;
        if (find_again(photo, lens, &c, &saddle))
            continue;
        c.px = saddle.px;
        c.u_px = saddle.u_px;
        view->crossings[kept++] = c;
    }
    view->count = kept;
}

void sw_board_view_free(sw_board_view *view)
{
    if (!view)
        return;
    free(view->crossings);
    *view = (sw_board_view){0};
}
