#include "support/plan_bench.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>

#include "support/fixture.h"
#include "support/plan_fixture.h"

void plan_bench_write(plan_bench *made)
{
    json_error_t wrong;
    json_decref(made->root);
    assert_int_equal(sw_report_plan_json(&made->plan, &made->inspection, made->path, &made->err), SW_OK);
    made->root = json_load_file(made->path, JSON_REJECT_DUPLICATES, &wrong);
    if (!made->root)
        fail_msg("line %d: %s", wrong.line, wrong.text);
}

int plan_bench_set_up(void **state)
{
    plan_bench *made = calloc(1, sizeof *made);
    assert_non_null(made);
    fixture_inspection(&made->inspection);
    plan_fixture(&made->inspection, &made->plan);
    fixture_folder(made->folder);
    snprintf(made->path, sizeof made->path, "%s/plan.json", made->folder);
    plan_bench_write(made);
    *state = made;
    return 0;
}

int plan_bench_tear_down(void **state)
{
    plan_bench *made = *state;
    json_decref(made->root);
    fixture_remove(made->folder);
    sw_plan_free(&made->plan);
    sw_inspection_free(&made->inspection);
    free(made);
    return 0;
}
