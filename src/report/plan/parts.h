/* parts.h - a plan read back, in parts. */
#ifndef SW_REPORT_PLAN_PARTS_H
#define SW_REPORT_PLAN_PARTS_H

#include "seamwright/plan.h"

/* A plan from plan.json's text: sw_plan_read. path is for the sentence. */
sw_status sw_plan_parse(const char *text, size_t length, const char *path, const sw_inspection *first, sw_plan *plan,
                        sw_error *err);

#endif
