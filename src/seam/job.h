/* job.h - all seams of a photo on their way from pixels to rims, as measure.c and rounding.c share them. */
#ifndef SW_SEAM_JOB_H
#define SW_SEAM_JOB_H

#include "seam/light.h"
#include "seam/measure.h"
#include "seam/radii.h"
#include "seam/read.h"
#include "seam/top_light.h"

/* A seam on its way from pixels to rims. */
typedef struct sw_seam_job {
    sw_trace *trace;
    sw_seam_reading *reading;
    int facing;
    int edge[2]; /* of its near and its far rim, see edge_of */
    sw_slot_prior prior;
    sw_slot_result result, round;      /* with sharp rims, with round ones */
    double far_wider, round_far_wider; /* where the fit found the far rim, see sw_seam_far_wider */
    bool heard;                        /* it told of the light */
} sw_seam_job;

/* A side at the table's own rim. */
typedef struct sw_rim_job {
    sw_trace *trace;
    int facing, edge;
    double floor_spread; /* of the floor's light along it, logarithm, robustly; NaN: nothing is known */
} sw_rim_job;

typedef struct sw_seams_job {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_grid *grid;
    double step_mm, camera[3];
    sw_traces *traces;
    sw_seam_job *seams;
    sw_rim_job *rims;
    int seam_count, rim_count;
    sw_radius *told, *others, *all; /* radii of all edges: by their own light, by that of all but themselves, by both */
    double lamp[2];     /* factor on how far across lamps go, for level and for upright rims, as their shoulders tell */
    double round_odds;  /* what speaks for round rims on this table, logarithm of odds */
    sw_top_light *tops; /* light of the tiles, as edges count them */
    sw_cavity cavity;
    sw_table_light light;
    void (*progress)(void *, double);
    void *context;
    int done;
} sw_seams_job;

#endif
