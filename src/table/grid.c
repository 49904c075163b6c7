/* grid.c - from strokes to columns and rows.
 *
 * Along the tiles' directions every stroke votes in a map of upright or of level line evidence (fine bins across, 10 mm bins
 * along). A side of a cell is worth the share of its length with evidence, less what chance and grain would give; a table is
 * the block of equal cells round a reference square whose sides are worth most. A pitch of half a tile pays for its empty
 * sides, a pitch of two tiles misses half the sides, and background has no cells whose four sides all show.
 */
#include "grid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "bundle.h"
#include "strokes.h"

/* Length of a bin along a line, mm: short against a tile, long against a stroke's own noise. */
static const double ALONG_MM = 10;
/* |cos| between a stroke's gradient and the line's normal: within 8 degrees. */
static const double NEARLY = 0.99;
/* Share of evidence at which a side is worth nothing: texture reaches 0.3 at its worst place within the
 * slip, a faint seam 0.6. */
static const double CHANCE = 0.4;
/* A table is not grown from a cell whose sides show less than this share: two and a half sides of four. */
static const double FIRST_CELL = 0.5;
/* A table of which this share of the ideal worth shows is the table; below it other directions are tried too. */
static const double WHOLE = 0.6;
/* And one of which less than this shows is none. */
static const double HALF_THERE = 0.3;
/* How far a side may lie from its place in an even grid, mm and share of the pitch: gaps, slips and size errors of tiles. */
static const double SLIP_MM = 4, SLIP_SHARE = 0.012;
/* Evidence that lies off an even grid is worth less, share a mm: shadows run along tables too, a centimetre or so outside. */
static const double AWAY = 0.035;
/* Pitches that are tried, mm: smaller tiles than a card, or larger than a door, are not what this is for. */
static const double PITCH_LEAST = 60, PITCH_MOST = 1000;
/* A table found turned by less than this, radians, is straight enough: 0.6 mm along a tile. */
static const double LEFTOVER_RAD = 0.002, LEFTOVER_MM = 8;
/* |cos| for strokes of a side that may still stand turned by two degrees and be ragged. */
static const double NEARLY_TURNED = 0.97;
/* How close to the nominal side a found pitch must be when the user gave it. */
static const double GIVEN_SLACK = 0.04;

typedef struct evidence {
    double low_across, low_along, bin;
    int across, along;
    unsigned char *seen; /* across x along, weight 0 to 255 */
    int *sums;           /* across x (along + 1): running sums along each line of the strongest of it and its two neighbours */
} evidence;

static int evidence_make(evidence *e, double low_across, double high_across, double low_along, double high_along, double bin)
{
    e->low_across = low_across;
    e->low_along = low_along;
    e->bin = bin;
    e->across = (int)((high_across - low_across) / bin) + 1;
    e->along = (int)((high_along - low_along) / ALONG_MM) + 1;
    e->seen = calloc((size_t)e->across * (size_t)e->along, 1);
    return e->seen ? 0 : -1;
}

static void vote(evidence *e, double across, double along, double weight)
{
    int i = (int)floor((across - e->low_across) / e->bin), j = (int)floor((along - e->low_along) / ALONG_MM);
    if (i < 0 || j < 0 || i >= e->across || j >= e->along)
        return;
    unsigned char *at = &e->seen[(size_t)i * (size_t)e->along + (size_t)j];
    unsigned char w = (unsigned char)(255 * weight);
    if (w > *at)
        *at = w;
}

/* Works out the running sums once all votes are in. */
static int evidence_close(evidence *e)
{
    size_t n = (size_t)e->along;
    e->sums = calloc((size_t)e->across * (n + 1), sizeof *e->sums);
    if (!e->sums)
        return -1;
    for (int i = 1; i + 1 < e->across; i++) {
        const unsigned char *at = e->seen + (size_t)i * n;
        int *sum = e->sums + (size_t)i * (n + 1);
        for (size_t j = 0; j < n; j++) {
            unsigned char most = at[j];
            most = at[j - n] > most ? at[j - n] : most;
            most = at[j + n] > most ? at[j + n] : most;
            sum[j + 1] = sum[j] + most;
        }
    }
    return 0;
}

