/* calibrate_board.c - from a photo to a checkerboard's crossings.
 *
 * OpenCV finds crossings in a reduced picture. Its grid is not taken over: of a board that the frame cuts off it drops
 * the cut lines, which lie where a lens is known least, or joins crossings that are no neighbours. So the grid is grown
 * anew from one of them, at full size: where a crossing ought to lie next to known ones, one is looked for and kept
 * when it has its squares the other way round. */
#include "calibrate_board.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "calibrate_saddle.h"
#include "calibrate_seed.h"
#include "opencv.h"

/* The reduced picture's longer side: squares of a board that fills a third of the frame are 30 px there. Tried first,
 * it takes 0.3 s; the larger one, for a board far away, 1.5 s. */
static const int REDUCED_PX[] = {1000, 2000};
enum { REDUCED_COUNT = sizeof REDUCED_PX / sizeof *REDUCED_PX };
/* Smallest grid that OpenCV is asked for: 4 x 4 crossings are not found by chance in foliage or tiles. */
enum { FIRST_LOOK = 4 };
/* Half the window's side in steps. Small while the guess is a pixel off and the lens not known: its bend grows with the
 * square of the window (0.65: 0.020 px RMS in photos with a 22 px distortion; 0.35: 0.018). Once the lens is known, as
 * large as can be (0.35: 0.015 px, 0.65: 0.013) without the next crossing, whose blur and sharpening reach 0.1 to 0.2
 * steps. */
static const double REACH_FIRST = 0.35, REACH_LAST = 0.65;
/* Contrast against the neighbours': a crossing in a soft shadow keeps more than half; the outer corner of a black
 * square has half (one black quarter, three white), no matter what light, so the bound lies between. */
static const double CONTRAST_LEAST = 0.6;
/* The ring that reads a seed's lines, in distances to OpenCV's next crossing: that one lies one to two squares away. */
static const double SEED_RING = 0.25;
/* What half a turn may leave, over the contrast: sharp photos leave 0.02 to 0.05, noise at night 0.1; a finger or the
 * board's rim in the window leaves 0.3. */
static const double MISFIT_MOST = 0.2;
/* Fewest crossings, and fewest in each direction, that say more of the lens than they cost in unknown pose. */
enum { CROSSINGS_LEAST = 12, LINE_LEAST = 3 };

typedef struct cell {
    int found;
    unsigned tried; /* bit w: looked for in vain from its neighbours in way w */
    sw_saddle saddle;
    sw_point across, down;
} cell;

/* Room for the board to grow both ways from wherever its seed lies. */
typedef struct field {
    const sw_photo *photo;
    int side; /* cells each way */
    cell *cells;
} field;

static inline sw_point minus(sw_point a, sw_point b)
{
    return (sw_point){a.x - b.x, a.y - b.y};
}

static inline sw_point times(sw_point a, double f)
{
    return (sw_point){a.x * f, a.y * f};
}

static const int WAYS[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};

static cell *cell_at(const field *f, int column, int row)
{
    return &f->cells[(size_t)row * (size_t)f->side + (size_t)column];
}

/* NULL outside the field and where no crossing is known. */
static const cell *known(const field *f, int column, int row)
{
    if (column < 0 || row < 0 || column >= f->side || row >= f->side || !cell_at(f, column, row)->found)
        return NULL;
    return cell_at(f, column, row);
}

/* ---- where to begin ---- */

/* Mean of k x k stored samples, 8 bit; a reduced pixel X stands at (X + 1/2) k - 1/2. */
static uint8_t *reduce(const sw_photo *photo, int k, int *width, int *height)
{
    *width = photo->width_px / k;
    *height = photo->height_px / k;
    uint8_t *grey = malloc((size_t)*width * (size_t)*height);
    if (!grey)
        return NULL;
    unsigned area = (unsigned)(k * k), shift = (unsigned)photo->bits - 8;
    for (int y = 0; y < *height; y++) {
        for (int x = 0; x < *width; x++) {
            unsigned sum = 0;
            for (int j = 0; j < k; j++)
                for (int i = 0; i < k; i++)
                    sum += sw_photo_at(photo, x * k + i, y * k + j) >> shift;
            grey[(size_t)y * (size_t)*width + (size_t)x] = (uint8_t)((sum + area / 2) / area);
        }
    }
    return grey;
}

