/* plan_bench.h - what tests of plan.json begin with: a made-up inspection, its plan, and the file that was written of it. */
#ifndef SW_SUPPORT_PLAN_BENCH_H
#define SW_SUPPORT_PLAN_BENCH_H

#include <jansson.h>

#include "seamwright/plan.h"
#include "seamwright/report.h"

typedef struct plan_bench {
    sw_inspection inspection;
    sw_plan plan;
    char folder[64], path[128]; /* path: plan.json in the folder */
    json_t *root;               /* as it was written last */
    sw_error err;
} plan_bench;

/* For cmocka's set up and tear down: *state is the bench. */
int plan_bench_set_up(void **state);
int plan_bench_tear_down(void **state);

/* Writes the plan anew and reads it with jansson. */
void plan_bench_write(plan_bench *made);

#endif