/* Share of evidence along one line of bins. */
static double straight_share(const evidence *e, double across, double along0, double along1)
{
    int j0 = (int)ceil((along0 - e->low_along) / ALONG_MM), j1 = (int)floor((along1 - e->low_along) / ALONG_MM);
    int i = (int)floor((across - e->low_across) / e->bin), length = j1 - j0;
    j0 = j0 < 0 ? 0 : j0;
    j1 = j1 > e->along ? e->along : j1;
    if (j1 <= j0 || i < 0 || i >= e->across)
        return 0;
    const int *sum = e->sums + (size_t)i * ((size_t)e->along + 1);
    return (sum[j1] - sum[j0]) / (255.0 * length);
}

/* Share of evidence on the straight line from (across0, along0) to (across1, along1), a bin to either side allowed. */
static double line_share(const evidence *e, double across0, double across1, double along0, double along1)
{
    int j0 = (int)ceil((along0 - e->low_along) / ALONG_MM), j1 = (int)floor((along1 - e->low_along) / ALONG_MM);
    double sum = 0;
    if (j1 <= j0)
        return 0;
    for (int j = j0; j < j1; j++) {
        double part = (j + 0.5 - j0) / (j1 - j0);
        int i = (int)floor((across0 + part * (across1 - across0) - e->low_across) / e->bin);
        if (j < 0 || j >= e->along || i < 1 || i >= e->across - 1)
            continue;
        const unsigned char *at = &e->seen[(size_t)i * (size_t)e->along + (size_t)j];
        unsigned char most = at[0];
        most = at[-e->along] > most ? at[-e->along] : most;
        most = at[e->along] > most ? at[e->along] : most;
        sum += most;
    }
    return sum / (255.0 * (j1 - j0));
}

typedef struct fitted {
    double at0, at1, share;
} fitted;

/* Best line of bins near `across` between along0 and along1. */
static fitted fit_side(const evidence *e, double across, double slip, double along0, double along1)
{
    fitted best = {across, across, -1};
    double margin = fmin(15, 0.1 * (along1 - along0));
    int steps = (int)ceil(slip / e->bin);
    for (int k = -steps; k <= steps; k++) {
        double a = across + k * e->bin, share = straight_share(e, a, along0 + margin, along1 - margin) - AWAY * abs(k) * e->bin;
        if (share > best.share)
            best = (fitted){a, a, share};
    }
    best.share = fmax(best.share, 0);
    return best;
}

/* The same with a turn of up to 2 mm from end to end, for the final places. */
static fitted fit_turned(const evidence *e, double across, double slip, double along0, double along1)
{
    fitted best = fit_side(e, across, slip, along0, along1);
    double margin = fmin(15, 0.1 * (along1 - along0));
    int steps = (int)ceil(slip / e->bin);
    for (int k = -steps; k <= steps; k++)
        for (double turn = -2; turn <= 2; turn += 4) {
            double a0 = across + k * e->bin - turn / 2, a1 = a0 + turn;
            double share = line_share(e, a0, a1, along0 + margin, along1 - margin) - AWAY * abs(k) * e->bin - 0.01;
            if (share > best.share)
                best = (fitted){a0, a1, share};
        }
    return best;
}

typedef struct search {
    evidence upright, level;
    double pitch;
} search;

static void search_free(search *s)
{
    free(s->upright.seen);
    free(s->level.seen);
    free(s->upright.sums);
    free(s->level.sums);
    memset(s, 0, sizeof *s);
}

/* A block of cells: lines x[0..columns] to the east, y[0..rows] to the south (y falling). */
typedef struct block {
    int columns, rows;
    double x[SW_GRID_MOST + 1], y[SW_GRID_MOST + 1], worth;
} block;

/* What the block would be worth if all its sides showed. */
static double ideal_worth(const block *b, double pitch)
{
    return (1 - CHANCE) * pitch * (b->columns * (b->rows + 1) + b->rows * (b->columns + 1));
}

static double slip_of(const search *s)
{
    return SLIP_MM + SLIP_SHARE * s->pitch;
}

