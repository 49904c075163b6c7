#include "scale/calibrate/grow.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/point.h"
#include "scale/calibrate/seed.h"

/* What has fewer crossings may have been begun badly: another spot on the same board may do better. */
enum { BOARD_LEAST = 12 };
/* Contrast against the neighbours': a crossing in a soft shadow keeps more than half; the outer corner of a black
 * square has half (one black quarter, three white), no matter what light, so the bound lies between. */
static const double CONTRAST_LEAST = 0.6;

static const int WAYS[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};

static sw_cell *cell_at(const sw_field *f, int column, int row)
{
    return &f->cells[(size_t)row * (size_t)f->side + (size_t)column];
}

const sw_cell *sw_field_known(const sw_field *f, int column, int row)
{
    if (column < 0 || row < 0 || column >= f->side || row >= f->side || !cell_at(f, column, row)->found)
        return NULL;
    return cell_at(f, column, row);
}

/* Is it a crossing like its neighbours, with its squares the other way round? */
static bool is_like(const sw_field *f, int column, int row, const sw_saddle *saddle)
{
    double sum = 0;
    int neighbours = 0;
    for (int way = 0; way < 4; way++) {
        const sw_cell *c = sw_field_known(f, column + WAYS[way][0], row + WAYS[way][1]);
        sum += c ? c->saddle.contrast : 0;
        neighbours += c != NULL;
    }
    double expected = neighbours ? -sum / neighbours : saddle->contrast;
    return saddle->contrast / expected >= CONTRAST_LEAST && saddle->misfit <= SW_MISFIT_MOST;
}

static void try_cell(sw_field *f, int column, int row, const sw_saddle_guess *guess)
{
    sw_cell *c = cell_at(f, column, row);
    c->found = false;
    c->across = guess->across;
    c->down = guess->down;
    c->found =
        sw_saddle_find(f->photo, NULL, guess, SW_REACH_FIRST, &c->saddle) == 0 && is_like(f, column, row, &c->saddle);
}

/* Where the cell's crossing ought to be, seen from its neighbour in direction (dc, dr): as far on as that one's step
 * says, or the distance to the one before it, or that with the bend of three. False when there is no neighbour. */
static bool guess_from(const sw_field *f, int column, int row, int dc, int dr, sw_saddle_guess *guess)
{
    const sw_cell *a = sw_field_known(f, column + dc, row + dr), *b = sw_field_known(f, column + 2 * dc, row + 2 * dr);
    const sw_cell *c = sw_field_known(f, column + 3 * dc, row + 3 * dr);
    if (!a)
        return false;
    sw_point step = sw_times(dc ? a->across : a->down, -(dc + dr));
    if (b)
        step = sw_minus(a->saddle.px, b->saddle.px);
    if (b && c)
        step = sw_minus(sw_times(step, 2), sw_minus(b->saddle.px, c->saddle.px));
    guess->px = (sw_point){a->saddle.px.x + step.x, a->saddle.px.y + step.y};
    guess->across = dc ? sw_times(step, -dc) : a->across;
    guess->down = dr ? sw_times(step, -dr) : a->down;
    return true;
}

/* Looks for the crossing of one empty cell, from each side in turn. True when it was found. */
static bool grow_at(sw_field *f, int column, int row)
{
    for (int way = 0; way < 4; way++) {
        sw_saddle_guess guess;
        unsigned *tried = &cell_at(f, column, row)->tried;
        if (*tried >> way & 1 || !guess_from(f, column, row, WAYS[way][0], WAYS[way][1], &guess))
            continue;
        *tried |= 1u << way;
        try_cell(f, column, row, &guess);
        if (cell_at(f, column, row)->found)
            return true;
    }
    return false;
}

static int grow_once(sw_field *f)
{
    int grown = 0;
    for (int row = 0; row < f->side; row++)
        for (int column = 0; column < f->side; column++)
            if (!cell_at(f, column, row)->found)
                grown += grow_at(f, column, row);
    return grown;
}

