/* track.h - a trace in millimetres: both rims along the seam, smoothed, chips set apart, and how uncertain the gap is.
 *
 * The seam's own frame: origin at the grid side's north or west end, `u` along it, `n` across it from the first tile to the second
 * (east for an upright seam, south for a level one). A rim's place is (at, across); gap = across of the second - of the first.
 */
#ifndef SW_SEAM_TRACK_H
#define SW_SEAM_TRACK_H

#include "seam/trace.h"
#include "seamwright/seam.h"

enum { SW_FIRST = 0, SW_SECOND = 1 };

typedef struct sw_track_point {
    double at_mm;
    double raw[2], across[2]; /* as read and smoothed, mm; NaN where unknown */
    double random_mm;         /* standard uncertainty of the smoothed gap from the station's neighbourhood */
    double systematic_mm;     /* and from what the whole seam shares: root sum of squares of the next five */
    double light_mm, model_mm, pixels_mm, spread_mm,
        height_mm; /* slot's light, what no model of it holds, coarse pixels, edge spread, heights at a step */
    double rim_random_mm[2];
    double noise_mm,
        rim_noise_mm[2]; /* the parts of random_mm and rim_random_mm that are the photo's noise; the rest is texture */
    int chip[2];         /* inside a chip of that rim */
    double dark;         /* darkest of the slot, share of the top */
    double misfit;       /* residual of the station's reading over the noise; well over 1: something lies there */
    int seen;
} sw_track_point;

typedef struct sw_track_chip {
    int rim;
    double at_mm, length_mm, depth_mm;
} sw_track_chip;

/* Free with sw_track_free. */
typedef struct sw_track {
    int has[2]; /* which rims it has: both for a seam, one at the table's rim */
    sw_point origin, u, n;
    sw_track_point *points;
    int count;
    sw_track_chip *chips;
    int chip_count;
    double scatter_mm[2];               /* of single stations about the smoothed rims */
    double shared_u_mm;                 /* typical systematic_mm */
    double gap_freedom, rim_freedom[2]; /* degrees of freedom of random_mm and rim_random_mm; 0 unknown */
    double rise_mm[2];                  /* how far the tops on either side stand above the mm frame's plane */
} sw_track;

/* Turns a read trace into a track. side gives the frame; rise_mm how far the first and the second tile's top stand
 * above the mm frame's plane (that of a tile that is not there does not matter; NULL: level): each rim is taken to mm on its own
 * tile's level. */
sw_status sw_track_make(const sw_trace *trace, const sw_scale *scale, const sw_grid_side *side, const double rise_mm[2],
                        sw_track *track, sw_error *err);
void sw_track_free(sw_track *track);

/* A seam's outermost part, mm: there the crossing seam disturbs the reading. */
#define SW_SEAM_END_MM 5.0

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

#endif