/* Worth (mm) of the upright line at x over the block's rows, and the mean place of its sides. */
static double upright_worth(const search *s, const block *b, double x, double *place)
{
    double worth = 0, sum = 0, weight = 1e-6;
    for (int r = 0; r < b->rows; r++) {
        fitted f = fit_side(&s->upright, x, slip_of(s), b->y[r + 1], b->y[r]);
        worth += (f.share - CHANCE) * (b->y[r] - b->y[r + 1]);
        sum += f.share * (f.at0 + f.at1) / 2;
        weight += f.share;
    }
    *place = weight > 0.2 ? sum / weight : x;
    return worth;
}

static double level_worth(const search *s, const block *b, double y, double *place)
{
    double worth = 0, sum = 0, weight = 1e-6;
    for (int c = 0; c < b->columns; c++) {
        fitted f = fit_side(&s->level, y, slip_of(s), b->x[c], b->x[c + 1]);
        worth += (f.share - CHANCE) * (b->x[c + 1] - b->x[c]);
        sum += f.share * (f.at0 + f.at1) / 2;
        weight += f.share;
    }
    *place = weight > 0.2 ? sum / weight : y;
    return worth;
}

/* Adds a column (side 1: east, -1: west) or returns the block unchanged with worth -1 in *gain when that does not pay. */
static block add_column(const search *s, block b, int side, double *gain)
{
    block strip = {.columns = 1, .rows = b.rows};
    memcpy(strip.y, b.y, sizeof b.y);
    double from = side > 0 ? b.x[b.columns] : b.x[0], to = from + side * s->pitch, place;
    *gain = upright_worth(s, &strip, to, &place);
    strip.x[0] = fmin(from, place);
    strip.x[1] = fmax(from, place);
    for (int r = 0; r <= b.rows; r++) {
        double ignore;
        *gain += level_worth(s, &strip, b.y[r], &ignore);
    }
    if (*gain <= 0 || b.columns == SW_GRID_MOST)
        return b;
    if (side < 0)
        memmove(b.x + 1, b.x, (size_t)(b.columns + 1) * sizeof *b.x);
    b.columns++;
    b.x[side < 0 ? 0 : b.columns] = place;
    b.worth += *gain;
    return b;
}

static block add_row(const search *s, block b, int side, double *gain)
{
    block strip = {.columns = b.columns, .rows = 1};
    memcpy(strip.x, b.x, sizeof b.x);
    double from = side > 0 ? b.y[b.rows] : b.y[0], to = from - side * s->pitch, place;
    *gain = level_worth(s, &strip, to, &place);
    strip.y[0] = fmax(from, place);
    strip.y[1] = fmin(from, place);
    for (int c = 0; c <= b.columns; c++) {
        double ignore;
        *gain += upright_worth(s, &strip, b.x[c], &ignore);
    }
    if (*gain <= 0 || b.rows == SW_GRID_MOST)
        return b;
    if (side < 0)
        memmove(b.y + 1, b.y, (size_t)(b.rows + 1) * sizeof *b.y);
    b.rows++;
    b.y[side < 0 ? 0 : b.rows] = place;
    b.worth += *gain;
    return b;
}

/* Grows a block from the cell whose west side is at x and whose north side is at y, taking the best side each time. */
static block grow(const search *s, double x, double y)
{
    block b = {.columns = 1, .rows = 1, .x = {x, x + s->pitch}, .y = {y, y - s->pitch}};
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
        block next[4] = {add_column(s, b, 1, &gain[0]), add_column(s, b, -1, &gain[1]), add_row(s, b, 1, &gain[2]),
                         add_row(s, b, -1, &gain[3])};
        int best = 0;
        for (int i = 1; i < 4; i++)
            if (gain[i] > gain[best])
                best = i;
        if (gain[best] <= 0 || (next[best].columns == b.columns && next[best].rows == b.rows))
            return b;
        b = next[best];
    }
}

typedef struct peak {
    double at, strength;
} peak;

