/* forecast.h - what every seam will be once a plan is carried out and the tiles are pushed the ordinary way. The
 * programmes that chose the cuts have no say here. */
#ifndef SW_PLAN_FORECAST_H
#define SW_PLAN_FORECAST_H

#include <stdbool.h>

#include "plan/trueup.h"
#include "seamwright/seam.h"

typedef struct sw_forecast {
    double mm,
        u95_mm;     /* widest gap after a push, the middle of what all ways of pushing and of bases holding make of it;
                          NaN when not seen */
    double best_mm; /* after an ordinary push, bases holding only what is known of them */
    double push_mm; /* part of the ±: half the range of all these ways */
    sw_verdict verdict;
} sw_forecast;

/* How far bases can have held a joint's tops apart: no further than it was closed in the photo, for they cannot overlap. */
double sw_hold_seen(const sw_openings *openings, size_t joint);

/* What is done: cuts and bevels, either NULL for none; and of each joint how far its bases may hold the tops apart where
 * nothing is bevelled, and how far they are known to. */
typedef struct sw_done {
    const sw_true_up *up;
    const bool *bevel;
    const double *hold_mm, *standoff_mm;
    bool rough; /* fewer ways of pushing are looked at */
} sw_done;

/* forecast: one a joint. */
sw_status sw_forecast_make(const sw_openings *openings, const sw_done *done, double tolerance_mm, sw_forecast *forecast,
                           sw_error *err);
/* The widest gap of every joint after an ordinary push only, quicker; NaN for one that was not seen. */
sw_status sw_forecast_widest(const sw_openings *openings, const sw_done *done, double *max_mm, sw_error *err);

#endif
