/* trace.h - one side of the grid followed along the photo, station by station, in pixels.
 *
 * A trace that runs more upright than level in the photo is crossed along pixel rows (along_row 1), else along columns. `line` is
 * the pixel row or column of a station, `at_px` coordinates run along the crossing. "low" and "high" are the two sides of the
 * trace by crossing coordinate.
 */
#ifndef SW_SEAM_TRACE_H
#define SW_SEAM_TRACE_H

#include <stddef.h>

#include "photo/crossing.h"
#include "seam/slot.h"
#include "seamwright/scale.h"
#include "table/grid.h"

typedef enum sw_trace_kind {
    SW_TRACE_SEAM,     /* tile | slot | tile */
    SW_TRACE_LOW_TILE, /* tile | floor: the table's rim, the tile on the low side */
    SW_TRACE_HIGH_TILE /* floor | tile */
} sw_trace_kind;

typedef struct sw_place {
    double line;                    /* middle of the station's pixel lines */
    double path_px;                 /* predicted, then followed, middle of the seam (or the rim) */
    double rim_low_px, rim_high_px; /* fitted rims: end of the low tile, start of the high one; NaN where unknown */
    double sd_low_px, sd_high_px, cov_px2; /* their standard deviations and covariance from the station's own samples */
    double width_by[SW_LIGHT_NUMBERS];     /* d width / d (the seam's shared light) */
    double doubt_px;  /* standard deviation of the width from not knowing whether the far wall is lit */
    double low, high; /* levels of the two sides, linear light */
    double dark;      /* darkest sample near the path, share of the lesser top */
    double rms;
    int seen; /* 0: under a card, outside the photo, or unreadable */
} sw_place;

typedef struct sw_trace {
    sw_trace_kind kind;
    int along_row;
    int reversed;        /* 1: the low side is the east or south one */
    double slope;        /* change of at_px a line, mean */
    double stretch;      /* cosine between crossing and the seam's normal in the photo */
    double px_per_mm;    /* along the crossing, at the middle */
    double tangent;      /* of the view angle across the seam: + when the high rim is the far one */
    int narrow;          /* 1: too narrow to look into */
    double noise;        /* of one sample, linear light */
    sw_slot_light light; /* of the slot, and its covariance */
    double light_covariance[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS];
    sw_place *places;
    int count;
} sw_trace;

/* Lays a trace along a grid side: stations step_mm apart, predicted path, nothing read yet. camera is the camera's foot point on
 * the table (x, y) and its height. Free with sw_trace_free. */
sw_status sw_trace_lay(const sw_photo *photo, const sw_scale *scale, const sw_grid_side *side, int upright,
                       sw_trace_kind kind, double step_mm, const double camera[3], sw_trace *trace, sw_error *err);
void sw_trace_free(sw_trace *trace);

/* Finds the path: the smooth line of missing light (a seam) or of the brightness step (the table's rim) near the prediction. */
sw_status sw_trace_follow(const sw_photo *photo, sw_trace *trace, sw_error *err);

/* The pixel lines of a followed seam, looked at roughly, ready to be fitted. */
typedef struct sw_seam_reading sw_seam_reading;

/* Reads a seam along its path; stations that lie under a card are no longer seen then. *reading (NULL when no station can be read) is
 * the caller's: sw_seam_reading_free. */
sw_status sw_trace_read_seam(const sw_photo *photo, const sw_scale *scale, sw_trace *trace, sw_seam_reading **reading,
                             sw_error *err);
void sw_seam_reading_free(sw_seam_reading *reading);

/* Width of the seam, px across it: median of the rough readings; 0 when there are none. */
double sw_seam_rough_width(const sw_seam_reading *reading, const sw_trace *trace);

/* Fits the slot model, from result->light on. far_wider: start with the far rim so much of the rough width farther out. all 0: only what tells of the light. Returns 0, -1
 * when nothing could be fitted, -2 without memory. */
int sw_seam_fit(sw_seam_reading *reading, const sw_trace *trace, const sw_slot_prior *prior, double far_wider, int all,
                sw_slot_result *result);

/* Median of how much farther out than roughly read the fitted far rim lies, share of the rough width. */
double sw_seam_far_wider(const sw_seam_reading *reading, const sw_trace *trace);

/* Writes the last fit into the trace. With share < 1 it is mixed, by that share, with what the trace already holds of another fit, and
 * the difference adds to the stations' doubt. */
void sw_seam_hand_over(const sw_seam_reading *reading, const sw_slot_result *result, double share, sw_trace *trace);

/* Reads the one rim of a side at the table's own rim. */
sw_status sw_trace_read_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *trace, sw_error *err);

#endif
