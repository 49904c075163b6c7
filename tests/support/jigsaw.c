#include "support/maths_check.h"

#include "support/jigsaw.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double SIDE = 300;
enum { STATIONS = 301 };

/* A cut between two places: its sideways deviation at x, 0 to 1 from its north or west end; + to the east or north. */
typedef struct line {
    double at, slope, bow, wave, phase, turns;
} line;

static line random_line(const jigsaw_cut *cut, uint32_t *seed)
{
    return (line){between(seed, -0.5, 0.5) * cut->slope,
                  between(seed, -1, 1) * cut->slope,
                  between(seed, -1, 1) * cut->bow,
                  between(seed, -1, 1) * cut->wave,
                  between(seed, 0, 6),
                  between(seed, 5, 15)};
}

static double deviation(const line *l, double x)
{
    return l->at + l->slope * (x - 0.5) + 4 * l->bow * x * (1 - x) + l->wave * sin(l->turns * x + l->phase);
}

/* Noise that hangs together over about 22 mm: straight between knots. */
static void roughen(sw_edge *e, double rough, uint32_t *seed)
{
    double knots[STATIONS / 22 + 3];
    for (int k = 0; k < STATIONS / 22 + 3; k++)
        knots[k] = rough * normal(seed);
    for (size_t i = 0; i < e->point_count; i++) {
        double k = (double)i / 22, share = k - floor(k);
        e->points[i].proud_mm += (1 - share) * knots[(int)k] + share * knots[(int)k + 1];
    }
}

/* The tile as it was cut at a place; cuts: of its four sides. */
static void cut_tile(const line *cuts[4], sw_edge edges[4])
{
    for (int s = 0; s < 4; s++) {
        edges[s].points = calloc(STATIONS, sizeof *edges[s].points);
        assert_non_null(edges[s].points);
        edges[s].length_mm = SIDE;
        for (int i = 0; i < STATIONS; i++) {
            double x = (double)i / (STATIONS - 1), d = deviation(cuts[s], x);
            edges[s].points[edges[s].point_count++] =
                (sw_rim_point){.at_mm = SIDE * x,
                               .proud_mm = s == SW_EAST || s == SW_NORTH ? d : -d,
                               .mm = {NAN, NAN},
                               .state = i < 5 || i > STATIONS - 6 ? SW_STATION_END : SW_STATION_OK};
        }
    }
}

/* Takes a cut tile back by quarter turns: what is to lie turned clockwise by `turns` was inspected before that turn. */
static void unturn(const sw_edge cut[4], int turns, sw_tile *tile)
{
    static const double h = 150;
    static const sw_point corners[4] = {{-h, h}, {h, h}, {h, -h}, {-h, -h}};
    for (int s = 0; s < 4; s++) {
        int lay = ((int)s - turns + 4) % 4,
            mirrored = (s == SW_NORTH || s == SW_EAST) != (lay == SW_NORTH || lay == SW_EAST);
        sw_edge *e = &tile->edges[lay];
        *e = cut[s];
        for (size_t i = 0, j = e->point_count - 1; mirrored && i < j; i++, j--) {
            double keep = e->points[i].proud_mm;
            e->points[i].proud_mm = e->points[j].proud_mm;
            e->points[j].proud_mm = keep;
        }
        tile->corners[s].mm = corners[s];
    }
    tile->side_mm = SIDE;
}

void jigsaw_shuffle(int count, int *order, int *turns, uint32_t *seed)
{
    for (int i = 0; i < count; i++) {
        int j = (int)between(seed, 0, i + 0.999999);
        order[i] = order[j];
        order[j] = i;
        turns[i] = (int)between(seed, 0, 3.999999);
    }
}

sw_inspection jigsaw_make(int columns, int rows, const jigsaw_cut *cut, const int *order, const int *turns,
                          uint32_t *seed)
{
    size_t count = (size_t)columns * (size_t)rows;
    sw_inspection ins = {
        .table = {.columns = columns, .rows = rows, .tile_mm = SIDE}, .tolerance_mm = 0.5, .step_mm = 1};
    line *upright = calloc(count, sizeof *upright),
         *level = calloc(count, sizeof *level); /* to the east, to the south */
    ins.tiles = calloc(count, sizeof *ins.tiles);
    ins.tile_count = count;
    assert_true(upright && level && ins.tiles);
    for (size_t i = 0; i < count; i++) {
        upright[i] = random_line(cut, seed);
        level[i] = random_line(cut, seed);
    }
    for (int p = 0; p < (int)count; p++) {
        int column = p % columns, row = p / columns;
        line rims[4]; /* the sheet's own rim is no straighter than the cuts */
        const line *cuts[4] = {row ? &level[p - columns] : NULL, column < columns - 1 ? &upright[p] : NULL,
                               row < rows - 1 ? &level[p] : NULL, column ? &upright[p - 1] : NULL};
        for (int side = 0; side < 4; side++)
            if (!cuts[side]) {
                rims[side] = random_line(cut, seed);
                cuts[side] = &rims[side];
            }
        sw_edge edges[4] = {{0}};
        sw_tile *tile = &ins.tiles[order[p]];
        cut_tile(cuts, edges);
        for (int s = 0; s < 4 && cut->rough > 0; s++)
            roughen(&edges[s], cut->rough, seed);
        unturn(edges, turns[p], tile);
        tile->column = order[p] % columns;
        tile->row = order[p] / columns;
        snprintf(tile->name, sizeof tile->name, "%c%u", (char)('A' + tile->column), (unsigned)(tile->row + 1) % 1000u);
    }
    free(upright);
    free(level);
    return ins;
}
