/* json_repeat.h - "repeatability" in inspection.json. */
#ifndef SEAMWRIGHT_REPORT_JSON_REPEAT_H
#define SEAMWRIGHT_REPORT_JSON_REPEAT_H

#include "json.h"
#include "seamwright/report.h"

/* Only for inspections that have a repeatability. */
json_t *sw_json_repeatability(const sw_inspection *inspection, int *failed);

#endif
