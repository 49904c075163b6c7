/* made_table.h - a table of tiles made up for tests, whose outlines are known.
 *
 * A tile's edges are graphs over its own axes: north and south over x, east and west over y. `dev` says how far an edge
 * lies outside the nominal square at u, mm from the edge's middle towards east or north, a little beyond the corners
 * too. Nothing here is linearised: poses turn, edges are cut by the seam's own line. The model is that of
 * samples/make/tiles.py, written anew.
 */
#ifndef SW_SUPPORT_MADE_TABLE_H
#define SW_SUPPORT_MADE_TABLE_H

#include <stdint.h>

#include "seamwright/layout.h"

enum { MADE_SAMPLES = 513, MADE_CHIPS = 2 };

/* A bite out of an edge, in edge coordinates u. */
typedef struct made_chip {
    double u_mm, half_length_mm, depth_mm;
} made_chip;

typedef struct made_edge {
    double dev[MADE_SAMPLES]; /* clean, at u = i - count / 2, mm */
    int count;                /* odd */
    made_chip chips[MADE_CHIPS];
    int chip_count;
    double lean_mm; /* how far the base stands proud of the top, >= 0 */
} made_edge;

typedef struct made_tile {
    double side_mm;     /* of the nominal square */
    made_edge edges[4]; /* by sw_side */
    double x_mm, y_mm, turn_rad;
} made_tile;

/* Tiles row after row from A1. Free with made_free. */
typedef struct made_table {
    int columns, rows;
    made_tile *tiles;
} made_table;

/* How the tiles are cut and laid; lengths in mm. Standard deviations, except where a range is given. */
typedef struct made_quality {
    double slope, offset_mm, bow_mm, wave_mm, fine_mm;
    double lean_mm;                   /* drawn from -lean_mm to lean_mm, below 0 is none */
    double chips;                     /* share of edges with a chip */
    double least_gap_mm[2], touching; /* least opening of a seam: from, to; share of seams pushed tight (0.01 mm) */
    double slip_mm, turn_rad;
} made_quality;

/* Faults as samples/make/recipe.py gives by default, without leans and chips. */
extern const made_quality made_by_volunteers;

/* Perfect squares at their nominal places. Ends the program when memory is out or side_mm is over 480. */
made_table made_new(int columns, int rows, double side_mm);
made_table made_copy(const made_table *table);
void made_free(made_table *table);

/* Gives an edge the shape dev(u, context). */
void made_shape(made_table *table, int tile, sw_side side, double (*dev)(double u_mm, const double *context),
                const double *context);
/* Cuts all edges by chance. */
void made_cut(made_table *table, const made_quality *quality, uint32_t seed);
/* The same tiles put down as a layout says, turned and still to be laid. Free with made_free. */
made_table made_put(const made_table *from, const sw_layout *layout);
/* Lays the tiles row after row, each pushed against its west and north neighbour (moved only, not turned, after a small
 * turn by chance) until tops, or bases where they lean, are as near as wanted. */
void made_lay(made_table *table, const made_quality *quality, uint32_t seed);

/* Unit-variance noise at 0, 1, 2 ... mm, smooth over length_mm (correlation exp(-(distance / 2 length)^2)). */
void made_smooth(uint32_t *seed, double length_mm, int count, double *out);

/* A tile's corner on the table: where its two clean top edges cross. */
sw_point made_corner(const made_tile *tile, sw_corner_name corner);
/* Stretch of an edge between its corners, in its own coordinate u. */
void made_span(const made_tile *tile, sw_side side, double *low_u, double *high_u);
/* Point of the clean edge on the table, moved outward by out_mm. */
sw_point made_point(const made_tile *tile, sw_side side, double u_mm, double out_mm);
/* How much the chips take away at u. */
double made_bite(const made_edge *edge, double u_mm);

typedef struct made_seam {
    int first, second, upright;
} made_seam;

/* Seams in the order of an inspection. Returns how many; seams may be NULL. */
int made_seams(const made_table *table, made_seam *seams);

/* A seam's middle line as the tiles lie: half-way between the two tiles' corners at either end. */
typedef struct made_line {
    sw_point start;         /* north or west end of the stretch where the two edges face each other */
    sw_point along, across; /* unit vectors: to the other end; from first to second */
    double length_mm;
} made_line;

made_line made_seam_line(const made_table *table, const made_seam *seam);

enum { MADE_CLEAN = 0, MADE_CHIPPED = 1, MADE_BASE = 2 };

/* True gap across the line at a place along it, exact: between clean tops, tops with their chips, or bases. Below 0:
 * the tiles overlap. */
double made_gap(const made_table *table, const made_seam *seam, const made_line *line, double at_mm, int what);
/* 1 where a chip of either edge lies within margin_mm of the place. */
int made_chipped(const made_table *table, const made_seam *seam, const made_line *line, double at_mm, double margin_mm);
/* Where the edge of the first (0) or second (1) tile crosses the place: its coordinate u. */
double made_foot(const made_table *table, const made_seam *seam, const made_line *line, double at_mm, int second);
/* Deepest overlap of two tiles that meet only at a corner, mm; 0 when there is none. */
double made_corner_overlap(const made_table *table);

/* Takes material off: piecewise linear by at_mm (from the edge's north or west corner), held beyond the first and last
 * place. Given for all edges of a tile at once, because corners move; count 0 for an edge that stays. */
typedef struct made_removal {
    const double *at_mm, *remove_mm;
    int count;
} made_removal;

void made_sand(made_tile *tile, const made_removal removal[4]);
void made_bevel(made_tile *tile, sw_side side, double bevel_mm);

/* What an inspection gets wrong; standard deviations in mm. The common part is the same all along a seam or edge. Half
 * of a seam's error is found in either of its edges' outlines, besides the edge's own. */
typedef struct made_noise {
    double random_mm, common_mm;           /* of a gap */
    double edge_random_mm, edge_common_mm; /* of an outline */
} made_noise;

extern const made_noise made_as_photos; /* 0.012, 0.03, 0.012, 0.03 */
extern const made_noise made_exact;     /* 0; u95 is then 0.001 */

/* The inspection that the program would make of the table. Free with sw_inspection_free. */
void made_inspect(const made_table *table, const made_noise *noise, double tolerance_mm, uint32_t seed,
                  sw_inspection *inspection);

#endif
