/* trace.h - one side of the grid followed along the photo, station by station, in pixels.
 *
 * A trace that runs more upright than level in the photo is crossed along pixel rows (along_row), else along columns. `line` is
 * the pixel row or column of a station, `at_px` coordinates run along the crossing. "low" and "high" are the two sides of the
 * trace by crossing coordinate.
 */
#ifndef SW_SEAM_TRACE_H
#define SW_SEAM_TRACE_H

#include <math.h>
#include <stdbool.h>

#include "seam/slot_model.h"
#include "seamwright/scale.h"
#include "table/grid.h"

typedef enum sw_trace_kind {
    SW_TRACE_SEAM,     /* tile | slot | tile */
    SW_TRACE_LOW_TILE, /* tile | floor: the table's rim, the tile on the low side */
    SW_TRACE_HIGH_TILE /* floor | tile */
} sw_trace_kind;

typedef struct sw_trace_place {
    double line;                    /* middle of the station's pixel lines */
    double path_px;                 /* predicted, then followed, middle of the seam (or the rim) */
    double rim_low_px, rim_high_px; /* fitted rims: end of the low tile, start of the high one; NaN where unknown */
    double sd_low_px, sd_high_px, cov_px2; /* their standard deviations and covariance from the station's own samples */
    double width_by[SW_SLOT_NUMBERS];      /* d width / d (the seam's shared light) */
    double low, high;                      /* levels of the two sides, linear light */
    double dark;                           /* darkest sample near the path, share of the lesser top */
    double bright;                         /* beside a step: share of what was read as gap that is too bright for one */
    double missing_px;                     /* beside a step: light that the slot lacks, px of the lower top's */
    double rms;
    bool hidden;  /* the gap lies behind the near rim: not seen, but that rim is where it was read */
    bool doubled; /* not seen, as another line or edge runs beside the seam */
    bool soft;    /* not seen, as it is much softer than the cards' edges */
    bool seen;    /* else under a card or something else, outside the photo, or unreadable */
} sw_trace_place;

typedef struct sw_trace {
    sw_trace_kind kind;
    bool along_row;
    bool reversed;    /* the low side is the east or south one */
    double slope;     /* change of at_px a line, mean */
    double stretch;   /* cosine between crossing and the seam's normal in the photo */
    double px_per_mm; /* along the crossing, at the middle */
    double tangent;   /* of the view angle across the seam: + when the high rim is the far one */
    double step_mm;   /* how far the far top is known to stand above the near one */
    double
        step_u_mm; /* its standard uncertainty: 0 where the table is known to be level, large where nothing is known */
    bool
        stepped; /* bands of a step are part of what is looked for: it is known to be large enough, or may be anything, or shows */
    bool may_step;   /* it is stepped, or a step that nobody told may be there: shade at one side is no cover */
    bool astray;     /* another line was followed, not the seam */
    bool cast;       /* the edge of a shadow, or a bar of it, lies in the seam or right beside it */
    bool no_tile[2]; /* its first (west or north), its second tile is not there: the floor shows in its place */
    double open_mm;  /* width as roughly read */
    bool narrow;     /* too narrow to look into */
    double round_mm[2],
        round_u_mm[2];   /* radius of the low and the high rim, and its standard uncertainty; NaN: not known */
    double noise;        /* of one sample, linear light */
    sw_slot_light light; /* of the slot, and its covariance */
    double light_covariance[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS];
    sw_trace_place *places;
    int count;
} sw_trace;

/* Where the photo shows what lies across_px along a station's crossing. */
static inline sw_point sw_trace_pixel(const sw_trace *trace, const sw_trace_place *place, double across_px)
{
    return trace->along_row ? (sw_point){across_px, place->line} : (sw_point){place->line, across_px};
}

/* From station to station, mm; 1 where there is only one. */
static inline double sw_trace_spacing_mm(const sw_trace *t)
{
    return t->count > 1 ? fabs(t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) / t->px_per_mm : 1;
}

/* Lays a trace along a grid side: stations step_mm apart, predicted path, nothing read yet. camera is the camera's foot point on
 * the table (x, y) and its height. Free with sw_trace_free. */
sw_status sw_trace_lay(const sw_photo *photo, const sw_scale *scale, const sw_grid_side *side, bool upright,
                       sw_trace_kind kind, double step_mm, const double camera[3], sw_trace *trace, sw_error *err);
void sw_trace_free(sw_trace *trace);

#endif
