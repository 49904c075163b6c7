/* json_parts.h - parts of inspection.json that have a file of their own. */
#ifndef SW_REPORT_INSPECTION_JSON_PARTS_H
#define SW_REPORT_INSPECTION_JSON_PARTS_H

#include "report/common/json.h"
#include "seamwright/report.h"

/* Only for inspections that have a repeatability. */
json_t *sw_json_repeatability(const sw_inspection *inspection, int *failed);
/* The list under "budget". */
json_t *sw_json_budgets(const sw_inspection *inspection, int *failed);

#endif
