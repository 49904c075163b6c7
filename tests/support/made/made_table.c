#include "support/made/made_table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/maths_check.h"

/* Edges are defined this far beyond the nominal corner, mm, so that crooked neighbours still cross. */
enum { OVERRUN = 14 };

const made_quality made_by_volunteers = {.slope = 0.0018,
                                         .offset_mm = 0.35,
                                         .bow_mm = 0.12,
                                         .wave_mm = 0.07,
                                         .fine_mm = 0.012,
                                         .least_gap_mm = {0, 1.5},
                                         .touching = 0.25,
                                         .slip_mm = 0.8,
                                         .turn_rad = 0.0006};

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count, size);
    if (!memory) {
        fputs("made table: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

made_table made_new(int columns, int rows, double side_mm)
{
    made_table table = {columns, rows, get((size_t)(columns * rows), sizeof *table.tiles)};
    int half = (int)ceil(side_mm / 2) + OVERRUN;
    if (2 * half + 1 > MADE_SAMPLES) {
        fputs("made table: the tile is too large\n", stderr);
        exit(99);
    }
    for (int i = 0; i < columns * rows; i++) {
        made_tile *tile = &table.tiles[i];
        tile->side_mm = side_mm;
        tile->x_mm = i % columns * side_mm;
        tile->y_mm = -(i / columns) * side_mm;
        for (int s = 0; s < 4; s++)
            tile->edges[s].count = 2 * half + 1;
    }
    return table;
}

made_table made_copy(const made_table *table)
{
    size_t count = (size_t)(table->columns * table->rows);
    made_table copy = {table->columns, table->rows, get(count, sizeof *copy.tiles)};
    memcpy(copy.tiles, table->tiles, count * sizeof *copy.tiles);
    return copy;
}

void made_free(made_table *table)
{
    free(table->tiles);
    *table = (made_table){0};
}

/* ---- shapes ---- */

void made_shape(made_table *table, int tile, sw_side side, double (*dev)(double u_mm, const double *context),
                const double *context)
{
    made_edge *edge = &table->tiles[tile].edges[side];
    for (int i = 0; i < edge->count; i++)
        edge->dev[i] = dev(i - edge->count / 2, context);
}

void made_smooth(uint32_t *seed, double length_mm, int count, double *out)
{
    double step = length_mm / 4, reach = 4 * length_mm;
    int knots = (int)ceil((count + 2 * reach) / step) + 1;
    double *value = get((size_t)knots, sizeof *value);
    for (int k = 0; k < knots; k++)
        value[k] = normal(seed);
    for (int i = 0; i < count; i++) {
        double sum = 0, squares = 0;
        for (int k = 0; k < knots; k++) {
            double away = (i - (k * step - reach)) / length_mm, weight = exp(-0.5 * away * away);
            sum += weight * value[k];
            squares += weight * weight;
        }
        out[i] = sum / sqrt(squares);
    }
    free(value);
}

static void cut_edge(made_edge *edge, double side_mm, const made_quality *q, uint32_t *seed)
{
    double wave[MADE_SAMPLES], fine[MADE_SAMPLES];
    double slope = q->slope * normal(seed), offset = q->offset_mm * normal(seed), bow = q->bow_mm * normal(seed);
    double high = q->wave_mm * between(seed, 0.3, 1.6), rough = q->fine_mm * between(seed, 0.3, 1.6);
    made_smooth(seed, between(seed, 25, 60), edge->count, wave);
    made_smooth(seed, between(seed, 5, 10), edge->count, fine);
    for (int i = 0; i < edge->count; i++) {
        double u = i - edge->count / 2, unit = 2 * u / side_mm;
        edge->dev[i] = slope * u + offset + bow * (1 - unit * unit) + high * wave[i] + rough * fine[i];
    }
    edge->lean_mm = fmax(0, between(seed, -q->lean_mm, q->lean_mm));
    edge->chip_count = 0;
    made_chip chip = {between(seed, -0.42, 0.42) * side_mm, between(seed, 2, 9), between(seed, 0.9, 3.2)};
    if (chance(seed) < q->chips)
        edge->chips[edge->chip_count++] = chip;
}

/* The generator's neighbouring seeds are alike at first. */
static uint32_t stirred(uint32_t seed)
{
    seed = seed * 2654435761u % 2147483646u + 1;
    for (int i = 0; i < 8; i++)
        chance(&seed);
    return seed;
}

void made_cut(made_table *table, const made_quality *quality, uint32_t seed)
{
    uint32_t state = stirred(seed);
    for (int i = 0; i < table->columns * table->rows; i++)
        for (int s = 0; s < 4; s++)
            cut_edge(&table->tiles[i].edges[s], table->tiles[i].side_mm, quality, &state);
}

/* ---- geometry ---- */

static double dev_at(const made_edge *edge, double u)
{
    double place = fmin(fmax(u + edge->count / 2, 0), edge->count - 1.0);
    int i = (int)fmin(floor(place), edge->count - 2.0);
    return edge->dev[i] + (place - i) * (edge->dev[i + 1] - edge->dev[i]);
}

double made_bite(const made_edge *edge, double u_mm)
{
    double bite = 0;
    for (int k = 0; k < edge->chip_count; k++) {
        double r = (u_mm - edge->chips[k].u_mm) / edge->chips[k].half_length_mm;
        if (fabs(r) < 1) /* 0.7: steep ends, as a piece that broke off leaves them */
            bite = fmax(bite, edge->chips[k].depth_mm * pow(1 - r * r, 0.7));
    }
    return bite;
}

static sw_point local(const made_tile *tile, sw_side side, double u, double out)
{
    double h = tile->side_mm / 2 + out;
    switch (side) {
    case SW_NORTH:
        return (sw_point){u, h};
    case SW_EAST:
        return (sw_point){h, u};
    case SW_SOUTH:
        return (sw_point){u, -h};
    default:
        return (sw_point){-h, u};
    }
}

static sw_point world(const made_tile *tile, sw_point p)
{
    double c = cos(tile->turn_rad), s = sin(tile->turn_rad);
    return (sw_point){tile->x_mm + c * p.x - s * p.y, tile->y_mm + s * p.x + c * p.y};
}

sw_point made_point(const made_tile *tile, sw_side side, double u_mm, double out_mm)
{
    return world(tile, local(tile, side, u_mm, dev_at(&tile->edges[side], u_mm) + out_mm));
}

static sw_point local_corner(const made_tile *tile, sw_corner_name corner)
{
    sw_side level = corner == SW_NW || corner == SW_NE ? SW_NORTH : SW_SOUTH;
    sw_side upright = corner == SW_NW || corner == SW_SW ? SW_WEST : SW_EAST;
    double sx = upright == SW_EAST ? 1 : -1, sy = level == SW_NORTH ? 1 : -1, half = tile->side_mm / 2;
    double x = sx * half, y = sy * half;
    for (int round = 0; round < 20; round++) { /* contracts by the product of two slopes, under 1e-3 a round */
        y = sy * (half + dev_at(&tile->edges[level], x));
        x = sx * (half + dev_at(&tile->edges[upright], y));
    }
    return (sw_point){x, y};
}

sw_point made_corner(const made_tile *tile, sw_corner_name corner)
{
    return world(tile, local_corner(tile, corner));
}

void made_span(const made_tile *tile, sw_side side, double *low_u, double *high_u)
{
    int level = side == SW_NORTH || side == SW_SOUTH;
    sw_corner_name low = side == SW_NORTH ? SW_NW : side == SW_EAST ? SW_SE : SW_SW;
    sw_corner_name high = side == SW_SOUTH ? SW_SE : side == SW_WEST ? SW_NW : SW_NE;
    sw_point a = local_corner(tile, low), b = local_corner(tile, high);
    *low_u = level ? a.x : a.y;
    *high_u = level ? b.x : b.y;
}

int made_seams(const made_table *table, made_seam *seams)
{
    int count = 0;
    for (int i = 0; i < table->columns * table->rows; i++)
        for (int upright = 1; upright >= 0; upright--) {
            if (upright ? i % table->columns + 1 == table->columns : i / table->columns + 1 == table->rows)
                continue;
            if (seams)
                seams[count] = (made_seam){i, upright ? i + 1 : i + table->columns, upright};
            count++;
        }
    return count;
}

static double along_of(const made_line *line, sw_point p)
{
    return (p.x - line->start.x) * line->along.x + (p.y - line->start.y) * line->along.y;
}

made_line made_seam_line(const made_table *table, const made_seam *seam)
{
    const made_tile *a = &table->tiles[seam->first], *b = &table->tiles[seam->second];
    sw_point a0 = made_corner(a, seam->upright ? SW_NE : SW_SW), a1 = made_corner(a, SW_SE);
    sw_point b0 = made_corner(b, SW_NW), b1 = made_corner(b, seam->upright ? SW_SW : SW_NE);
    sw_point start = {(a0.x + b0.x) / 2, (a0.y + b0.y) / 2};
    double dx = (a1.x + b1.x) / 2 - start.x, dy = (a1.y + b1.y) / 2 - start.y, length = hypot(dx, dy);
    made_line line = {.start = start, .along = {dx / length, dy / length}};
    double left = seam->upright ? 1 : -1; /* east is to the left of the way south, south to the right of the way east */
    line.across = (sw_point){-left * line.along.y, left * line.along.x};
    double from = fmax(along_of(&line, a0), along_of(&line, b0)), to = fmin(along_of(&line, a1), along_of(&line, b1));
    line.start = (sw_point){start.x + from * line.along.x, start.y + from * line.along.y};
    line.length_mm = to - from;
    return line;
}

static sw_side seam_side(const made_seam *seam, int second)
{
    return seam->upright ? (second ? SW_WEST : SW_EAST) : (second ? SW_NORTH : SW_SOUTH);
}

double made_foot(const made_table *table, const made_seam *seam, const made_line *line, double at_mm, int second)
{
    const made_tile *tile = &table->tiles[second ? seam->second : seam->first];
    sw_side side = seam_side(seam, second);
    double c = cos(tile->turn_rad), s = sin(tile->turn_rad);
    sw_point axis = seam->upright ? (sw_point){-s, c} : (sw_point){c, s}; /* of growing u */
    sw_point p = {line->start.x + at_mm * line->along.x - tile->x_mm,
                  line->start.y + at_mm * line->along.y - tile->y_mm};
    double u = p.x * axis.x + p.y * axis.y, sense = axis.x * line->along.x + axis.y * line->along.y;
    for (int round = 0; round < 4; round++) /* contracts by the slope, under 0.02 a round */
        u -= (along_of(line, made_point(tile, side, u, 0)) - at_mm) / sense;
    return u;
}

double made_gap(const made_table *table, const made_seam *seam, const made_line *line, double at_mm, int what)
{
    double reach[2];
    for (int k = 0; k < 2; k++) {
        const made_tile *tile = &table->tiles[k ? seam->second : seam->first];
        sw_side side = seam_side(seam, k);
        const made_edge *edge = &tile->edges[side];
        double u = made_foot(table, seam, line, at_mm, k), out = 0;
        if (what == MADE_CHIPPED)
            out = -made_bite(edge, u);
        if (what == MADE_BASE)
            out = edge->lean_mm;
        sw_point p = made_point(tile, side, u, out);
        reach[k] = (p.x - line->start.x) * line->across.x + (p.y - line->start.y) * line->across.y;
    }
    return reach[1] - reach[0];
}

int made_chipped(const made_table *table, const made_seam *seam, const made_line *line, double at_mm, double margin_mm)
{
    for (int k = 0; k < 2; k++) {
        const made_edge *edge = &table->tiles[k ? seam->second : seam->first].edges[seam_side(seam, k)];
        double u = edge->chip_count ? made_foot(table, seam, line, at_mm, k) : 0;
        for (int c = 0; c < edge->chip_count; c++)
            if (fabs(u - edge->chips[c].u_mm) < edge->chips[c].half_length_mm + margin_mm)
                return 1;
    }
    return 0;
}

/* How far tile a's corner reaches over tile b's corner that lies diagonally from it: the lesser of the two ways. */
static double diagonal(const made_tile *a, sw_corner_name ca, const made_tile *b, sw_corner_name cb, double east)
{
    sw_point p = made_corner(a, ca), q = made_corner(b, cb);
    return fmin((p.x - q.x) * east, q.y - p.y);
}

double made_corner_overlap(const made_table *table)
{
    double worst = 0;
    for (int r = 0; r + 1 < table->rows; r++)
        for (int c = 0; c + 1 < table->columns; c++) {
            const made_tile *a = &table->tiles[r * table->columns + c], *below = a + table->columns;
            worst = fmax(worst, diagonal(a, SW_SE, below + 1, SW_NW, 1));
            worst = fmax(worst, diagonal(a + 1, SW_SW, below, SW_NE, -1));
        }
    return worst;
}

/* ---- another arrangement ---- */

/* A tile as it lies after a quarter turn clockwise: north becomes east. Places run towards east and north on every
 * edge, so those of north and south are turned about. */
static made_tile turned(const made_tile *from)
{
    made_tile to = *from;
    for (int s = 0; s < 4; s++) {
        const made_edge *old = &from->edges[s];
        made_edge *edge = &to.edges[(s + 1) % 4];
        *edge = *old;
        for (int i = 0; i < old->count && s % 2 == 0; i++)
            edge->dev[i] = old->dev[old->count - 1 - i];
        for (int c = 0; c < old->chip_count && s % 2 == 0; c++)
            edge->chips[c].u_mm = -old->chips[c].u_mm;
    }
    return to;
}

made_table made_put(const made_table *from, const sw_layout *layout)
{
    made_table to = made_new(layout->columns, layout->rows, from->tiles[0].side_mm);
    for (int p = 0; p < to.columns * to.rows; p++) {
        double x = to.tiles[p].x_mm, y = to.tiles[p].y_mm;
        to.tiles[p] = from->tiles[layout->places[p].tile];
        for (int k = 0; k < layout->places[p].turns; k++)
            to.tiles[p] = turned(&to.tiles[p]);
        to.tiles[p].x_mm = x;
        to.tiles[p].y_mm = y;
    }
    return to;
}

/* ---- laying ---- */

static double least_gap(const made_table *table, const made_seam *seam)
{
    made_line line = made_seam_line(table, seam);
    double least = INFINITY;
    for (double at = 0; at <= line.length_mm; at += 0.5)
        least = fmin(least, made_gap(table, seam, &line, at, MADE_BASE));
    return least;
}

/* Moves a tile south when its upper corner would lie in the tile diagonally above. */
static void clear_diagonal(made_tile *tile, const made_tile *above, int east)
{
    static const double CLEARANCE_MM = 0.05;
    sw_point mine = made_corner(tile, east > 0 ? SW_NE : SW_NW), theirs = made_corner(above, east > 0 ? SW_SW : SW_SE);
    double over_x = (mine.x - theirs.x) * east, over_y = mine.y - theirs.y;
    if (over_x > -CLEARANCE_MM && over_y > -CLEARANCE_MM)
        tile->y_mm -= over_y + CLEARANCE_MM;
}

static void push(made_table *table, int i, double want_x, double want_y)
{
    int columns = table->columns, west = i % columns > 0, north = i >= columns;
    made_tile *tile = &table->tiles[i];
    for (int round = 0; round < 6; round++) {
        if (west)
            tile->x_mm += want_x - least_gap(table, &(made_seam){i - 1, i, 1});
        if (north)
            tile->y_mm -= want_y - least_gap(table, &(made_seam){i - columns, i, 0});
    }
    if (north && west)
        clear_diagonal(tile, &table->tiles[i - columns - 1], -1);
    if (north && i % columns + 1 < columns)
        clear_diagonal(tile, &table->tiles[i - columns + 1], 1);
}

static double wanted(const made_quality *q, uint32_t *seed)
{
    double open = between(seed, q->least_gap_mm[0], q->least_gap_mm[1]);
    return chance(seed) < q->touching ? 0.01 : open;
}

void made_lay(made_table *table, const made_quality *quality, uint32_t seed)
{
    uint32_t state = stirred(seed + 1000003u);
    for (int i = 0; i < table->columns * table->rows; i++) {
        made_tile *tile = &table->tiles[i];
        int column = i % table->columns, row = i / table->columns;
        tile->turn_rad = quality->turn_rad * normal(&state);
        tile->x_mm = row ? tile[-table->columns].x_mm : column * tile->side_mm;
        tile->y_mm = column ? tile[-1].y_mm : -row * tile->side_mm;
        tile->x_mm += quality->slip_mm * normal(&state);
        tile->y_mm += quality->slip_mm * normal(&state);
        double want_x = wanted(quality, &state), want_y = wanted(quality, &state);
        push(table, i, want_x, want_y);
    }
}

/* ---- sanding ---- */

static double removed_at(const made_removal *r, double at)
{
    if (at <= r->at_mm[0])
        return r->remove_mm[0];
    for (int k = 1; k < r->count; k++)
        if (at <= r->at_mm[k]) {
            double way = r->at_mm[k] - r->at_mm[k - 1], part = way > 0 ? (at - r->at_mm[k - 1]) / way : 1;
            return r->remove_mm[k - 1] + part * (r->remove_mm[k] - r->remove_mm[k - 1]);
        }
    return r->remove_mm[r->count - 1];
}

void made_sand(made_tile *tile, const made_removal removal[4])
{
    double low[4], high[4];
    for (int s = 0; s < 4; s++)
        made_span(tile, (sw_side)s, &low[s], &high[s]);
    for (int s = 0; s < 4; s++) {
        made_edge *edge = &tile->edges[s];
        int level = s == SW_NORTH || s == SW_SOUTH;
        for (int i = 0; removal[s].count && i < edge->count; i++) {
            double u = i - edge->count / 2;
            edge->dev[i] -= removed_at(&removal[s], level ? u - low[s] : high[s] - u);
        }
    }
}

void made_bevel(made_tile *tile, sw_side side, double bevel_mm)
{
    tile->edges[side].lean_mm = fmax(0, tile->edges[side].lean_mm - bevel_mm);
}
