/* closing.h - what closes a table: which faces to square, what to take off which edge, and what every seam will be then. */
#ifndef SW_PLAN_CLOSING_H
#define SW_PLAN_CLOSING_H

#include "plan/forecast.h"

/* What a table is closed from. */
typedef struct sw_gaping {
    const sw_inspection *ins;
    const sw_openings *e;                /* of ins */
    const double *hold_mm, *standoff_mm; /* of each joint, as in sw_done */
    sw_cutter *cutter;                   /* for the joints of e; what it found last is lost */
} sw_gaping;

/* Free with sw_closing_free. */
typedef struct sw_closing {
    sw_true_up up;
    bool *bevel;           /* of each joint: its standoff goes */
    sw_forecast *forecast; /* of each joint, all done */
} sw_closing;

typedef enum sw_effort { SW_ROUGHLY = 0, SW_FULLY } sw_effort;

void sw_closing_free(sw_closing *closing);

/* Closes to the limit. Seams that are over are worked at, others are not; nothing is taken off where pushing and squaring
 * faces may do. SW_ROUGHLY: fewer rounds, for what a limit costs. */
sw_status sw_closing_find(const sw_gaping *gaping, double limit_mm, sw_effort effort, sw_closing *closing,
                          sw_error *err);

#endif