/* The strongest lines of one direction, by total evidence. */
enum { PEAKS = 22 };
static int find_peaks(const evidence *e, peak *out)
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
                    if (d < PITCH_LEAST || d > PITCH_MOST || (given > 0 && fabs(d / given - 1) > GIVEN_SLACK))
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

/* The best block round the first squares of the scale. */
static block best_block(search *s, const sw_scale *scale, double given)
{
    peak px[PEAKS], py[PEAKS];
    double pitches[PITCHES];
    block best = {.worth = 0};
    int nx = find_peaks(&s->upright, px), ny = find_peaks(&s->level, py);
    int count = find_pitches(px, nx, py, ny, given, pitches);
    const sw_point *c = scale->squares[0].corners_mm;
    double cx = (c[0].x + c[2].x) / 2, cy = (c[0].y + c[2].y) / 2;
    for (int k = 0; k < count; k++) {
        s->pitch = pitches[k];
        for (int i = 0; i < nx; i++)
            for (int j = 0; j < ny; j++) {
                if (px[i].at > cx + 5 || px[i].at < cx - s->pitch - 5 || py[j].at < cy - 5 || py[j].at > cy + s->pitch + 5)
                    continue;
                block b = grow(s, px[i].at, py[j].at);
                if (b.worth > best.worth)
                    best = b;
            }
    }
    if (best.columns)
        s->pitch = (best.x[best.columns] - best.x[0] + best.y[0] - best.y[best.rows]) / (best.columns + best.rows);
    return best;
}

/* With the tile size given, a block whose cells are a whole number of tiles wide is a table with seams too tight to show: it is cut
 * into tiles of that size. */
