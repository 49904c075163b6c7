/* Whose plan it is, and that nothing in plan.json may be of another kind than it is written. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/plan/parts.h"
#include "support/fixture.h"
#include "support/plan_bench.h"

/* Names of edges alone do not tell one table from the next. */
static void a_plan_of_another_inspection_is_refused(void **state)
{
    plan_bench *made = *state;
    sw_plan read;
    sw_inspection same;
    char file[160];
    snprintf(file, sizeof file, "%s/inspection.json", made->folder);
    assert_int_equal(sw_report_json(&made->inspection, file, &made->err), SW_OK);
    assert_int_equal(sw_inspection_read(file, &same, &made->err), SW_OK);
    assert_int_equal(sw_plan_read(made->path, &same, &read, &made->err), SW_OK);
    sw_plan_free(&read);
    sw_inspection_free(&same);
    double *gap_mm = &made->inspection.seams[0].stations[3].gap_mm, was_mm = *gap_mm;
    *gap_mm += 0.001;
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_BAD_INPUT);
    assert_non_null(strstr(made->err.text, "it was made from another inspection"));
    *gap_mm = was_mm;
    made->inspection.tiles[1].edges[2].points[5].proud_mm += 0.001;
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_BAD_INPUT);
    /* Without the mark (an older plan) the photo's name tells, if there is one. */
    json_object_del(made->root, "made_from_mark");
    char *text = json_dumps(made->root, 0);
    assert_int_equal(sw_plan_parse(text, strlen(text), "plan.json", &made->inspection, &read, &made->err), SW_OK);
    sw_plan_free(&read);
    snprintf(made->inspection.file, sizeof made->inspection.file, "other.jpg");
    assert_int_equal(sw_plan_parse(text, strlen(text), "plan.json", &made->inspection, &read, &made->err),
                     SW_BAD_INPUT);
    free(text);
}

static sw_status read_root(plan_bench *made)
{
    sw_plan read;
    char *text = json_dumps(made->root, 0);
    assert_non_null(text);
    sw_status status = sw_plan_parse(text, strlen(text), "plan.json", &made->inspection, &read, &made->err);
    if (!status)
        sw_plan_free(&read);
    free(text);
    return status;
}

/* A wrong type anywhere, also of what is only for people to read. */
static void spoil_each(plan_bench *made, json_t *object)
{
    const char *key;
    json_t *value;
    void *next;
    json_object_foreach_safe(object, next, key, value)
    {
        json_t *was = json_incref(value);
        json_object_set_new(object, key, json_is_object(was) ? json_true() : json_pack("{si}", "odd", 1));
        if (read_root(made) != SW_BAD_INPUT)
            fail_msg("\"%s\" may be anything", key);
        json_object_set_new(object, key, was);
        if (json_is_array(was) && json_is_object(json_array_get(was, 0)))
            spoil_each(made, json_array_get(was, 0));
    }
}

static void wrong_types_are_refused(void **state)
{
    plan_bench *made = *state;
    json_object_del(made->root, "notes"); /* read by nobody, and of a kind of their own */
    spoil_each(made, made->root);
    assert_int_equal(read_root(made), SW_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_plan_of_another_inspection_is_refused, plan_bench_set_up,
                                        plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(wrong_types_are_refused, plan_bench_set_up, plan_bench_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
