/* settle.h - how far a table closes when its tiles are only pushed together.
 *
 * Tiles make small rigid motions (dx, dy, turn). Across a seam from its first tile to its second, unit vector n, at a
 * place p on it, with c the tiles' centres and perp(v) = v turned a quarter counter-clockwise:
 *
 *     new gap = gap + n . (d2 + turn2 perp(p - c2)) - n . (d1 + turn1 perp(p - c1))
 *
 * A slip along the seam changes the gap only by slip x slope of the edges, which is left out (1 mm of slip on 1 mm of
 * taper over 300 mm: 0.003 mm).
 */
#ifndef SW_PUSH_SETTLE_H
#define SW_PUSH_SETTLE_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/photo.h"
#include "seamwright/status.h"

/* One place along a joint. */
typedef struct sw_joint_point {
    double at_mm;  /* from the joint's north or west end */
    double gap_mm; /* opening between the two tops before pushing; may be below 0 (a layout not yet laid) */
    double u95_mm; /* its 95 % uncertainty; 0 where it does not matter */
    bool limits;   /* counts for the widest gap */
    bool apart;    /* the tiles cannot come nearer than floor_mm here */
} sw_joint_point;

/* A seam of any layout. */
typedef struct sw_joint {
    int first, second;      /* tiles: indices into centres */
    sw_point start_mm;      /* north or west end of its middle line */
    sw_point along, across; /* unit vectors: from start to the other end; from first to second */
    double floor_mm;        /* the tops cannot come nearer than this (lean of the two faces); 0 as a rule */
    double allow_mm;        /* this much of its widest gap does not count (what sanding cannot mend); 0 as a rule */
    sw_joint_point *points; /* by at_mm; may be none */
    size_t point_count;
} sw_joint;

typedef struct sw_motion {
    double x_mm, y_mm, turn_rad;
} sw_motion;

typedef struct sw_settled {
    sw_motion *motions; /* one a tile */
    double *max_mm;     /* widest gap of each joint over its limiting points; NaN for a joint without points */
    double *mean_mm;
    double worst_mm, sum_mm;
} sw_settled;

void sw_settled_free(sw_settled *settled);
/* Room for so many tiles and joints, all zero. SW_NO_MEMORY. */
sw_status sw_settled_new(size_t tiles, size_t joints, sw_settled *settled, sw_error *err);
/* Fills everything but the motions, from them. */
void sw_settled_take(const sw_joint *joints, size_t count, const sw_point *centres, sw_settled *settled);

/* Pushes: the widest gap of the table (each joint's less its allow_mm) becomes as small as can be, then the sum of the
 * joints' widest. Tile 0 stays; every tile must hang on it through joints with points, others stay as they are. At most
 * a few percent of a tile's side of motion are allowed. On failure *settled is zeroed. */
sw_status sw_settle(const sw_point *centres, size_t tiles, const sw_joint *joints, size_t joint_count,
                    sw_settled *settled, sw_error *err);

/* The gap at a point after the motions. */
double sw_joint_gap(const sw_joint *joint, const sw_joint_point *point, const sw_point *centres,
                    const sw_motion *motions);

/* Factors of the six motions (x, y, turn of first, then of second) in the gap at `at_mm`. */
void sw_joint_slopes(const sw_joint *joint, double at_mm, const sw_point *centres, double slopes[6]);

#endif
