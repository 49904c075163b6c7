#include "table/block.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Share of evidence at which a side is worth nothing: texture reaches 0.3 at its worst place within the
 * slip, a faint seam 0.6. */
static const double CHANCE = 0.4;
/* Lines of which less than this shows have no place of their own. */
static const double SHOWS = 0.2;
/* A table is not grown from a cell whose sides show less than this share: two and a half sides of four. */
static const double FIRST_CELL = 0.5;
/* A side may lie off its place by SW_SLIP_MM and this share of the pitch. */
static const double SLIP_SHARE = 0.012;
/* Pitches that are tried, mm: tiles larger than a door are not what this is for. */
static const double PITCH_LEAST = SW_TILE_FOUND_LEAST_MM, PITCH_MOST = 1000;

void sw_search_free(sw_search *s)
{
    sw_evidence_free(&s->upright);
    sw_evidence_free(&s->level);
    s->pitch = 0;
}

double sw_block_ideal(const sw_block *b, double pitch)
{
    return (1 - CHANCE) * pitch * (b->columns * (b->rows + 1) + b->rows * (b->columns + 1));
}

double sw_block_pitch(const sw_block *b)
{
    return (b->x[b->columns] - b->x[0] + b->y[0] - b->y[b->rows]) / (b->columns + b->rows);
}

double sw_search_slip(const sw_search *s)
{
    return SW_SLIP_MM + SLIP_SHARE * s->pitch;
}

/* Worth (mm) of a line at `at` over the stretches between the lines across it, across[0..count]; and the mean place of its
 * sides, weighed by what of them shows, `at` itself where next to nothing does. */
static double line_worth(const sw_evidence *e, double slip, double at, const double *across, int count, double *place)
{
    double worth = 0, sum = 0, weight = 1e-6;
    for (int i = 0; i < count; i++) {
        double low = fmin(across[i], across[i + 1]), high = fmax(across[i], across[i + 1]);
        sw_fitted f = sw_fit_side(e, at, slip, low, high);
        worth += (f.share - CHANCE) * (high - low);
        sum += f.share * (f.at0 + f.at1) / 2;
        weight += f.share;
    }
    *place = weight > SHOWS ? sum / weight : at;
    return worth;
}

static double upright_worth(const sw_search *s, const sw_block *b, double x, double *place)
{
    return line_worth(&s->upright, sw_search_slip(s), x, b->y, b->rows, place);
}

static double level_worth(const sw_search *s, const sw_block *b, double y, double *place)
{
    return line_worth(&s->level, sw_search_slip(s), y, b->x, b->columns, place);
}

/* Adds a column or a row beyond the block's last line (side 1) or its first (-1), or returns the block unchanged with a
 * *gain of 0 or less when that does not pay. */
static sw_block add_strip(const sw_search *s, sw_block b, bool row, int side, double *gain)
{
    double *lines = row ? b.y : b.x, *across = row ? b.x : b.y, slip = sw_search_slip(s), place, ignore;
    int *count = row ? &b.rows : &b.columns, others = row ? b.columns : b.rows;
    double from = side > 0 ? lines[*count] : lines[0], to = from + (row ? -side : side) * s->pitch;
    *gain = row ? level_worth(s, &b, to, &place) : upright_worth(s, &b, to, &place);
    const double strip[2] = {from, place};
    for (int k = 0; k <= others; k++)
        *gain += line_worth(row ? &s->upright : &s->level, slip, across[k], strip, 1, &ignore);
    if (*gain <= 0 || *count == SW_GRID_MOST)
        return b;
    if (side < 0)
        memmove(lines + 1, lines, (size_t)(*count + 1) * sizeof *lines);
    ++*count;
    lines[side < 0 ? 0 : *count] = place;
    b.worth += *gain;
    return b;
}

/* Grows a block from the cell whose west side is at x and whose north side is at y, taking the best side each time. */
static sw_block grow(const sw_search *s, double x, double y)
{
    sw_block b = {.columns = 1, .rows = 1, .x = {x, x + s->pitch}, .y = {y, y - s->pitch}};
    double place;
    b.worth = upright_worth(s, &b, b.x[0], &place);
    b.x[0] = place;
    b.worth += upright_worth(s, &b, b.x[1], &place);
    b.x[1] = place;
    b.worth += level_worth(s, &b, b.y[0], &place);
    b.y[0] = place;
    b.worth += level_worth(s, &b, b.y[1], &place);
    b.y[1] = place;
    if (b.worth < FIRST_CELL * (1 - CHANCE) * 4 * s->pitch)
        return b;
    for (;;) {
        double gain[4];
        sw_block next[4] = {add_strip(s, b, false, 1, &gain[0]), add_strip(s, b, false, -1, &gain[1]),
                            add_strip(s, b, true, 1, &gain[2]), add_strip(s, b, true, -1, &gain[3])};
        int best = 0;
        for (int i = 1; i < 4; i++)
            if (gain[i] > gain[best])
                best = i;
        if (gain[best] <= 0 || (next[best].columns == b.columns && next[best].rows == b.rows))
            return b;
        b = next[best];
    }
}