/* Steps of a known cell from its neighbours: over both, over one, or as they were. */
static void measure_steps(const sw_field *f, int column, int row)
{
    sw_cell *c = cell_at(f, column, row);
    const sw_cell *west = sw_field_known(f, column - 1, row), *east = sw_field_known(f, column + 1, row);
    const sw_cell *north = sw_field_known(f, column, row - 1), *south = sw_field_known(f, column, row + 1);
    if (west || east)
        c->across = sw_times(sw_minus(east ? east->saddle.px : c->saddle.px, west ? west->saddle.px : c->saddle.px),
                             east && west ? 0.5 : 1);
    if (north || south)
        c->down = sw_times(sw_minus(south ? south->saddle.px : c->saddle.px, north ? north->saddle.px : c->saddle.px),
                           north && south ? 0.5 : 1);
}

static void measure_all_steps(const sw_field *f)
{
    for (int row = 0; row < f->side; row++)
        for (int column = 0; column < f->side; column++)
            if (cell_at(f, column, row)->found)
                measure_steps(f, column, row);
}

/* Finds each known crossing again, with steps measured anew; those that are lost are dropped. */
static void find_again(sw_field *f)
{
    measure_all_steps(f);
    for (int row = 0; row < f->side; row++) {
        for (int column = 0; column < f->side; column++) {
            const sw_cell *c = cell_at(f, column, row);
            sw_saddle_guess guess = {c->saddle.px, c->across, c->down};
            if (c->found)
                try_cell(f, column, row, &guess);
        }
    }
}

static void plant(sw_field *f, const sw_saddle_guess *seed)
{
    memset(f->cells, 0, (size_t)f->side * (size_t)f->side * sizeof *f->cells);
    try_cell(f, f->side / 2, f->side / 2, seed);
}

static int count_found(const sw_field *f)
{
    int found = 0;
    for (int i = 0; i < f->side * f->side; i++)
        found += f->cells[i].found;
    return found;
}

/* As far as it goes. Returns how many crossings were found. */
static int grow_out(sw_field *f)
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

/* Area of the photo that the crossings stand for, px^2: a board in the hand against one on a poster behind. */
static double area_px(const sw_field *f)
{
    double area = 0;
    for (int i = 0; i < f->side * f->side; i++) {
        const sw_cell *c = &f->cells[i];
        if (c->found)
            area += fabs(c->across.x * c->down.y - c->across.y * c->down.x);
    }
    return area;
}

/* Spots on the board just grown need not be tried again. */
static void strike_out(const sw_field *f, const sw_spots *spots, unsigned char *done)
{
    for (int i = 0; i < f->side * f->side; i++) {
        const sw_cell *c = &f->cells[i];
        double near = fmin(hypot(c->across.x, c->across.y), hypot(c->down.x, c->down.y)) / 2;
        for (size_t k = 0; c->found && k < spots->count; k++)
            if (hypot(spots->points[k].x - c->saddle.px.x, spots->points[k].y - c->saddle.px.y) < near)
                done[k] = 1;
    }
}

static void grow_from(sw_field *f, const sw_saddle_guess *seed)
{
    plant(f, seed);
    grow_out(f);
    find_again(f);
    if (grow_out(f)) /* what failed from a poor guess has a better one now */
        find_again(f);
}

sw_status sw_field_grow(sw_field *f, const sw_spots *spots, int *found)
{
    size_t cells = (size_t)f->side * (size_t)f->side;
    sw_field scratch = {.photo = f->photo, .side = f->side, .cells = calloc(cells, sizeof *f->cells)};
    unsigned char *done = calloc(spots->count + 1, 1);
    for (size_t i = 0; scratch.cells && done && i < spots->count; i++) {
        sw_saddle_guess seed;
        if (done[i] || sw_seed_search(f->photo, spots->points[i], spots->unit_px, &seed))
            continue;
        grow_from(&scratch, &seed);
        if (count_found(&scratch) >= BOARD_LEAST)
            strike_out(&scratch, spots, done);
        if (area_px(&scratch) > area_px(f))
            memcpy(f->cells, scratch.cells, cells * sizeof *f->cells);
    }
    sw_status status = scratch.cells && done ? SW_OK : SW_NO_MEMORY;
    *found = count_found(f);
    free(scratch.cells);
    free(done);
    return status;
}
