/* The inspection that the program would make of a made-up table. */
#include "support/made/made_table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "inspection/tops.h"
#include "support/maths_check.h"
#include "support/mean.h"
#include "tile/square.h"

/* As the program does: SW_SEAM_END_MM of src/seam, SW_INDEPENDENT_MM of src/tile/outline.h. */
static const double END_MM = 5, INDEPENDENT_MM = 22;
/* Correlation of the random part falls to 1/e at twice this. */
static const double NOISE_SMOOTH_MM = 5;
/* Room for noise before a seam's start. */
enum { BEFORE = 20 };
static const double LEAST_U95_MM = 0.001;

const made_noise made_as_photos = {0.012, 0.03, 0.012, 0.03};
const made_noise made_exact = {0, 0, 0, 0};

/* Errors along a seam or an edge, every mm from BEFORE mm before its start. */
typedef struct error_run {
    double value[MADE_SAMPLES + 2 * BEFORE];
    double common;
} error_run;

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count + 1, size);
    if (!memory) {
        fputs("made table: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

static void draw_run(error_run *run, double random_mm, double common_mm, uint32_t *seed)
{
    int count = MADE_SAMPLES + 2 * BEFORE;
    made_smooth(seed, NOISE_SMOOTH_MM, count, run->value);
    run->common = common_mm * normal(seed);
    for (int i = 0; i < count; i++)
        run->value[i] = run->common + random_mm * run->value[i];
}

static double run_at(const error_run *run, double at)
{
    double place = fmin(fmax(at + BEFORE, 0), MADE_SAMPLES + 2 * BEFORE - 2.0);
    int i = (int)place;
    return run->value[i] + (place - i) * (run->value[i + 1] - run->value[i]);
}

/* ---- tiles ---- */

/* Errors of a tile's outlines, outward: its own, and half the seam's where it has one. */
typedef struct tile_errors {
    const error_run *own[4], *seam[4];
} tile_errors;

static double outward_error(const tile_errors *e, int side, double at)
{
    return run_at(e->own[side], at) - (e->seam[side] ? run_at(e->seam[side], at) / 2 : 0);
}

static double outward_common(const tile_errors *e, int side)
{
    return e->own[side]->common - (e->seam[side] ? e->seam[side]->common / 2 : 0);
}

static sw_station_state edge_state(const made_edge *edge, double u, double at, double length)
{
    for (int k = 0; k < edge->chip_count; k++)
        if (fabs(u - edge->chips[k].u_mm) < edge->chips[k].half_length_mm)
            return SW_STATION_CHIP;
    return at < END_MM || at > length - END_MM ? SW_STATION_END : SW_STATION_OK;
}

static void fill_edge(const made_tile *from, sw_side side, const tile_errors *errors, double u_mm, sw_edge *edge)
{
    double low, high, x[MADE_SAMPLES], out[MADE_SAMPLES], spread, least = INFINITY, most = -INFINITY;
    int level = side == SW_NORTH || side == SW_SOUTH, n = 0;
    made_span(from, side, &low, &high);
    edge->points = get((size_t)(high - low), sizeof *edge->points);
    for (double at = 0.5; at < high - low; at += 1) {
        double u = level ? low + at : high - at, error = outward_error(errors, side, at);
        sw_rim_point *p = &edge->points[edge->point_count++];
        *p = (sw_rim_point){.at_mm = at, .mm = made_point(from, side, u, error)};
        p->state = edge_state(&from->edges[side], u, at, high - low);
        if (p->state != SW_STATION_OK)
            continue;
        x[n] = at;
        out[n++] = from->edges[side].dev[(int)lround(u) + from->edges[side].count / 2] + error;
    }
    double slope = pairs_slope(x, out, n, &spread);
    for (int k = 0; k < n; k++) {
        least = fmin(least, out[k] - slope * x[k]);
        most = fmax(most, out[k] - slope * x[k]);
    }
    edge->straightness_mm = most - least;
    edge->straightness_u95_mm = edge->length_u95_mm = 2 * u_mm;
    edge->straightness_parts.u[SW_PART_MODEL] = edge->length_parts.u[SW_PART_MODEL] = u_mm;
    edge->seen = 1;
}

/* Corners with the two edges' common errors; angles between the edges' mean directions. */
static void fill_corners(const made_tile *from, const tile_errors *errors, double u_mm, sw_tile *tile)
{
    static const double east[] = {-1, 1, 1, -1}, north[] = {1, 1, -1, -1};
    for (int c = 0; c < 4; c++) {
        int level = c == SW_NW || c == SW_NE ? SW_NORTH : SW_SOUTH,
            upright = c == SW_NW || c == SW_SW ? SW_WEST : SW_EAST;
        double dx = east[c] * outward_common(errors, upright), dy = north[c] * outward_common(errors, level);
        sw_point p = made_corner(from, (sw_corner_name)c);
        double cosine = cos(from->turn_rad), sine = sin(from->turn_rad);
        tile->corners[c].mm = (sw_point){p.x + cosine * dx - sine * dy, p.y + sine * dx + cosine * dy};
    }
    for (int c = 0; c < 4; c++) {
        sw_point p = tile->corners[c].mm, a = tile->corners[(c + 3) % 4].mm, b = tile->corners[(c + 1) % 4].mm;
        double cross = (a.x - p.x) * (b.y - p.y) - (a.y - p.y) * (b.x - p.x);
        double dot = (a.x - p.x) * (b.x - p.x) + (a.y - p.y) * (b.y - p.y);
        tile->corners[c].angle_deg = atan2(fabs(cross), dot) * 180 / M_PI;
        tile->corners[c].u95_deg = 2 * M_SQRT2 * u_mm / tile->edges[c].length_mm * 180 / M_PI;
        tile->corners[c].angle_parts.u[SW_PART_MODEL] = tile->corners[c].u95_deg / 2;
        tile->edges[c].length_mm = hypot(b.x - p.x, b.y - p.y);
    }
}

static void fill_tile(const made_table *table, int index, const tile_errors *errors, double u_mm, sw_tile *tile)
{
    const made_tile *from = &table->tiles[index];
    tile->column = index % table->columns;
    tile->row = index / table->columns;
    snprintf(tile->name, sizeof tile->name, "%c%u", (char)('A' + tile->column), (unsigned)(tile->row + 1) % 100u);
    for (int s = 0; s < 4; s++) {
        fill_edge(from, (sw_side)s, errors, u_mm, &tile->edges[s]);
        tile->edges[s].length_mm = from->side_mm; /* until the corners are known */
    }
    fill_corners(from, errors, u_mm, tile);
    sw_square_fit(tile);
    for (int s = 0; s < 4; s++) {
        sw_edge *e = &tile->edges[s];
        sw_rim_point *a = &e->points[0], *b = &e->points[e->point_count - 1], *m = &e->points[e->point_count / 2];
        e->bow_mm = m->proud_mm - (a->proud_mm + b->proud_mm) / 2;
    }
}

static void rim_chips(const made_table *table, int index, sw_tile *tile)
{
    const int outside[] = {tile->row == 0, tile->column + 1 == table->columns, tile->row + 1 == table->rows,
                           tile->column == 0};
    tile->chips = get(4 * MADE_CHIPS, sizeof *tile->chips);
    for (int s = 0; s < 4; s++) {
        const made_edge *edge = &table->tiles[index].edges[s];
        double low, high;
        made_span(&table->tiles[index], (sw_side)s, &low, &high);
        for (int k = 0; outside[s] && k < edge->chip_count; k++)
            tile->chips[tile->chip_count++] =
                (sw_chip){index, (sw_side)s, s % 2 ? high - edge->chips[k].u_mm : edge->chips[k].u_mm - low,
                          2 * edge->chips[k].half_length_mm, edge->chips[k].depth_mm};
    }
}

/* ---- seams ---- */

static void seam_chips(const made_table *table, const made_seam *from, const made_line *line, sw_seam *seam)
{
    seam->chips = get(2 * MADE_CHIPS, sizeof *seam->chips);
    for (int k = 0; k < 2; k++) {
        int tile = k ? from->second : from->first;
        sw_side side = from->upright ? (k ? SW_WEST : SW_EAST) : (k ? SW_NORTH : SW_SOUTH);
        const made_edge *edge = &table->tiles[tile].edges[side];
        double start_u = made_foot(table, from, line, 0, k);
        for (int c = 0; c < edge->chip_count; c++)
            seam->chips[seam->chip_count++] = (sw_chip){tile, side, fabs(edge->chips[c].u_mm - start_u),
                                                        2 * edge->chips[c].half_length_mm, edge->chips[c].depth_mm};
    }
}

static void fill_stations(const made_table *table, const made_seam *from, const made_line *line,
                          const made_noise *noise, const error_run *error, sw_seam *seam)
{
    double u95 = fmax(LEAST_U95_MM, 2 * hypot(noise->random_mm, noise->common_mm));
    size_t count = (size_t)fmax(0, floor(seam->length_mm - 0.5) + 1);
    seam->stations = get(count, sizeof *seam->stations);
    for (size_t k = 0; k < count; k++) {
        double at = (double)k + 0.5;
        sw_station *s = &seam->stations[seam->station_count++];
        s->at_mm = at;
        s->gap_mm = fmax(0, made_gap(table, from, line, at, MADE_CHIPPED) + run_at(error, at));
        s->u95_mm = u95;
        s->u_random_mm = noise->random_mm;
        s->state = at < END_MM || at > seam->length_mm - END_MM ? SW_STATION_END : SW_STATION_OK;
        if (made_chipped(table, from, line, at, 0))
            s->state = SW_STATION_CHIP;
    }
}

static void summarise(const made_noise *noise, double tolerance_mm, sw_seam *seam)
{
    double at[MADE_SAMPLES] = {0}, gap[MADE_SAMPLES] = {0}, spread;
    int n = 0, widest = 0;
    seam->min_mm = INFINITY;
    for (size_t k = 0; k < seam->station_count; k++)
        if (seam->stations[k].state == SW_STATION_OK) {
            at[n] = seam->stations[k].at_mm;
            gap[n++] = seam->stations[k].gap_mm;
        }
    for (int k = 0; k < n; k++) {
        seam->min_mm = fmin(seam->min_mm, gap[k]);
        widest = gap[k] > gap[widest] ? k : widest;
    }
    seam->max_mm = gap[widest];
    seam->max_at_mm = at[widest];
    seam->max_u95_mm = fmax(LEAST_U95_MM, 2 * hypot(noise->random_mm, noise->common_mm));
    double random = noise->random_mm / sqrt(fmax(1, n / INDEPENDENT_MM));
    seam->mean_mm = mean_of(gap, (size_t)n);
    seam->taper_mm = pairs_slope(at, gap, n, &spread) * seam->length_mm;
    seam->mean_u_random_mm = random;
    seam->mean_u95_mm = fmax(LEAST_U95_MM, 2 * hypot(random, noise->common_mm));
    seam->taper_u_random_mm = seam->length_mm * random * sqrt(n / spread);
    seam->taper_u95_mm = fmax(LEAST_U95_MM, 2 * seam->taper_u_random_mm);
    seam->mean_parts.u[SW_PART_TEXTURE] = random;
    seam->max_parts.u[SW_PART_TEXTURE] = noise->random_mm;
    seam->mean_parts.u[SW_PART_MODEL] = seam->max_parts.u[SW_PART_MODEL] = noise->common_mm;
    seam->verdict = sw_verdict_of(seam->max_mm, seam->max_u95_mm, tolerance_mm);
}

static void fill_seam(const made_table *table, const made_seam *from, const made_noise *noise, const error_run *error,
                      sw_inspection *ins, sw_seam *seam)
{
    made_line line = made_seam_line(table, from);
    sw_point end = {line.start.x + line.length_mm * line.along.x, line.start.y + line.length_mm * line.along.y};
    sw_point a = made_corner(&table->tiles[from->first], from->upright ? SW_NE : SW_SW);
    sw_point b = made_corner(&table->tiles[from->second], SW_NW);
    seam->upright = from->upright;
    seam->first = from->first;
    seam->second = from->second;
    snprintf(seam->name, sizeof seam->name, "%.7s-%.7s", ins->tiles[from->first].name, ins->tiles[from->second].name);
    seam->length_mm = line.length_mm;
    seam->start_mm = line.start;
    seam->end_mm = end;
    seam->corner_step_mm = (b.x - a.x) * line.along.x + (b.y - a.y) * line.along.y;
    fill_stations(table, from, &line, noise, error, seam);
    seam_chips(table, from, &line, seam);
    summarise(noise, ins->tolerance_mm, seam);
}

void made_inspect(const made_table *table, const made_noise *noise, double tolerance_mm, uint32_t seed,
                  sw_inspection *ins)
{
    int tiles = table->columns * table->rows, count = made_seams(table, NULL);
    made_seam *seams = get((size_t)count, sizeof *seams);
    error_run *own = get((size_t)tiles * 4, sizeof *own), *error = get((size_t)count, sizeof *error);
    tile_errors *errors = get((size_t)tiles, sizeof *errors);
    uint32_t state = seed * 2654435761u % 2147483646u + 1;
    double edge_u = fmax(LEAST_U95_MM / 2, hypot(hypot(noise->edge_random_mm, noise->edge_common_mm),
                                                 hypot(noise->random_mm, noise->common_mm) / 2));
    *ins = (sw_inspection){.tolerance_mm = tolerance_mm, .step_mm = 1};
    snprintf(ins->file, sizeof ins->file, "made-up.jpg");
    ins->table = (sw_table){.columns = table->columns, .rows = table->rows, .tile_mm = table->tiles[0].side_mm};
    made_seams(table, seams);
    for (int i = 0; i < 4 * tiles; i++) {
        draw_run(&own[i], noise->edge_random_mm, noise->edge_common_mm, &state);
        errors[i / 4].own[i % 4] = &own[i];
    }
    for (int j = 0; j < count; j++) {
        draw_run(&error[j], noise->random_mm, noise->common_mm, &state);
        errors[seams[j].first].seam[seams[j].upright ? SW_EAST : SW_SOUTH] = &error[j];
        errors[seams[j].second].seam[seams[j].upright ? SW_WEST : SW_NORTH] = &error[j];
    }
    ins->tile_count = (size_t)tiles;
    ins->tiles = get((size_t)tiles, sizeof *ins->tiles);
    for (int i = 0; i < tiles; i++) {
        fill_tile(table, i, &errors[i], edge_u, &ins->tiles[i]);
        rim_chips(table, i, &ins->tiles[i]);
    }
    ins->seam_count = (size_t)count;
    ins->seams = get((size_t)count, sizeof *ins->seams);
    for (int j = 0; j < count; j++)
        fill_seam(table, &seams[j], noise, &error[j], ins, &ins->seams[j]);
    sw_tops_unknown(ins);
    free(errors);
    free(error);
    free(own);
    free(seams);
}
