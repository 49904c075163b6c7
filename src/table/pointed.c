#include "table/pointed.h"

#include <math.h>
#include <stdbool.h>

#include "maths/lsq.h"
#include "maths/point.h"
#include "scale/frame.h"

/* Opposite sides and diagonals, and the tiles' length and width, may differ by this share besides what clicks do: a lens and a slant that
 * one card tells roughly. */
static const double SKEW_MOST = 0.04;
/* A direction found may differ from the corners' by this: SW_POINTED_OFF_MM up at one end of a side of 200 mm and down at the other. */
static const double TURN_MOST_RAD = 0.06;

static void corners_mm(const sw_scale *scale, const sw_point *corners_px, sw_point *mm)
{
    for (int i = 0; i < 4; i++)
        mm[i] = sw_scale_to_mm(scale, corners_px[i]);
}

/* How far a place lies outside the corners, mm; below 0 inside. They run clockwise, and y points up. */
static double outside_mm(const sw_point *c, sw_point at)
{
    double most = -INFINITY;
    for (int i = 0; i < 4; i++) {
        sw_point side = sw_minus(c[(i + 1) % 4], c[i]), to = sw_minus(at, c[i]);
        most = fmax(most, (side.x * to.y - side.y * to.x) / hypot(side.x, side.y));
    }
    return most;
}

/* Two lengths between clicks: each of their four ends may be off. */
static bool unequal(double a, double b)
{
    return !(fabs(a - b) <= SKEW_MOST * fmax(a, b) + 4 * SW_POINTED_OFF_MM);
}

sw_status sw_pointed_check(const sw_photo *photo, const sw_scale *scale, const sw_point *corners_px, sw_error *err)
{
    sw_point c[4];
    corners_mm(scale, corners_px, c);
    const double north = sw_distance(c[0], c[1]), east = sw_distance(c[1], c[2]), south = sw_distance(c[2], c[3]),
                 west = sw_distance(c[3], c[0]);
    if (unequal(north, south) || unequal(east, west) || unequal(sw_distance(c[0], c[2]), sw_distance(c[1], c[3])))
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: --corners are not the corners of a rectangle: by the card, the sides between them measure "
                       "%.0f mm at the top, %.0f right, %.0f at the bottom and %.0f left; point at the table's four "
                       "outer corners again",
                       photo->file, north, east, south, west);
    for (int i = 0; i < scale->square_count; i++)
        if (outside_mm(c, sw_square_middle(&scale->squares[i])) < 0)
            return SW_OK;
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: no reference square lies on the table whose corners are given with --corners; lay the card on "
                   "the tiles, or point at the right corners",
                   photo->file);
}

void sw_pointed_clear(const sw_scale *scale, const sw_point *corners_px, sw_strokes *strokes)
{
    sw_point c[4];
    size_t stay = 0;
    corners_mm(scale, corners_px, c);
    for (size_t i = 0; i < strokes->count; i++)
        if (outside_mm(c, (sw_point){strokes->items[i].x, strokes->items[i].y}) < 2 * SW_POINTED_OFF_MM)
            strokes->items[stay++] = strokes->items[i];
    strokes->count = stay;
}

int sw_pointed_directions(const sw_scale *scale, const sw_point *corners_px, double *angles, int count)
{
    sw_point c[4];
    corners_mm(scale, corners_px, c);
    /* Each side says how the table stands turned, the longer ones better: the sum of the sides as arrows, turned back by quarters. */
    double x = (c[1].x - c[0].x) + (c[2].x - c[3].x) + (c[0].y - c[3].y) + (c[1].y - c[2].y),
           y = (c[1].y - c[0].y) + (c[2].y - c[3].y) - (c[0].x - c[3].x) - (c[1].x - c[2].x);
    const double told = atan2(y, x);
    int kept = 1;
    double found[SW_DIRECTIONS];
    for (int i = 0; i < count; i++)
        if (kept < SW_DIRECTIONS && fabs(remainder(angles[i] - told, M_PI / 2)) < TURN_MOST_RAD)
            found[kept++] = angles[i];
    found[0] = told;
    for (int i = 0; i < kept; i++)
        angles[i] = found[i];
    return kept;
}