static block split(search *s, block b, double tile_mm)
{
    int parts = (int)lround(s->pitch / tile_mm);
    if (parts < 2 || fabs(s->pitch / (parts * tile_mm) - 1) > GIVEN_SLACK / 2 || b.columns * parts > SW_GRID_MOST ||
        b.rows * parts > SW_GRID_MOST)
        return b;
    block out = {.columns = b.columns * parts, .rows = b.rows * parts, .worth = b.worth};
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

/* Turns the (unturned) scale, and the strokes, which stand turned by `turned` already, so that the tiles' sides, at `angle`,
 * run along the axes and north is up as the photo is shown. Returns the strokes' turn. */
static double put_upright(const sw_photo *photo, double angle, double turned, sw_scale *scale, sw_strokes *strokes)
{
    double best_angle = angle, best_up = -INFINITY;
    for (int quarter = 0; quarter < 4; quarter++) {
        double a = angle + quarter * M_PI / 2;
        sw_point from = sw_photo_show(photo, sw_scale_to_px(scale, (sw_point){0, 0}));
        sw_point to = sw_photo_show(photo, sw_scale_to_px(scale, (sw_point){-50 * sin(a), 50 * cos(a)}));
        double up = (from.y - to.y) / hypot(to.x - from.x, to.y - from.y);
        if (up > best_up) {
            best_up = up;
            best_angle = a;
        }
    }
    sw_scale_turn(scale, (sw_point){0, 0}, best_angle);
    float c = (float)cos(best_angle - turned), n = (float)sin(best_angle - turned);
    for (size_t i = 0; i < strokes->count; i++) {
        sw_stroke *p = &strokes->items[i];
        *p = (sw_stroke){c * p->x + n * p->y, -n * p->x + c * p->y, c * p->gx + n * p->gy, -n * p->gx + c * p->gy, p->weight};
    }
    return best_angle;
}

static int collect(const sw_strokes *strokes, search *s)
{
    double x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY, y1 = -INFINITY, bin = fmax(1, strokes->bin_mm);
    for (size_t i = 0; i < strokes->count; i++) {
        x0 = fmin(x0, strokes->items[i].x);
        x1 = fmax(x1, strokes->items[i].x);
        y0 = fmin(y0, strokes->items[i].y);
        y1 = fmax(y1, strokes->items[i].y);
    }
    if (!(x1 > x0) || (x1 - x0) / bin > 40000 || (y1 - y0) / bin > 40000)
        return -1;
    if (evidence_make(&s->upright, x0, x1, y0, y1, bin) || evidence_make(&s->level, y0, y1, x0, x1, bin))
        return -1;
    for (size_t i = 0; i < strokes->count; i++) {
        const sw_stroke *p = &strokes->items[i];
        if (fabsf(p->gx) > NEARLY)
            vote(&s->upright, p->x, p->y, p->weight);
        else if (fabsf(p->gy) > NEARLY)
            vote(&s->level, p->y, p->x, p->weight);
    }
    return evidence_close(&s->upright) || evidence_close(&s->level) ? -1 : 0;
}

static void fill_grid(const search *s, const block *b, sw_grid *grid)
{
    memset(grid, 0, sizeof *grid);
    grid->columns = b->columns;
    grid->rows = b->rows;
    grid->tile_mm = s->pitch;
    for (int i = 0; i <= b->columns; i++)
        for (int r = 0; r < b->rows; r++) {
            fitted f = fit_turned(&s->upright, b->x[i], slip_of(s), b->y[r + 1], b->y[r]);
            grid->upright[i][r] = (sw_grid_side){{f.at1, b->y[r]}, {f.at0, b->y[r + 1]}, f.share};
        }
    for (int r = 0; r <= b->rows; r++)
        for (int i = 0; i < b->columns; i++) {
            fitted f = fit_turned(&s->level, b->y[r], slip_of(s), b->x[i], b->x[i + 1]);
            grid->level[i][r] = (sw_grid_side){{b->x[i], f.at0}, {b->x[i + 1], f.at1}, f.share};
        }
}

static void move_origin(sw_scale *scale, sw_grid *grid)
{
    sw_point o = {grid->upright[0][0].from.x, grid->level[0][0].from.y};
    sw_scale_turn(scale, o, 0);
    for (int i = 0; i <= SW_GRID_MOST; i++)
        for (int j = 0; j < SW_GRID_MOST; j++) {
            sw_grid_side *sides[2] = {&grid->upright[i][j], &grid->level[j][i]};
            for (int k = 0; k < 2; k++) {
                sides[k]->from = (sw_point){sides[k]->from.x - o.x, sides[k]->from.y - o.y};
                sides[k]->to = (sw_point){sides[k]->to.x - o.x, sides[k]->to.y - o.y};
            }
        }
}

static int inside_photo(const sw_photo *photo, const sw_scale *scale, sw_point mm)
{
    sw_point px = sw_scale_to_px(scale, mm);
    return px.x >= 2 && px.y >= 2 && px.x <= photo->width_px - 3 && px.y <= photo->height_px - 3;
}

/* Whether a seam line that ends at `end` goes on in direction (dx, dy) until the photo's rim: then tiles are cut off there. */
static int runs_off(const sw_photo *photo, const sw_scale *scale, const evidence *e, int upright, sw_point end, double d,
                    double pitch)
{
    double length = 0;
    while (length < pitch && inside_photo(photo, scale, upright ? (sw_point){end.x, end.y + d * (length + 5)}
                                                                : (sw_point){end.x + d * (length + 5), end.y}))
        length += 5;
    if (length >= pitch || length < 40)
        return 0;
    double from = upright ? end.y : end.x, across = upright ? end.x : end.y, to = from + d * length;
    double low = fmin(from, to), high = fmax(from, to);
    double beside = (fit_side(e, across - 6 * SLIP_MM, SLIP_MM, low, high).share +
                     fit_side(e, across + 6 * SLIP_MM, SLIP_MM, low, high).share) / 2;
    return fit_side(e, across, SLIP_MM, low, high).share > 0.6 + 0.5 * beside;
}

/* Counts lines that run off the photo on each side: west, east, north, south; most of a side's lines make it cut off. */
static const char *cut_side(const sw_photo *photo, const sw_scale *scale, const search *s, const block *b)
{
    int off[4] = {0};
    for (int r = 0; r <= b->rows; r++) {
        off[0] += runs_off(photo, scale, &s->level, 0, (sw_point){b->x[0], b->y[r]}, -1, s->pitch);
        off[1] += runs_off(photo, scale, &s->level, 0, (sw_point){b->x[b->columns], b->y[r]}, 1, s->pitch);
    }
    for (int c = 0; c <= b->columns; c++) {
        off[2] += runs_off(photo, scale, &s->upright, 1, (sw_point){b->x[c], b->y[0]}, 1, s->pitch);
        off[3] += runs_off(photo, scale, &s->upright, 1, (sw_point){b->x[c], b->y[b->rows]}, -1, s->pitch);
    }
    static const char *const names[] = {"left", "right", "top", "bottom"};
    for (int i = 0; i < 4; i++)
        if (off[i] * 2 > (i < 2 ? b->rows : b->columns) + 1)
            return names[i];
    return NULL;
}

static sw_status check(const sw_photo *photo, const sw_scale *scale, const search *s, const block *b, const sw_table *table,
                       sw_error *err)
{
    double given = table->tile_mm;
    if (!b->columns || b->worth < HALF_THERE * ideal_worth(b, s->pitch))
        return sw_fail(err, SW_NOT_FOUND,
                       "%s: the reference square is there, but no square tiles were found round it; do the card lie on the "
                       "tiles, and is the whole table in the picture?",
                       photo->file);
    if (given > 0 && fabs(s->pitch / given - 1) > GIVEN_SLACK)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the tiles measure about %.0f mm, not %g mm; is the reference square really %g mm wide (--reference), "
                       "and the tile size right (--tile)?",
                       photo->file, s->pitch, given, scale->reference.outer_x_mm);
    const char *cut = cut_side(photo, scale, s, b);
    if (cut)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the table is cut off at the %s of the picture; step back so that all tiles and some floor round "
                       "them are in it",
                       photo->file, cut);
    if (table->columns > 0 && (table->columns != b->columns || table->rows != b->rows))
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the picture shows %d x %d tiles (across x down), not %d x %d; leave --table out, or clear away what "
                       "hides the others",
                       photo->file, b->columns, b->rows, table->columns, table->rows);
    return SW_OK;
}

