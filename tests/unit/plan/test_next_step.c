/* The one thing to do first: it keeps to the order of work, and asks for nothing where there is nothing to do. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/order.h"
#include "plan/making.h"
#include "support/fixture.h"
#include "support/plan_fixture.h"

typedef struct bench {
    sw_inspection inspection;
    sw_plan plan;
} bench;

static int set_up(void **state)
{
    bench *b = calloc(1, sizeof *b);
    fixture_inspection(&b->inspection);
    plan_fixture(&b->inspection, &b->plan);
    *state = b;
    return 0;
}

static int tear_down(void **state)
{
    bench *b = *state;
    sw_plan_free(&b->plan);
    sw_inspection_free(&b->inspection);
    free(b);
    return 0;
}

/* Leaves the plan its first edges only. */
static void keep_edges(bench *b, size_t count)
{
    for (size_t i = count; i < b->plan.edge_count; i++)
        free(b->plan.edges[i].true_up);
    b->plan.edge_count = count;
}

static const char *next(bench *b)
{
    const sw_making m = {.all = &b->inspection, .plan = &b->plan};
    sw_plan_say_next(&m);
    return b->plan.next;
}

static void begins(const char *text, const char *with)
{
    if (strncmp(text, with, strlen(with)) != 0)
        fail_msg("\"%s\" does not begin with \"%s\"", text, with);
}

static void nothing(bench *b)
{
    sw_plan_free(&b->plan);
    plan_fixture_nothing(&b->inspection, &b->plan);
}

static void within_asks_for_nothing(void **state)
{
    bench *b = *state;
    nothing(b);
    for (size_t i = 0; i < b->inspection.seam_count; i++)
        b->inspection.seams[i].verdict = SW_WITHIN;
    assert_string_equal(next(b), "Sand nothing: every seam is within 0.50 mm as far as this photo can tell.");
}

static void what_pushing_closes_is_pushed(void **state)
{
    bench *b = *state;
    nothing(b);
    begins(next(b), "Sand nothing. Push the tiles together and photograph again: ");
    assert_non_null(strstr(b->plan.next, "0.50 mm"));
}

/* Nothing to sand, yet no promise: what cannot be mended is told, and a chip is not it. */
static void no_promise_is_no_praise(void **state)
{
    bench *b = *state;
    keep_edges(b, 0);
    b->plan.work_count = 0;
    begins(next(b), "Sand nothing. Push the tiles together and photograph again. B2-B3 was not seen");
    for (size_t i = 0; i < b->inspection.seam_count; i++)
        b->inspection.seams[i].verdict = SW_WITHIN;
    begins(next(b), "Sand nothing. B2-B3 was not seen");
}

static void work_begins_with_pushing_then_the_first_line(void **state)
{
    bench *b = *state;
    char begin[256];
    snprintf(begin, sizeof begin,
             "%s; then begin with the first line of the list. C1-C2: Hold a try square to C1 south;", sw_order_begin);
    begins(next(b), begin);
    snprintf(b->plan.work[0].what, sizeof b->plan.work[0].what, "Do 1.5 mm here. Then something else.");
    next(b);
    assert_non_null(strstr(b->plan.next, "C1-C2: Do 1.5 mm here."));
    assert_null(strstr(b->plan.next, "something else"));
}

static void the_longest_line_fits(void **state)
{
    bench *b = *state;
    memset(b->plan.work[0].what, 'x', sizeof b->plan.work[0].what - 1);
    assert_true(strlen(next(b)) < sizeof b->plan.next);
}

static void chips_alone_are_filled(void **state)
{
    bench *b = *state;
    b->plan.work[0] = b->plan.work[2];
    b->plan.work_count = 1;
    keep_edges(b, 0);
    begins(next(b), "Sand nothing. ");
    assert_non_null(strstr(b->plan.next, " Fill C1 west at 118 mm"));
}

static void for_any_layout_bases_come_first(void **state)
{
    bench *b = *state;
    sw_plan_free(&b->plan);
    plan_fixture_any(&b->inspection, &b->plan);
    begins(next(b), sw_order_begin);
    const char *bevel = strstr(b->plan.next, "bevel A2 north"), *sand = strstr(b->plan.next, "True up after that");
    assert_true(bevel && sand && bevel < sand);
    keep_edges(b, 2); /* no bevels */
    begins(next(b), "True up B2 east first, by its strip");
    keep_edges(b, 0);
    begins(next(b), "Sand nothing: ");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(within_asks_for_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_pushing_closes_is_pushed, set_up, tear_down),
        cmocka_unit_test_setup_teardown(no_promise_is_no_praise, set_up, tear_down),
        cmocka_unit_test_setup_teardown(work_begins_with_pushing_then_the_first_line, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_longest_line_fits, set_up, tear_down),
        cmocka_unit_test_setup_teardown(chips_alone_are_filled, set_up, tear_down),
        cmocka_unit_test_setup_teardown(for_any_layout_bases_come_first, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