/* Even lines between the corners. */
static sw_block even_block(const sw_point *c, int columns, int rows)
{
    sw_block b = {.columns = columns, .rows = rows};
    const double west = (c[0].x + c[3].x) / 2, east = (c[1].x + c[2].x) / 2, north = (c[0].y + c[1].y) / 2,
                 south = (c[2].y + c[3].y) / 2;
    for (int i = 0; i <= columns; i++)
        b.x[i] = west + (east - west) * i / columns;
    for (int i = 0; i <= rows; i++)
        b.y[i] = north + (south - north) * i / rows;
    return b;
}

/* Whether so many tiles lie between the corners as far as their shape, and what was said, tells. */
static bool fits(const sw_block *b, const sw_table *table)
{
    double wide = (b->x[b->columns] - b->x[0]) / b->columns, high = (b->y[0] - b->y[b->rows]) / b->rows;
    double clicks = 2 * SW_POINTED_OFF_MM * (1.0 / b->columns + 1.0 / b->rows);
    if (!(fabs(wide - high) <= SKEW_MOST * fmax(wide, high) + clicks))
        return false;
    if (table->columns > 0)
        return b->columns == table->columns && b->rows == table->rows;
    if (table->tile_mm > 0)
        return lround((b->x[b->columns] - b->x[0]) / table->tile_mm) == b->columns;
    return wide >= SW_TILE_FOUND_LEAST_MM;
}

/* Mean share of a line's sides that shows at exactly this place. */
static double share_at(const sw_search *s, const sw_block *b, bool upright, double at)
{
    const double *across = upright ? b->y : b->x;
    const int count = upright ? b->rows : b->columns;
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += sw_fit_side(upright ? &s->upright : &s->level, at, 0, fmin(across[i], across[i + 1]),
                           fmax(across[i], across[i + 1]))
                   .share;
    return sum / count;
}

/* Evidence is as wide as three bins, and a line that was looked for from a click's side stops at its edge: moves it to the middle of what
 * shows. Returns the share that shows there. */
static double centre(const sw_search *s, const sw_block *b, bool upright, double *line)
{
    enum { BINS = 4 };
    const double bin = upright ? s->upright.bin : s->level.bin;
    double shares[2 * BINS + 1], most = 0, sum = 0, moment = 0;
    for (int k = -BINS; k <= BINS; k++)
        most = fmax(most, shares[k + BINS] = share_at(s, b, upright, *line + k * bin));
    for (int k = -BINS; k <= BINS; k++) {
        double over = fmax(0, shares[k + BINS] - 0.5 * most);
        sum += over;
        moment += over * k * bin;
    }
    *line += sum > 0 ? moment / sum : 0;
    return share_at(s, b, upright, *line);
}

/* Lines of which less shows are put where the others say; of one seam at least so much must show where the others may be shut. */
static const double SHOWS = 0.4, SHOWS_CLEARLY = 0.75;
/* Of what the inner lines could be worth: as much as of a table that is found (grid.c). */
static const double SHOW_LEAST = 0.3;