static sw_status first_look_at(const sw_photo *photo, int k, int least, sw_grid *grid, sw_error *err)
{
    int width, height;
    uint8_t *grey = reduce(photo, k, &width, &height);
    if (!grey)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    sw_status status = sw_vision_checkerboard(grey, width, height, least, grid, err);
    free(grey);
    for (int i = 0; i < grid->across * grid->down; i++) {
        grid->corners[i].x = (grid->corners[i].x + 0.5) * k - 0.5;
        grid->corners[i].y = (grid->corners[i].y + 0.5) * k - 0.5;
    }
    return status;
}

static sw_status first_look(const sw_photo *photo, int least, sw_grid *grid, sw_error *err)
{
    int longer = photo->width_px > photo->height_px ? photo->width_px : photo->height_px, last = 0;
    sw_status status = SW_NOT_FOUND;
    *grid = (sw_grid){0};
    for (int i = 0; i < REDUCED_COUNT && status == SW_NOT_FOUND; i++) {
        int k = longer > REDUCED_PX[i] ? (longer + REDUCED_PX[i] / 2) / REDUCED_PX[i] : 1;
        if (k != last)
            status = first_look_at(photo, k, least, grid, err);
        last = k;
    }
    return status;
}

/* ---- growing ---- */

/* Is it a crossing like its neighbours, with its squares the other way round? */
static int is_like(const field *f, int column, int row, const sw_saddle *saddle)
{
    double sum = 0;
    int neighbours = 0;
    for (int way = 0; way < 4; way++) {
        const cell *c = known(f, column + WAYS[way][0], row + WAYS[way][1]);
        sum += c ? c->saddle.contrast : 0;
        neighbours += c != NULL;
    }
    double expected = neighbours ? -sum / neighbours : saddle->contrast;
    return saddle->contrast / expected >= CONTRAST_LEAST && saddle->misfit <= MISFIT_MOST;
}

static void try_cell(field *f, int column, int row, const sw_saddle_guess *guess)
{
    cell *c = cell_at(f, column, row);
    c->found = 0;
    c->across = guess->across;
    c->down = guess->down;
    c->found =
        sw_saddle_find(f->photo, NULL, guess, REACH_FIRST, &c->saddle) == 0 && is_like(f, column, row, &c->saddle);
}

/* Where the cell's crossing ought to be, seen from its neighbour in direction (dc, dr): as far on as that one's step
 * says, or the distance to the one before it, or that with the bend of three. Returns 0 when there is no neighbour. */
static int guess_from(const field *f, int column, int row, int dc, int dr, sw_saddle_guess *guess)
{
    const cell *a = known(f, column + dc, row + dr), *b = known(f, column + 2 * dc, row + 2 * dr);
    const cell *c = known(f, column + 3 * dc, row + 3 * dr);
    if (!a)
        return 0;
    sw_point step = times(dc ? a->across : a->down, -(dc + dr));
    if (b)
        step = minus(a->saddle.px, b->saddle.px);
    if (b && c)
        step = minus(times(step, 2), minus(b->saddle.px, c->saddle.px));
    guess->px = (sw_point){a->saddle.px.x + step.x, a->saddle.px.y + step.y};
    guess->across = dc ? times(step, -dc) : a->across;
    guess->down = dr ? times(step, -dr) : a->down;
    return 1;
}