/* A block of which this share of the ideal worth shows is taken without trying further squares. */
static const double GOOD_ENOUGH = 0.75;

typedef struct peak {
    double at, strength;
} peak;

/* The strongest lines of one direction, by total evidence. */
enum { PEAKS = 22 };
static int find_peaks(const sw_evidence *e, peak *out)
{
    int count = 0, apart = (int)ceil(6 / e->bin);
    double *total = calloc((size_t)e->across, sizeof *total);
    if (!total)
        return 0;
    for (int i = 0; i < e->across; i++)
        for (int j = 0; j < e->along; j++)
            total[i] += e->seen[(size_t)i * (size_t)e->along + (size_t)j];
    while (count < PEAKS) {
        int best = 0;
        for (int i = 1; i < e->across; i++)
            if (total[i] > total[best])
                best = i;
        if (total[best] <= 255 * 2)
            break;
        out[count++] = (peak){e->low_across + (best + 0.5) * e->bin, total[best]};
        for (int i = best - apart; i <= best + apart; i++)
            if (i >= 0 && i < e->across)
                total[i] = 0;
    }
    free(total);
    return count;
}

/* Pitches worth trying: distances between peaks, and these over small whole numbers, the most often met first. */
enum { PITCHES = 48, PITCH_BINS = 400 };
static int find_pitches(const peak *px, int nx, const peak *py, int ny, double given, double *out)
{
    double votes[PITCH_BINS] = {0}, sum[PITCH_BINS] = {0}, ratio = log(PITCH_MOST / PITCH_LEAST);
    for (int axis = 0; axis < 2; axis++) {
        const peak *p = axis ? py : px;
        int n = axis ? ny : nx;
        for (int i = 0; i < n; i++)
            for (int j = i + 1; j < n; j++)
                for (int k = 1; k <= 8; k++) {
                    double d = fabs(p[i].at - p[j].at) / k;
                    if (d < PITCH_LEAST || d > PITCH_MOST || (given > 0 && fabs(d / given - 1) > SW_GIVEN_SLACK))
                        continue;
                    int bin = (int)(log(d / PITCH_LEAST) / ratio * PITCH_BINS);
                    double w = sqrt(p[i].strength * p[j].strength) / k;
                    bin = bin >= PITCH_BINS ? PITCH_BINS - 1 : bin;
                    votes[bin] += w;
                    sum[bin] += w * d;
                }
    }
    int count = 0;
    for (; count < PITCHES; count++) {
        int best = 0;
        for (int i = 1; i < PITCH_BINS; i++)
            if (votes[i] > votes[best])
                best = i;
        if (votes[best] <= 0)
            break;
        out[count] = sum[best] / votes[best];
        votes[best] = 0;
    }
    return count;
}

/* Lines and pitches that blocks are grown from. */
typedef struct starts {
    peak x[PEAKS], y[PEAKS];
    double pitches[PITCHES];
    int nx, ny, count;
} starts;

/* The best block grown from a cell that holds `inside`; best so far is handed in. */
static sw_block best_round(sw_search *s, const starts *from, sw_point inside, sw_block best)
{
    for (int k = 0; k < from->count; k++) {
        s->pitch = from->pitches[k];
        for (int i = 0; i < from->nx; i++)
            for (int j = 0; j < from->ny; j++) {
                double x = from->x[i].at, y = from->y[j].at;
                if (x > inside.x + 5 || x < inside.x - s->pitch - 5 || y < inside.y - 5 || y > inside.y + s->pitch + 5)
                    continue;
                sw_block b = grow(s, x, y);
                if (b.worth > best.worth)
                    best = b;
            }
    }
    return best;
}

