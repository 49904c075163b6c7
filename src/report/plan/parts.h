/* parts.h - what the writers of a plan and its reader share. */
#ifndef SW_REPORT_PLAN_PARTS_H
#define SW_REPORT_PLAN_PARTS_H

#include "seamwright/plan.h"

/* "layout" or "any", as --for takes it. */
const char *sw_plan_for_name(sw_plan_for purpose);

/* "known", "open"; NULL for SW_LEAN_NONE. */
const char *sw_lean_name(sw_lean_known lean);

/* A plan from plan.json's text: sw_plan_read. path is for the sentence. */
sw_status sw_plan_parse(const char *text, size_t length, const char *path, const sw_inspection *first, sw_plan *plan,
                        sw_error *err);

#endif
