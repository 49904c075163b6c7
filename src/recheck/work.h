/* work.h - one tile of a comparison in the making. */
#ifndef SW_RECHECK_WORK_H
#define SW_RECHECK_WORK_H

#include "push/outline_at.h"
#include "recheck/fit.h"
#include "recheck/parts.h"

typedef struct sw_work {
    const sw_comparing *c;
    int tile;  /* index into the earlier tiles */
    int place; /* index into the later ones */
    int turns; /* of the later one */
    const sw_tile *before, *after;
    sw_outline was, is;
    bool measured;                           /* both outlines are known */
    const sw_edge_plan *plan[4];             /* NULL: nothing planned */
    double shape_mm[4];                      /* standard uncertainties: of the outline's shape along a side, */
    double shift_mm[4];                      /* of the whole side (light in its seam), */
    double scale_mm;                         /* and of the tile's half side (the two scales) */
    const sw_seam *seam_was[4], *seam_is[4]; /* that a side lay and lies at; NULL: at the table's rim */
    bool bevelled[4];                        /* the plan bevels its side face */
    double longer;      /* the later scale is taken to be too small by this, relative: its lengths are made longer */
    sw_fit fit, larger; /* larger: if the later scale were off by one standard uncertainty */
} sw_work;

/* Less than this is no plan, mm. */
static const double SW_PLANNED_LEAST_MM = 0.02;

/* Fills all but `longer` and the fits. SW_BAD_INPUT: a tile's size differs by more than sanding explains. Free with
 * sw_work_end, after a failure, too. */
sw_status sw_work_begin(sw_comparing *c, int place, sw_work *w, sw_error *err);
void sw_work_end(sw_work *w);

/* Where a plan goes deepest; NULL when it takes nothing off the top edge (a bevel only). */
const sw_removal *sw_work_deepest(const sw_edge_plan *plan);
/* Planned at a place of an edge, mm from its north or west end; 0 off the plan. */
double sw_work_planned_at(const sw_work *w, int side, double at_mm);
/* Most planned within the margin of a place: a hand does not stop sharp. */
double sw_work_planned(const sw_work *w, int side, double at_mm);
/* Standard uncertainty of a place's `missing` against its neighbours': the shape's, and more where a seam is closed. */
double sw_work_shape(const sw_work *w, int side, double u_mm);
/* Whether something may be concluded from a place: not where its seam was or is closed. */
bool sw_work_told(const sw_work *w, int side, double u_mm);
/* A place's distance from the edge's north or west end; u runs clockwise round the tile. */
double sw_work_at(const sw_work *w, int side, double u_mm);
/* Before less after, each from its own middle; NaN where one of them was not seen. */
double sw_work_missing(const sw_work *w, int side, double u_mm, sw_outline_known *known);

/* Compares the two photos' scales by the widths between edges that the plan leaves alone: sets `longer` and lessens
 * scale_mm of every tile when there are enough of them that agree. */
sw_status sw_ruler_take(sw_work *works, size_t count, sw_error *err);

#endif
