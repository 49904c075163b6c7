/* track.h - both rims along a seam in millimetres.
 *
 * The seam's own frame: origin at the grid side's north or west end, `u` along it, `n` across it from the first tile to the second
 * (east for an upright seam, south for a level one). A rim's place is (at, across); gap = across of the second - of the first.
 */
#ifndef SW_TRACK_TRACK_H
#define SW_TRACK_TRACK_H

#include <stdbool.h>

#include "scale/frame.h"
#include "seamwright/seam.h"

enum { SW_FIRST = 0, SW_SECOND = 1 };

typedef struct sw_track_point {
    double at_mm;
    double raw[2], across[2]; /* as read and smoothed, mm; NaN where unknown */
    double random_mm;         /* standard uncertainty of the smoothed gap from the station's neighbourhood */
    double systematic_mm;     /* and from what the whole seam shares: root sum of squares of the next five */
    double light_mm, model_mm, pixels_mm, spread_mm,
        height_mm; /* slot's light, what the edge response leaves over, coarse pixels, edge spread, heights at a step */
    double rim_random_mm[2];
    double noise_mm,
        rim_noise_mm[2]; /* the parts of random_mm and rim_random_mm that are the photo's noise; the rest is texture */
    bool chip[2];        /* inside a chip of that rim */
    double dark;         /* darkest of the slot, share of the top */
    double misfit;       /* residual of the station's reading over the noise; well over 1: something lies there */
    bool seen;
} sw_track_point;

typedef struct sw_track_chip {
    int rim;
    double at_mm, length_mm, depth_mm;
} sw_track_chip;

/* Free with sw_track_free. */
typedef struct sw_track {
    bool has[2]; /* which rims it has: both for a seam, one at the table's rim */
    sw_point origin, u, n;
    sw_track_point *points;
    int count;
    sw_track_chip *chips;
    int chip_count;
    double scatter_mm[2];               /* of single stations about the smoothed rims */
    double shared_u_mm;                 /* typical systematic_mm */
    double gap_freedom, rim_freedom[2]; /* degrees of freedom of random_mm and rim_random_mm; 0 unknown */
    sw_top tops[2];                     /* on either side; in the mm frame's plane where there is no tile */
    double rise_mm[2];                  /* how far they stand above the mm frame's plane, at the seam's middle */
    double round_mm[2], round_u_mm[2];  /* radius of the rims and its standard uncertainty; NaN: not known */
} sw_track;

void sw_track_free(sw_track *track);

/* A seam's outermost part, mm: there the crossing seam disturbs the reading. */
#define SW_SEAM_END_MM 5.0

/* Sets systematic_mm from its parts. */
void sw_track_point_sum(sw_track_point *point);

/* Mean distance of neighbouring stations, mm. */
double sw_track_step(const sw_track *track);

/* How far along the track a place of the table lies. */
static inline double sw_track_at(const sw_track *t, sw_point mm)
{
    return (mm.x - t->origin.x) * t->u.x + (mm.y - t->origin.y) * t->u.y;
}

/* A smoothed rim point on the table. */
static inline sw_point sw_track_mm(const sw_track *t, int i, int rim)
{
    const sw_track_point *p = &t->points[i];
    return (sw_point){t->origin.x + p->at_mm * t->u.x + p->across[rim] * t->n.x,
                      t->origin.y + p->at_mm * t->u.y + p->across[rim] * t->n.y};
}

/* All of a table, laid out as sw_traces. Free with sw_tracks_free. */
typedef struct sw_tracks {
    int columns, rows, count;
    sw_track *upright, *level;
} sw_tracks;

void sw_tracks_free(sw_tracks *tracks);

static inline const sw_track *sw_upright_track(const sw_tracks *t, int line, int row)
{
    return &t->upright[line * t->rows + row];
}

static inline const sw_track *sw_level_track(const sw_tracks *t, int column, int line)
{
    return &t->level[column * (t->rows + 1) + line];
}

#endif