/* Tiles are of one size, both ways: lines that hardly show lie in one even grid with those that do. */
static void even_out(const sw_search *s, sw_block *b)
{
    enum { UNKNOWNS = 3, LINES = 2 * (SW_GRID_MOST + 1) };
    double rows[LINES * UNKNOWNS], at[LINES], grid[UNKNOWNS];
    double *unseen[LINES], nominal[LINES * UNKNOWNS];
    size_t n = 0, hidden = 0;
    for (int upright = 0; upright < 2; upright++)
        for (int i = 0; i <= (upright ? b->columns : b->rows); i++) {
            double *line = upright ? &b->x[i] : &b->y[i];
            bool shows = centre(s, b, upright, line) > SHOWS;
            double *row = shows ? &rows[UNKNOWNS * n] : &nominal[UNKNOWNS * hidden];
            row[0] = upright;
            row[1] = !upright;
            row[2] = upright ? i : -i;
            if (shows)
                at[n++] = *line;
            else
                unseen[hidden++] = line;
        }
    if (!hidden || sw_lsq_linear(rows, at, NULL, n, UNKNOWNS, false, grid, NULL, NULL))
        return;
    for (size_t i = 0; i < hidden; i++) {
        const double *row = &nominal[UNKNOWNS * i];
        double to = row[0] * grid[0] + row[1] * grid[1] + row[2] * grid[2];
        if (fabs(to - *unseen[i]) < 2 * SW_POINTED_OFF_MM)
            *unseen[i] = to;
    }
}

/* Settles even lines from where they are and from beside it, as clicks may all be off the same way. Returns what inner lines are worth. */
static double settle(const sw_search *s, const sw_block *even, sw_block *best)
{
    double worth = -INFINITY;
    for (int east = -1; east <= 1; east++)
        for (int north = -1; north <= 1; north++) {
            sw_block b = *even;
            double outer;
            for (int i = 0; i <= b.columns; i++)
                b.x[i] += east * SW_POINTED_OFF_MM;
            for (int i = 0; i <= b.rows; i++)
                b.y[i] += north * SW_POINTED_OFF_MM;
            double inner = sw_block_settle(s, &b, &outer);
            b.worth = inner + fmax(0, outer); /* a floor as bright as the tops hides the outer sides */
            if (b.worth > best->worth || isinf(worth)) {
                *best = b;
                worth = inner;
            }
        }
    return worth;
}

/* Whether the lines are seams at all. What the user says of their number stands in for lines that do not show, but one must. */
static bool shows(const sw_search *s, const sw_block *b, double inner, const sw_table *table)
{
    const double sides = b->columns * (b->rows - 1) + b->rows * (b->columns - 1);
    if (sides == 0)
        return b->worth > SHOW_LEAST * sw_block_ideal(b, s->pitch);
    if (inner > SHOW_LEAST * sw_block_ideal(b, s->pitch) * sides / (sides + 2 * (b->columns + b->rows)))
        return true;
    if (table->columns == 0 && !(table->tile_mm > 0))
        return false;
    double most = 0;
    for (int i = 1; i < b->columns; i++)
        most = fmax(most, share_at(s, b, true, b->x[i]));
    for (int i = 1; i < b->rows; i++)
        most = fmax(most, share_at(s, b, false, b->y[i]));
    return most > SHOWS_CLEARLY;
}

sw_block sw_pointed_block(sw_search *s, const sw_scale *scale, const sw_point *corners_px, const sw_table *table)
{
    sw_block best = {.columns = 0};
    double worth = -INFINITY;
    sw_point c[4];
    corners_mm(scale, corners_px, c);
    const sw_block whole = even_block(c, 1, 1);
    const double width = whole.x[1] - whole.x[0], height = whole.y[0] - whole.y[1];
    for (int columns = 1; columns <= SW_GRID_MOST; columns++) {
        const int rows = (int)fmin(SW_GRID_MOST + 1, round(height * columns / width));
        if (rows < 1 || rows > SW_GRID_MOST)
            continue;
        const sw_block even = even_block(c, columns, rows);
        sw_block b = even;
        if (!fits(&even, table))
            continue;
        s->pitch = sw_block_pitch(&even);
        double inner = settle(s, &even, &b);
        if (inner > worth) {
            worth = inner;
            best = b;
        }
    }
    if (best.columns) {
        s->pitch = sw_block_pitch(&best);
        even_out(s, &best);
        if (!shows(s, &best, worth, table))
            best.columns = 0;
    }
    return best;
}
