/* A tree: edge = tile + own deviation, tile = table + its deviation, table ~ N(USUAL, USUAL_SD). All are Gaussian, so a level's
 * word for the next one up is a mean and a precision, with the level's own variance added on the way. The two deviations are
 * those of a few under which what was told is most likely. */
#include "seam/radii.h"

#include <math.h>

/* What sanding by hand makes, mm (no source). */
static const double USUAL = 0.25, USUAL_SD = 0.3;
/* How much tiles of a table may differ, and edges of a tile: standard deviations, mm. */
enum { SPREADS = 5 };
static const double SPREAD[SPREADS] = {0.03, 0.07, 0.13, 0.21, 0.32};
enum { EDGES = 4 };

/* Sums of Gaussian words: precision, precision times mean. */
typedef struct word {
    double p, pm;
} word;

static word add(word a, word b)
{
    return (word){a.p + b.p, a.pm + b.pm};
}

static word less(word a, word b)
{
    return (word){a.p - b.p, a.pm - b.pm};
}

/* The same said of something that differs from it by a deviation. */
static word loosened(word a, double sd)
{
    double share = 1 / (1 + a.p * sd * sd);
    return (word){a.p * share, a.pm * share};
}

static word of_edge(const sw_radius *told)
{
    double p = told->sd_mm > 0 ? 1 / (told->sd_mm * told->sd_mm) : 0;
    return (word){p, p * told->mm};
}

static word of_tile(const sw_radius *told, double edge_sd)
{
    word sum = {0};
    for (int s = 0; s < EDGES; s++)
        sum = add(sum, loosened(of_edge(&told[s]), edge_sd));
    return sum;
}

static word usual(void)
{
    return (word){1 / (USUAL_SD * USUAL_SD), USUAL / (USUAL_SD * USUAL_SD)};
}

/* What the edges of a tile cost beside each other: minus twice the logarithm of their likelihood, their common mean free. */
static double edges_cost(const word *edge)
{
    double cost = 0, squares = 0;
    word sum = {0};
    for (int i = 0; i < EDGES; i++) {
        if (!(edge[i].p > 0))
            continue;
        cost -= log(edge[i].p);
        squares += edge[i].pm * edge[i].pm / edge[i].p;
        sum = add(sum, edge[i]);
    }
    return cost + log(sum.p) + squares - sum.pm * sum.pm / sum.p;
}

static double cost_of(const sw_radius *told, int tiles, double tile_sd, double edge_sd)
{
    /* Edges about their tile's mean, whose prior is flat here; then the tiles' means about the table's, one by one. */
    double cost = 0;
    word table = usual();
    for (int t = 0; t < tiles; t++) {
        word edges[EDGES], tile = of_tile(told + EDGES * t, edge_sd);
        if (!(tile.p > 0))
            continue;
        for (int s = 0; s < EDGES; s++)
            edges[s] = loosened(of_edge(&told[EDGES * t + s]), edge_sd);
        cost += edges_cost(edges);
        /* the tile's mean given the tiles before it */
        word loose = loosened(tile, tile_sd);
        double expected = table.pm / table.p, off = loose.pm / loose.p - expected, variance = 1 / loose.p + 1 / table.p;
        cost += off * off / variance + log(variance);
        table = add(table, loose);
    }
    return cost;
}

static sw_radius radius_of(word w)
{
    return w.p > 0 ? (sw_radius){w.pm / w.p, sqrt(1 / w.p)} : (sw_radius){0, 0};
}

void sw_radii_believe(const sw_radius *told, int tiles, sw_radius *others, sw_radius *all)
{
    double best = INFINITY, tile_sd = SPREAD[0], edge_sd = SPREAD[0];
    for (int i = 0; i < SPREADS; i++)
        for (int k = 0; k < SPREADS; k++) {
            double cost = cost_of(told, tiles, SPREAD[i], SPREAD[k]);
            if (cost < best) {
                best = cost;
                tile_sd = SPREAD[i];
                edge_sd = SPREAD[k];
            }
        }
    word table = usual();
    for (int t = 0; t < tiles; t++)
        table = add(table, loosened(of_tile(told + EDGES * t, edge_sd), tile_sd));
    for (int t = 0; t < tiles; t++) {
        word own = of_tile(told + EDGES * t, edge_sd), tile = loosened(less(table, loosened(own, tile_sd)), tile_sd);
        for (int s = 0; s < EDGES; s++) {
            int e = EDGES * t + s;
            word edge = of_edge(&told[e]);
            word before = loosened(add(tile, less(own, loosened(edge, edge_sd))), edge_sd);
            others[e] = radius_of(before);
            all[e] = radius_of(add(before, edge));
        }
    }
}
