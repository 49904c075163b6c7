/* trees.h - what the JSON files hold, as trees for a page's data; NULL when memory is out. */
#ifndef SW_REPORT_COMMON_TREES_H
#define SW_REPORT_COMMON_TREES_H

#include <jansson.h>

#include "seamwright/arrange.h"
#include "seamwright/plan.h"
#include "seamwright/recheck.h"

json_t *sw_inspection_tree(const sw_inspection *inspection);
json_t *sw_plan_tree(const sw_plan *plan, const sw_inspection *first);
json_t *sw_recheck_tree(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after);
json_t *sw_arrangement_tree(const sw_arrangement *arrangement, const sw_inspection *first);

/* How many seams each inspection of the table had over a limit, too close to call and within, the first one first:
 * [{"photo", "over", "close", "within", "limit_mm"} ...]. The last is `last`; before it stand `before` (unless NULL) and what
 * came before that one. The two are held against limit_mm, those before them against what they were then. */
json_t *sw_rounds_tree(const sw_inspection *before, const sw_inspection *last, double limit_mm);

#endif
