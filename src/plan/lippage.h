/* lippage.h - which tile to plane down or pack up, so that steps between tops come within a limit. */
#ifndef SW_PLAN_LIPPAGE_H
#define SW_PLAN_LIPPAGE_H

#include "seamwright/inspection.h"

/* Fills inspection->tops from the seams' steps and lippage_mm; nothing where that is 0. SW_NO_MEMORY. */
sw_status sw_lippage_advise(sw_inspection *inspection, sw_error *err);

#endif