/* Sums of a straight line through the strokes of one side. */
typedef struct slope_sums {
    double n, s, a, ss, sa; /* s along the side, a across */
} slope_sums;

static void add_slope(slope_sums *sums, double along, double across, double w)
{
    sums->n += w;
    sums->s += w * along;
    sums->a += w * across;
    sums->ss += w * along * along;
    sums->sa += w * along * across;
}

/* Which of the lines v[0..n] (rising or falling) a coordinate belongs to: nearest line within reach, else -1. */
static int nearest_line(const double *v, int n, double at, double reach)
{
    for (int i = 0; i <= n; i++)
        if (fabs(v[i] - at) < reach)
            return i;
    return -1;
}

static int cell_of(const double *v, int n, double at)
{
    for (int i = 0; i < n; i++)
        if ((at - v[i]) * (at - v[i + 1]) < 0)
            return i;
    return -1;
}

/* How far the tiles' sides still stand turned against the axes, radians counter-clockwise: the mean slope of the strokes along
 * every side of the block. */
static double leftover_turn(const sw_strokes *strokes, const block *b, double reach)
{
    enum { SIDES = (SW_GRID_MOST + 1) * SW_GRID_MOST };
    slope_sums *sums = calloc((size_t)SIDES * 2, sizeof *sums);
    double turn = 0, weight = 0;
    if (!sums)
        return 0;
    for (size_t k = 0; k < strokes->count; k++) {
        const sw_stroke *p = &strokes->items[k];
        int upright = fabsf(p->gx) > NEARLY_TURNED;
        if (!upright && fabsf(p->gy) <= NEARLY_TURNED)
            continue;
        int line = upright ? nearest_line(b->x, b->columns, p->x, reach) : nearest_line(b->y, b->rows, p->y, reach);
        int cell = upright ? cell_of(b->y, b->rows, p->y) : cell_of(b->x, b->columns, p->x);
        if (line < 0 || cell < 0)
            continue;
        slope_sums *to = &sums[(upright ? 0 : SIDES) + line * SW_GRID_MOST + cell];
        add_slope(to, upright ? p->y : p->x, upright ? p->x : p->y, p->weight);
    }
    for (int k = 0; k < 2 * SIDES; k++) {
        const slope_sums *t = &sums[k];
        double ss = t->n > 10 ? t->ss - t->s * t->s / t->n : 0;
        if (ss <= 0)
            continue;
        double slope = (t->sa - t->s * t->a / t->n) / ss;
        turn += (k < SIDES ? -slope : slope) * ss;
        weight += ss;
    }
    free(sums);
    return weight > 0 ? turn / weight : 0;
}