/* Looks for the crossing of one empty cell, from each side in turn. Returns 1 when it was found. */
static int grow_at(field *f, int column, int row)
{
    for (int way = 0; way < 4; way++) {
        sw_saddle_guess guess;
        unsigned *tried = &cell_at(f, column, row)->tried;
        if (*tried >> way & 1 || !guess_from(f, column, row, WAYS[way][0], WAYS[way][1], &guess))
            continue;
        *tried |= 1u << way;
        try_cell(f, column, row, &guess);
        if (cell_at(f, column, row)->found)
            return 1;
    }
    return 0;
}

static int grow_once(field *f)
{
    int grown = 0;
    for (int row = 0; row < f->side; row++)
        for (int column = 0; column < f->side; column++)
            if (!cell_at(f, column, row)->found)
                grown += grow_at(f, column, row);
    return grown;
}

/* Steps of a known cell from its neighbours: over both, over one, or as they were. */
static void measure_steps(const field *f, int column, int row)
{
    cell *c = cell_at(f, column, row);
    const cell *west = known(f, column - 1, row), *east = known(f, column + 1, row);
    const cell *north = known(f, column, row - 1), *south = known(f, column, row + 1);
    if (west || east)
        c->across = times(minus(east ? east->saddle.px : c->saddle.px, west ? west->saddle.px : c->saddle.px),
                          east && west ? 0.5 : 1);
    if (north || south)
        c->down = times(minus(south ? south->saddle.px : c->saddle.px, north ? north->saddle.px : c->saddle.px),
                        north && south ? 0.5 : 1);
}

static void measure_all_steps(const field *f)
{
    for (int row = 0; row < f->side; row++)
        for (int column = 0; column < f->side; column++)
            if (cell_at(f, column, row)->found)
                measure_steps(f, column, row);
}

/* Finds each known crossing again, with steps measured anew; those that are lost are dropped. */
static void find_again(field *f)
{
    measure_all_steps(f);
    for (int row = 0; row < f->side; row++) {
        for (int column = 0; column < f->side; column++) {
            const cell *c = cell_at(f, column, row);
            sw_saddle_guess guess = {c->saddle.px, c->across, c->down};
            if (c->found)
                try_cell(f, column, row, &guess);
        }
    }
}

static void plant(field *f, const sw_saddle_guess *seed)
{
    memset(f->cells, 0, (size_t)f->side * (size_t)f->side * sizeof *f->cells);
    try_cell(f, f->side / 2, f->side / 2, seed);
}

static int count_found(const field *f)
{
    int found = 0;
    for (int i = 0; i < f->side * f->side; i++)
        found += f->cells[i].found;
    return found;
}

/* As far as it goes. Returns how many crossings were found. */
static int grow_out(field *f)
{
    int all = 0, grown;
    for (int i = 0; i < f->side * f->side; i++)
        f->cells[i].tried = 0;
    do {
        grown = grow_once(f);
        all += grown;
    } while (grown);
    return all;
}

static double next_corner_px(const sw_grid *grid, int i)
{
    double nearest = INFINITY;
    for (int k = 0; k < grid->across * grid->down; k++)
        if (k != i)
            nearest =
                fmin(nearest, hypot(grid->corners[k].x - grid->corners[i].x, grid->corners[k].y - grid->corners[i].y));
    return nearest;
}

/* Grows the board from one crossing after the other until one gives at least half of what OpenCV saw, which is a board
 * and no accident. Returns how many crossings were found. */
static int grow(field *f, const sw_grid *grid)
{
    int seen = grid->across * grid->down, found = 0;
    /* From the middle of OpenCV's list, which is the middle of its grid, outwards: most sure to be a crossing. */
    for (int n = 0; n < seen && 2 * found < seen; n++) {
        int i = seen / 2 + (n % 2 ? -(n + 1) / 2 : n / 2);
        sw_saddle_guess seed;
        if (i < 0 || i >= seen || sw_seed_read(f->photo, grid->corners[i], SEED_RING * next_corner_px(grid, i), &seed))
            continue;
        plant(f, &seed);
        grow_out(f);
        find_again(f);
        if (grow_out(f)) /* what failed from a poor guess has a better one now */
            find_again(f);
        found = count_found(f);
    }
    return found;
}

