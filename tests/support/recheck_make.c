#include "support/recheck_make.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/tops.h"
#include "tile/square.h"

enum { POINTS = 151, WAVES = 6 };
static const double HALF = 150, PITCH = 301.5, LENGTH_U95 = 0.19, STRAIGHT_U95 = 0.09, SEAM_U95 = 0.06;

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count, size);
    if (!memory) {
        fputs("recheck_make: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

/* Normal deviate: sum of twelve uniforms less six (Knuth's MMIX generator). */
static double deviate(uint64_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(*state >> 11) / 9007199254740992.0;
    }
    return sum;
}

/* A curve that wanders with unit variance over some 30 mm and more. */
typedef struct wander {
    double amplitude[WAVES], phase[WAVES];
} wander;

static wander make_wander(uint64_t *state)
{
    wander w;
    for (int i = 0; i < WAVES; i++) {
        w.amplitude[i] = deviate(state) / sqrt(WAVES / 2.0) / M_SQRT2 * M_SQRT2 / sqrt(2);
        w.phase[i] = deviate(state) * 3;
    }
    return w;
}

static double wander_at(const wander *w, double u)
{
    double sum = 0;
    for (int i = 0; i < WAVES; i++)
        sum += w->amplitude[i] * M_SQRT2 * sin((i + 1) * u / HALF * M_PI * 0.8 + w->phase[i]);
    return sum;
}

double made_taken(const made_cut *cuts, int count, int tile, sw_side side, double at_mm)
{
    double sum = 0, share = fmin(fmax(at_mm / (2 * HALF), 0), 1);
    for (int i = 0; i < count; i++)
        if (cuts[i].tile == tile && cuts[i].side == side)
            sum += cuts[i].even_mm + cuts[i].wedge_mm * (1 - share) + cuts[i].bow_mm * 4 * share * (1 - share);
    return sum;
}

/* An edge's shape before sanding: always the same for a tile and side. u runs clockwise round the tile. */
static double shape_at(int tile, int side, double u)
{
    int n = 4 * tile + side;
    return 0.3 * sin(n * 1.7) + 0.25 * sin(n * 2.9) * u / HALF + 0.1 * cos(n * 2.3) * (1 - u * u / HALF / HALF) +
           0.05 * sin(u / 19 + n);
}

static double at_of(int side, double u)
{
    return HALF + (side == SW_NORTH || side == SW_EAST ? u : -u);
}

static sw_point local(int side, double u, double h)
{
    switch (side) {
    case SW_NORTH:
        return (sw_point){u, h};
    case SW_EAST:
        return (sw_point){h, -u};
    case SW_SOUTH:
        return (sw_point){-u, -h};
    default:
        return (sw_point){-h, u};
    }
}

/* How a tile lies in the photo. */
typedef struct pose {
    double x, y, turn, scale;
} pose;

static sw_point laid(const pose *p, sw_point q)
{
    double c = cos(p->turn), s = sin(p->turn);
    return (sw_point){p->scale * (p->x + c * q.x - s * q.y), p->scale * (p->y + s * q.x + c * q.y)};
}

/* ---- seams that are closed for a stretch ---- */

enum { SEAMS = 4, STATIONS = 60 };
static const double CLOSED_LENGTH = 75;

/* The seams by their first tile: A1-B1, A1-A2, B1-B2, A2-B2. */
static const struct {
    int first, upright;
} SEAM[SEAMS] = {{0, 1}, {0, 0}, {1, 0}, {2, 1}};

/* How far the closed stretch of a seam is read to the east or south, 0 off it. */
static double closed_shift(const made_photo *photo, int seam, double at, int *closed)
{
    uint64_t state = photo->seed * 7919u + (unsigned)seam * 104729u + 5;
    double shift = photo->closed_mm * deviate(&state),
           from = (2 * HALF - CLOSED_LENGTH) * fabs(fmod(deviate(&state), 1));
    *closed = photo->closed_mm > 0 && at >= from && at <= from + CLOSED_LENGTH;
    return *closed ? shift : 0;
}

/* The same as what it adds to a rim's distance from its tile's middle. */
static double closed_error(const made_photo *photo, int tile, int faces, double at)
{
    int closed, upright = faces == SW_EAST || faces == SW_WEST, later = faces == SW_WEST || faces == SW_NORTH;
    for (int k = 0; k < SEAMS; k++) {
        int second = SEAM[k].first + (SEAM[k].upright ? 1 : MADE_COLUMNS);
        if (SEAM[k].upright == upright && tile == (later ? second : SEAM[k].first))
            return (later ? -1 : 1) * closed_shift(photo, k, at, &closed);
    }
    return 0;
}

/* Side `faces` of the photo shows side `side` of the tile. */
static void fill_edge(const made_photo *photo, int place, int tile, int side, int faces, const pose *p, uint64_t *state,
                      sw_edge *edge)
{
    wander w = make_wander(state);
    double shift = photo->shift_mm * deviate(state);
    edge->points = get(POINTS, sizeof *edge->points);
    edge->point_count = POINTS;
    edge->seen = 1;
    for (int k = 0; k < POINTS; k++) {
        double u = (faces == SW_NORTH || faces == SW_EAST ? 1 : -1) * (k - (POINTS - 1) / 2) * 2 * HALF / (POINTS - 1);
        double h = HALF + shape_at(tile, side, u) -
                   made_taken(photo->cuts, photo->cut_count, tile, (sw_side)side, at_of(side, u)) + shift +
                   photo->noise_mm * wander_at(&w, u) + closed_error(photo, place, faces, at_of(faces, u));
        edge->points[k] =
            (sw_rim_point){.at_mm = at_of(faces, u), .mm = laid(p, local(faces, u, h)), .state = SW_STATION_OK};
    }
    edge->length_u95_mm = LENGTH_U95;
    edge->straightness_u95_mm = STRAIGHT_U95;
    edge->straightness_mm = 0.1;
}

static void fill_tile(const made_photo *photo, int index, uint64_t *state, sw_tile *to)
{
    sw_place own = {index, 0}, place = photo->places ? photo->places[index] : own;
    to->column = index % MADE_COLUMNS;
    to->row = index / MADE_COLUMNS;
    snprintf(to->name, sizeof to->name, "%c%d", 'A' + to->column, to->row + 1);
    pose p = {to->column * PITCH + 0.3 * deviate(state), -to->row * PITCH + 0.3 * deviate(state),
              0.001 * deviate(state), photo->scale};
    for (int s = 0; s < 4; s++)
        fill_edge(photo, index, place.tile, s, (s + place.turns) & 3, &p, state, &to->edges[(s + place.turns) & 3]);
    for (int c = 0; c < 4; c++) { /* where two rims' ends meet, near enough for a start */
        const sw_edge *e = &to->edges[c];
        to->corners[c].mm = e->points[c == SW_NORTH || c == SW_EAST ? 0 : POINTS - 1].mm;
    }
    for (int s = 0; s < 4; s++)
        to->edges[s].length_mm = hypot(to->corners[(s + 1) & 3].mm.x - to->corners[s].mm.x,
                                       to->corners[(s + 1) & 3].mm.y - to->corners[s].mm.y);
    sw_square_fit(to);
}

static void fill_seam(const made_photo *photo, sw_inspection *ins)
{
    int k = (int)ins->seam_count, first = SEAM[k].first, upright = SEAM[k].upright, closed;
    double gap_mm = photo->gap_mm;
    sw_seam *seam = &ins->seams[ins->seam_count++];
    *seam = (sw_seam){
        .upright = upright, .first = first, .second = first + (upright ? 1 : MADE_COLUMNS), .length_mm = 2 * HALF};
    seam->stations = get(STATIONS, sizeof *seam->stations);
    seam->station_count = STATIONS;
    for (int i = 0; i < STATIONS; i++) {
        double at = (i + 0.5) * 2 * HALF / STATIONS;
        closed_shift(photo, k, at, &closed);
        seam->stations[i] = (sw_station){.at_mm = at, .gap_mm = closed ? photo->closed_gap_mm : gap_mm};
    }
    snprintf(seam->name, sizeof seam->name, "%.7s-%.7s", ins->tiles[seam->first].name, ins->tiles[seam->second].name);
    seam->max_mm = gap_mm;
    seam->mean_mm = seam->min_mm = gap_mm / 2;
    seam->mean_u95_mm = SEAM_U95;
    seam->max_u95_mm = 0.08;
    seam->verdict = sw_verdict_of(gap_mm, 0.08, ins->tolerance_mm);
}

void made_inspection(const made_photo *photo, sw_inspection *ins)
{
    uint64_t state = photo->seed * 1000003u + 7;
    memset(ins, 0, sizeof *ins);
    ins->table = (sw_table){MADE_COLUMNS, MADE_ROWS, 2 * HALF, 1, 0};
    ins->tolerance_mm = 0.5;
    snprintf(ins->file, sizeof ins->file, "mill.jpg");
    ins->tiles = get(MADE_TILES, sizeof *ins->tiles);
    ins->tile_count = MADE_TILES;
    for (int i = 0; i < MADE_TILES; i++)
        fill_tile(photo, i, &state, &ins->tiles[i]);
    ins->seams = get(SEAMS, sizeof *ins->seams);
    for (int k = 0; k < SEAMS; k++)
        fill_seam(photo, ins);
    sw_tops_unknown(ins);
}

void made_plan(const made_cut *cuts, int count, double times, sw_plan *plan)
{
    enum { PLACES = 13 };
    memset(plan, 0, sizeof *plan);
    plan->edges = get((size_t)count + 1, sizeof *plan->edges);
    plan->edge_count = (size_t)count;
    for (int i = 0; i < count; i++) {
        sw_edge_plan *e = &plan->edges[i];
        e->tile = cuts[i].tile;
        e->side = cuts[i].side;
        e->length_mm = 2 * HALF;
        e->true_up = get(PLACES, sizeof *e->true_up);
        e->true_up_count = PLACES;
        for (int k = 0; k < PLACES; k++) {
            double at = 2 * HALF * k / (PLACES - 1);
            e->true_up[k] = (sw_removal){at, times * made_taken(&cuts[i], 1, e->tile, e->side, at)};
        }
    }
}
