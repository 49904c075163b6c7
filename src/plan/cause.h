/* cause.h - what is wrong with a seam, in the same words for the ranking and for the work list. */
#ifndef SW_PLAN_CAUSE_H
#define SW_PLAN_CAUSE_H

#include "plan/closing.h"

/* "open along its whole length, and held open at its north end"; "" where nothing is done at the joint. */
void sw_cause_say(const sw_inspection *inspection, const sw_closing *closing, size_t joint, char *text, size_t room);

#endif
