/* tile.h - a tile's outline: corners, lengths, straightness, squareness. */
#ifndef SEAMWRIGHT_TILE_H
#define SEAMWRIGHT_TILE_H

#include <stddef.h>

#include "seamwright/photo.h"
#include "seamwright/seam.h"
#include "seamwright/status.h"
#include "seamwright/table.h"

#ifdef __cplusplus
extern "C" {
#endif

/* One place along an edge. */
typedef struct sw_rim_point {
    double at_mm;    /* from the edge's north or west end */
    double proud_mm; /* + stands out beyond the tile's own best square, - falls short of it */
    sw_point mm;     /* where it is on the table */
    sw_station_state state;
} sw_rim_point;

typedef struct sw_edge {
    double length_mm, length_u95_mm;             /* corner to corner */
    double straightness_mm, straightness_u95_mm; /* minimum zone (ISO 12780-1) of the whole edge, chips left out */
    sw_parts length_parts, straightness_parts;   /* of the two u95, mm: each is twice the root sum of squares */
    double length_u_random_mm, straightness_u_random_mm; /* as sw_station.u_random_mm */
    double bow_mm;                                       /* middle against the line through the ends; + bow, - hollow */
    double rim_mm, rim_u95_mm; /* how far the rim is rounded: its radius, >= 0; NaN where not known */
    double seen;               /* share of the edge that was measured, 0 to 1 */
    sw_rim_point *points;
    size_t point_count;
} sw_edge;

typedef struct sw_corner {
    sw_point mm;      /* where the two rims, extended from their last 20 mm or so, cross */
    double angle_deg; /* inside angle between the least-squares lines of the two whole edges, chips left out */
    double u95_deg;
    sw_parts angle_parts; /* what u95_deg is made of, degrees: twice the root sum of squares */
    double u_random_deg;  /* as sw_station.u_random_mm */
} sw_corner;

/* Free with sw_tile_free. */
typedef struct sw_tile {
    char name[8];         /* column letter, row number: A1 at the photo's top left as shown */
    int column, row;      /* from 0 */
    sw_corner corners[4]; /* indexed by sw_corner_name */
    sw_edge edges[4];     /* indexed by sw_side */
    sw_chip *chips;       /* chips on edges at the table's rim only; those at a seam stand with the seam */
    size_t chip_count;
    sw_point centre_mm;              /* of the best square */
    double turn_rad;                 /* of the best square, counter-clockwise */
    double side_mm;                  /* of the best square */
    double height_mm, height_u95_mm; /* of its top at the tile's middle against the median top; NaN where not known */
    double tilt_deg, tilt_u95_deg;   /* of its top against the mm frame's plane, >= 0; NaN where not known */
    /* The same as a plane in the mm frame, not in files: its top at the tile's middle above the frame's plane, and how
     * much it rises a mm to the east and to the north. 0 where not known. */
    double rise_mm, rise_east, rise_north;
} sw_tile;

/* Frees what a tile owns and zeroes it. */
SW_API void sw_tile_free(sw_tile *tile);

#ifdef __cplusplus
}
#endif
#endif