sw_block sw_block_find(sw_search *s, const sw_scale *scale, double given)
{
    starts from;
    sw_block best = {.worth = 0};
    from.nx = find_peaks(&s->upright, from.x);
    from.ny = find_peaks(&s->level, from.y);
    from.count = find_pitches(from.x, from.nx, from.y, from.ny, given, from.pitches);
    /* A square may lie on a tile that is cut off, or over a seam that does not show: then the next one is tried. One
     * large cell with several squares in it is hardly a tile. */
    for (int k = 0; k < scale->square_count; k++) {
        const sw_point *c = scale->squares[k].corners_mm;
        best = best_round(s, &from, (sw_point){(c[0].x + c[2].x) / 2, (c[0].y + c[2].y) / 2}, best);
        bool whole = best.columns * best.rows > 1 || scale->square_count == 1;
        if (whole && best.columns && best.worth > GOOD_ENOUGH * sw_block_ideal(&best, sw_block_pitch(&best)))
            break;
    }
    if (best.columns)
        s->pitch = sw_block_pitch(&best);
    return best;
}

double sw_block_settle(const sw_search *s, sw_block *b, double *outer)
{
    sw_block to = *b;
    double inner = 0;
    *outer = 0;
    for (int i = 0; i <= b->columns; i++)
        *(i == 0 || i == b->columns ? outer : &inner) += upright_worth(s, b, b->x[i], &to.x[i]);
    for (int i = 0; i <= b->rows; i++)
        *(i == 0 || i == b->rows ? outer : &inner) += level_worth(s, b, b->y[i], &to.y[i]);
    *b = to;
    return inner;
}

/* How much farther out than the other tiles' size allows the table's own side may lie, mm (their size errors), and how
 * much nearer (half a gap is missing there too). */
static const double OUTER_MORE_MM = 1.5, OUTER_LESS_MM = 7;

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Where the side belongs, seen from its neighbour `from` in direction `way` (1: coordinate grows); its own place if
 * that will do. */
static double trimmed(double at, double from, int way, double usual)
{
    double size = way * (at - from);
    return size > usual + OUTER_MORE_MM || size < usual - OUTER_LESS_MM ? from + way * usual : at;
}

/* The best line near `at` over the sides between the lines across[0..count]; `at` itself where none shows. */
static double near_line(const sw_evidence *e, double at, const double *across, int count)
{
    double sum = 0, weight = 0;
    for (int i = 0; i < count; i++) {
        sw_fitted f =
            sw_fit_side(e, at, SW_OUTER_SLIP_MM, fmin(across[i], across[i + 1]), fmax(across[i], across[i + 1]));
        sum += f.share * (f.at0 + f.at1) / 2;
        weight += f.share;
    }
    return weight > SHOWS * count ? sum / weight : at;
}

void sw_block_trim(const sw_search *s, sw_block *b)
{
    double sizes[2 * SW_GRID_MOST];
    int n = 0, c = b->columns, r = b->rows;
    for (int i = 0; i < c; i++)
        sizes[n++] = b->x[i + 1] - b->x[i];
    for (int i = 0; i < r; i++)
        sizes[n++] = b->y[i] - b->y[i + 1];
    if (n < 3)
        return; /* one tile, or too few to tell which of them is right */
    qsort(sizes, (size_t)n, sizeof *sizes, by_size);
    double usual = sizes[(n - 1) / 2];
    double *sides[4] = {&b->x[0], &b->x[c], &b->y[0], &b->y[r]};
    const double from[4] = {b->x[1], b->x[c - 1], b->y[1], b->y[r - 1]};
    const int way[4] = {-1, 1, 1, -1};
    for (int k = 0; k < 4; k++) {
        double to = trimmed(*sides[k], from[k], way[k], usual);
        if (to != *sides[k])
            *sides[k] = k < 2 ? near_line(&s->upright, to, b->y, r) : near_line(&s->level, to, b->x, c);
    }
}

sw_block sw_block_split(sw_search *s, sw_block b, double tile_mm)
{
    int parts = (int)lround(s->pitch / tile_mm);
    if (parts < 2 || fabs(s->pitch / (parts * tile_mm) - 1) > SW_GIVEN_SLACK / 2 || b.columns * parts > SW_GRID_MOST ||
        b.rows * parts > SW_GRID_MOST)
        return b;
    sw_block out = {.columns = b.columns * parts, .rows = b.rows * parts, .worth = b.worth, .split = true};
    for (int i = 0; i <= out.columns; i++) {
        int cell = i / parts < b.columns ? i / parts : b.columns - 1;
        out.x[i] = b.x[cell] + (b.x[cell + 1] - b.x[cell]) * (i - cell * parts) / parts;
    }
    for (int i = 0; i <= out.rows; i++) {
        int cell = i / parts < b.rows ? i / parts : b.rows - 1;
        out.y[i] = b.y[cell] + (b.y[cell + 1] - b.y[cell]) * (i - cell * parts) / parts;
    }
    s->pitch /= parts;
    return out;
}