/* ---- the view ---- */

static sw_status collect(const field *f, sw_board_view *view, sw_error *err)
{
    int west = f->side, north = f->side, east = -1, south = -1;
    view->crossings = malloc((size_t)f->side * (size_t)f->side * sizeof *view->crossings);
    if (!view->crossings)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    for (int row = 0; row < f->side; row++) {
        for (int column = 0; column < f->side; column++) {
            const cell *c = known(f, column, row);
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

/* Seen from the printed side, down lies clockwise of across (y grows downwards in the photo). */
static void unmirror(sw_board_view *view)
{
    double turn = 0;
    for (size_t i = 0; i < view->count; i++) {
        const sw_crossing *c = &view->crossings[i];
        turn += c->across.x * c->down.y - c->across.y * c->down.x;
    }
    for (size_t i = 0; turn < 0 && i < view->count; i++) {
        sw_crossing *c = &view->crossings[i];
        c->column = view->columns - 1 - c->column;
        c->across = times(c->across, -1);
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
        c->down = times(across, -1);
    }
    int columns = view->columns;
    view->columns = view->rows;
    view->rows = columns;
}

static sw_status settle_sides(sw_checkerboard board, sw_board_view *view, sw_error *err)
{
    int columns = board.columns - 1, rows = board.rows - 1;
    int longer = view->columns > view->rows ? view->columns : view->rows, shorter = view->columns + view->rows - longer;
    int lengthwise = view->columns <= columns && view->rows <= rows;
    int crosswise = view->columns <= rows && view->rows <= columns;
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

static sw_status grow_view(const sw_photo *photo, sw_checkerboard board, const sw_grid *grid, sw_board_view *view,
                           sw_error *err)
{
    int longer = board.columns > board.rows ? board.columns : board.rows;
    int least = whole(board) < CROSSINGS_LEAST ? whole(board) : CROSSINGS_LEAST;
    field f = {.photo = photo, .side = 3 * longer};
    f.cells = calloc((size_t)f.side * (size_t)f.side, sizeof *f.cells);
    if (!f.cells)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    int found = grow(&f, grid);
    sw_status status = found ? collect(&f, view, err) : SW_OK;
    free(f.cells);
    if (status != SW_OK)
        return status;
    if (found < least || view->columns < LINE_LEAST || view->rows < LINE_LEAST)
        return sw_fail(err, SW_NOT_FOUND, "shows too little of the board (%d of its %d inner corners)", found,
                       whole(board));
    unmirror(view);
    return settle_sides(board, view, err);
}

sw_status sw_board_find(const sw_photo *photo, sw_checkerboard board, sw_board_view *view, sw_error *err)
{
    sw_grid grid = {0};
    int shorter = board.columns < board.rows ? board.columns : board.rows;
    *view = (sw_board_view){0};
    sw_status status = first_look(photo, shorter - 1 < FIRST_LOOK ? shorter - 1 : FIRST_LOOK, &grid, err);
    if (status == SW_NOT_FOUND)
        sw_fail(err, status, "no checkerboard found in it; is it sharp, evenly lit and not too small?");
    if (status == SW_OK)
        status = grow_view(photo, board, &grid, view, err);
    if (status != SW_OK)
        sw_board_view_free(view);
    sw_vision_grid_free(&grid);
    return status;
}

void sw_board_refine(const sw_photo *photo, const sw_lens *lens, sw_board_view *view)
{
    size_t kept = 0;
    for (size_t i = 0; i < view->count; i++) {
        sw_crossing c = view->crossings[i];
        sw_saddle_guess guess = {c.px, c.across, c.down};
        sw_saddle saddle;
        if (sw_saddle_find(photo, lens, &guess, REACH_LAST, &saddle) || saddle.misfit > MISFIT_MOST)
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
