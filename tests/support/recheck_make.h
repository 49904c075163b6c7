/* recheck_make.h - two inspections made up from tiles of known shape, before and after sanding. */
#ifndef SW_SUPPORT_RECHECK_MAKE_H
#define SW_SUPPORT_RECHECK_MAKE_H

#include "seamwright/recheck.h"

enum { MADE_COLUMNS = 2, MADE_ROWS = 2, MADE_TILES = MADE_COLUMNS * MADE_ROWS };

/* What came off one edge: even all along, a wedge that ends in nothing at `to`, or most in the middle. */
typedef struct made_cut {
    int tile;
    sw_side side;
    double even_mm, wedge_mm, bow_mm;
} made_cut;

typedef struct made_photo {
    const made_cut *cuts;
    int cut_count;
    const sw_place *places; /* NULL: as it was */
    double scale;           /* 1: true; 1.001: all lengths read 0.1 % too long */
    double noise_mm;        /* of a rim's shape, standard deviation, slowly wandering */
    double shift_mm;        /* of a whole rim, standard deviation */
    unsigned seed;          /* of noise, and of how the tiles lie */
    double gap_mm;          /* widest gap of every seam */
    double closed_gap_mm;   /* of the stretch below */
    double
        closed_mm; /* 0: nowhere closed. Else every seam is closed over a quarter of its length, and there its two rims
                         are read too far to the same side, by a normal deviate of this standard deviation */
} made_photo;

/* Free with sw_inspection_free. Ends the test program when memory is out. */
void made_inspection(const made_photo *photo, sw_inspection *inspection);

/* What truly came off, at mm from the edge's north or west end. */
double made_taken(const made_cut *cuts, int count, int tile, sw_side side, double at_mm);

/* A plan for these cuts, each made `times` as deep. Free with sw_plan_free. */
void made_plan(const made_cut *cuts, int count, double times, sw_plan *plan);

#endif