/* Once the table is found, its own sides say how it is turned, better than the strokes near the squares did. */
static sw_status straighten_up(const sw_photo *photo, const sw_scale *original, double angle, double turned, sw_scale *scale,
                               sw_strokes *strokes, search *s, block *b, sw_error *err)
{
    enum { ROUNDS = 3 };
    for (int round = 0; round < ROUNDS; round++) {
        *scale = *original;
        turned = put_upright(photo, angle, turned, scale, strokes);
        double more = leftover_turn(strokes, b, LEFTOVER_MM);
        if (fabs(more) < LEFTOVER_RAD)
            return SW_OK;
        search next = {0};
        *scale = *original;
        angle = turned + more;
        turned = put_upright(photo, angle, turned, scale, strokes);
        if (collect(strokes, &next)) {
            search_free(&next);
            return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to look for the tiles", photo->file);
        }
        block better = best_block(&next, scale, s->pitch);
        if (!better.columns || better.worth < b->worth) {
            search_free(&next);
            *scale = *original;
            put_upright(photo, angle - more, turned, scale, strokes);
            return SW_OK;
        }
        search_free(s);
        *s = next;
        *b = better;
    }
    return SW_OK;
}

/* Tries the directions in turn until one gives a table most of whose sides show; leaves scale, search and block at the best. */
static sw_status try_directions(const sw_photo *photo, sw_scale *scale, sw_strokes *strokes, double tile_mm, search *best,
                                block *found, sw_error *err)
{
    double angles[SW_DIRECTIONS], turned = 0, best_angle = 0;
    int count = sw_strokes_directions(strokes, scale, angles);
    sw_scale original = *scale, best_scale = *scale;
    for (int i = 0; i < count; i++) {
        search s = {0};
        *scale = original;
        turned = put_upright(photo, angles[i], turned, scale, strokes);
        block b = {0};
        if (collect(strokes, &s)) {
            search_free(&s);
            return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to look for the tiles", photo->file);
        }
        b = best_block(&s, scale, tile_mm);
        if (tile_mm > 0 && (!b.columns || b.worth < WHOLE * ideal_worth(&b, s.pitch)))
            b = split(&s, best_block(&s, scale, 0), tile_mm);
        if (b.columns && b.worth > found->worth) {
            search_free(best);
            *best = s;
            *found = b;
            best_scale = *scale;
            best_angle = angles[i];
        } else
            search_free(&s);
        if (found->columns && found->worth > WHOLE * ideal_worth(found, best->pitch))
            break;
    }
    *scale = best_scale;
    return found->columns ? straighten_up(photo, &original, best_angle, turned, scale, strokes, best, found, err) : SW_OK;
}

sw_status sw_grid_find(const sw_photo *photo, const sw_small *small, sw_scale *scale, sw_table *table, sw_grid *grid,
                       sw_error *err)
{
    sw_strokes strokes;
    search s = {0};
    block b = {0};
    memset(grid, 0, sizeof *grid);
    sw_status status = sw_strokes_find(small, scale, &strokes, err);
    if (!status)
        status = try_directions(photo, scale, &strokes, table->tile_mm, &s, &b, err);
    if (!status)
        status = check(photo, scale, &s, &b, table, err);
    if (!status) {
        fill_grid(&s, &b, grid);
        move_origin(scale, grid);
        table->columns = b.columns;
        table->rows = b.rows;
        table->tile_given = table->tile_mm > 0;
        if (!table->tile_given)
            table->tile_mm = round(s.pitch);
    }
    sw_strokes_free(&strokes);
    search_free(&s);
    return status;
}
