/* reason.h - what to do about a seam or a chip, and why. */
#ifndef SW_PLAN_REASON_H
#define SW_PLAN_REASON_H

#include <stdbool.h>

#include "plan/closing.h"
#include "push/openings.h"

/* The table as a whole. Without `planned` nothing is known of it, and nothing is to be sanded. */
typedef struct sw_whole {
    const sw_inspection *ins;
    sw_openings e;
    sw_settled pushed;
    double *standoff_mm, *hold_mm, *u95_mm;
    sw_closing closing;
    bool planned;
} sw_whole;

/* Each fills the advice, but for its rank. */
void sw_reason_seam(const sw_whole *whole, int seam, sw_advice *advice);
void sw_reason_chip(const sw_inspection *inspection, int seam, const sw_chip *chip, sw_advice *advice);

#endif
