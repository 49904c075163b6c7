/* plan.json: the fixed shape read with jansson, the round trip through sw_plan_read, and what it refuses. */
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
#include "support/plan_fixture.h"

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    assert_non_null(text);
    return text;
}

static void near(const json_t *object, const char *key, double expected, double unit)
{
    const json_t *value = json_object_get(object, key);
    if (!isfinite(expected)) {
        assert_true(json_is_null(value));
        return;
    }
    assert_true(json_is_real(value));
    if (fabs(json_real_value(value) - expected) > unit / 2 + 1e-12)
        fail_msg("%s is %.6f, not %.6f", key, json_real_value(value), expected);
}

static void the_fixed_keys_are_there(void **state)
{
    plan_bench *made = *state;
    const json_t *root = made->root, *edges = json_object_get(root, "edges"), *seams = json_object_get(root, "seams");
    assert_string_equal(text_of(root, "format"), "seamwright-plan");
    assert_int_equal(json_integer_value(json_object_get(root, "format_version")), 1);
    assert_string_equal(text_of(root, "for"), "layout");
    near(root, "tolerance_mm", 0.5, 1e-4);
    near(root, "common_tile_mm", NAN, 0);
    near(root, "removed_total_mm2", made->plan.removed_total_mm2, 0.01);
    assert_int_equal(json_array_size(edges), made->plan.edge_count);
    for (size_t i = 0; i < made->plan.edge_count; i++) {
        const sw_edge_plan *edge = &made->plan.edges[i];
        const json_t *object = json_array_get(edges, i), *places = json_object_get(object, "true_up");
        near(object, "bevel_mm", edge->bevel_mm, 1e-4);
        near(object, "bevel_deg", edge->bevel_deg, 1e-4);
        assert_string_equal(text_of(object, "why"), edge->why);
        assert_true(json_is_array(places));
        assert_int_equal(json_array_size(places), edge->true_up_count);
        for (size_t k = 0; k < edge->true_up_count; k++) {
            near(json_array_get(places, k), "at_mm", edge->true_up[k].at_mm, 1e-4);
            near(json_array_get(places, k), "remove_mm", edge->true_up[k].remove_mm, 1e-4);
        }
    }
    assert_string_equal(text_of(json_array_get(edges, 0), "edge"), "B2 east");
    assert_int_equal(json_array_size(seams), made->plan.seam_count);
    for (size_t i = 0; i < made->plan.seam_count; i++) {
        const sw_seam_plan *seam = &made->plan.seams[i];
        const json_t *object = json_array_get(seams, i);
        assert_string_equal(text_of(object, "name"), seam->name);
        near(object, "max_now_mm", seam->max_now_mm, 1e-4);
        near(object, "max_pushed_mm", seam->max_pushed_mm, 1e-4);
        near(object, "max_after_mm", seam->max_after_mm, 1e-4);
        near(object, "standoff_mm", seam->standoff_mm, 1e-4);
    }
    const json_t *forecasts = json_object_get(root, "forecast");
    assert_int_equal(json_array_size(forecasts), made->plan.seam_count);
    for (size_t i = 0; i < made->plan.seam_count; i++) {
        const sw_seam_plan *seam = &made->plan.seams[i];
        const json_t *object = json_array_get(forecasts, i);
        assert_string_equal(text_of(object, "name"), seam->name);
        assert_string_equal(text_of(object, "verdict"), sw_verdict_name(seam->forecast));
        near(object, "max_mm", seam->forecast_mm, 1e-4);
        near(object, "u95_mm", seam->forecast_u95_mm, 1e-4);
        near(object, "best_mm", seam->best_mm, 1e-4);
    }
    const json_t *cannot = json_object_get(root, "cannot");
    assert_int_equal(json_array_size(cannot), 2);
    assert_string_equal(json_string_value(json_array_get(cannot, 0)), made->plan.cannot.list[0].text);
}

static void work_and_limits_are_there(void **state)
{
    plan_bench *made = *state;
    const json_t *work = json_object_get(made->root, "work"), *limits = json_object_get(made->root, "by_limit");
    assert_int_equal(json_array_size(work), PLAN_FIXTURE_WORK);
    for (size_t i = 0; i < PLAN_FIXTURE_WORK; i++) {
        const sw_work_line *line = &made->plan.work[i];
        const json_t *object = json_array_get(work, i), *edges = json_object_get(object, "edges");
        assert_int_equal(json_integer_value(json_object_get(object, "rank")), i + 1);
        assert_string_equal(text_of(object, "cause"), line->cause);
        assert_string_equal(text_of(object, "do"), line->what);
        near(object, "worth_mm", line->worth_mm, 1e-4);
        near(object, "widest_from_mm", line->widest_from_mm, 1e-4);
        near(object, "widest_to_mm", line->widest_to_mm, 1e-4);
        assert_int_equal(json_array_size(edges), line->edge_count);
    }
    assert_string_equal(text_of(json_array_get(work, 0), "seam"), "C1-C2");
    assert_true(json_is_null(json_object_get(json_array_get(work, 2), "seam")));
    const json_t *edges = json_object_get(json_array_get(work, 1), "edges");
    assert_string_equal(json_string_value(json_array_get(edges, 0)), "B2 east");
    assert_string_equal(json_string_value(json_array_get(edges, 1)), "C3 west");
    assert_int_equal(json_array_size(limits), PLAN_FIXTURE_LIMITS);
    near(json_array_get(limits, 0), "limit_mm", 0.3, 1e-4);
    near(json_array_get(limits, 0), "removed_mm2", 1404.25, 0.01);
    assert_int_equal(json_integer_value(json_object_get(json_array_get(limits, 0), "bevels")), 5);
    assert_int_equal(json_integer_value(json_object_get(json_array_get(limits, 0), "true_ups")), 12);
}

static void what_more_is_known_is_there(void **state)
{
    plan_bench *made = *state;
    const json_t *edges = json_object_get(made->root, "edges"), *leans = json_object_get(made->root, "leans");
    assert_true(json_is_null(json_object_get(json_array_get(edges, 0), "lean")));
    assert_string_equal(text_of(json_array_get(edges, 4), "lean"), "known");
    assert_string_equal(text_of(json_array_get(edges, 5), "lean"), "open");
    assert_int_equal(json_array_size(leans), 4);
    assert_string_equal(text_of(json_array_get(leans, 2), "edge"), "A2 north");
    near(json_array_get(leans, 2), "most_mm", INFINITY, 0);
    near(json_array_get(leans, 0), "most_mm", 1.4, 1e-4);
    assert_string_equal(text_of(made->root, "settling_layout"), made->plan.settling_layout);
    assert_string_equal(text_of(made->root, "next"), made->plan.next);
    assert_string_equal(text_of(made->root, "made_from"), made->inspection.file);
    const json_t *warnings = json_object_get(made->root, "warnings"), *notes = json_object_get(made->root, "notes");
    assert_int_equal(json_array_size(warnings), 2);
    assert_string_equal(json_string_value(json_array_get(warnings, 1)), made->plan.notes.list[1].text);
    assert_int_equal(json_array_size(notes), 4); /* what cannot be mended behind them */
    assert_string_equal(text_of(json_array_get(notes, 1), "text"), made->plan.notes.list[1].text);
    assert_string_equal(text_of(json_array_get(notes, 1), "kind"), "seam unseen");
    assert_string_equal(text_of(json_array_get(notes, 2), "text"), made->plan.cannot.list[0].text);
    assert_string_equal(text_of(json_array_get(notes, 2), "kind"), "chip");
    assert_true(json_is_false(json_object_get(made->root, "fits")));
}

static void a_plan_for_any_layout_names_its_square(void **state)
{
    plan_bench *made = *state;
    sw_plan_free(&made->plan);
    plan_fixture_any(&made->inspection, &made->plan);
    plan_bench_write(made);
    assert_string_equal(text_of(made->root, "for"), "any");
    near(made->root, "common_tile_mm", 299.42, 1e-4);
    near(made->root, "common_tile_u95_mm", 0.11, 1e-4);
    assert_string_equal(text_of(made->root, "limiting_tile"), "C3");
    assert_true(json_is_true(json_object_get(made->root, "fits_every_way")));
    assert_true(json_is_true(json_object_get(made->root, "fits")));
}

static void fits_only_when_every_seam_is_known_to(void **state)
{
    plan_bench *made = *state;
    assert_int_equal(sw_plan_fits(&made->plan), 0); /* one seam was not seen */
    made->plan.seams[FIXTURE_BLIND].forecast = SW_WITHIN;
    assert_int_equal(sw_plan_fits(&made->plan), 1); /* chips stand in cannot, and do not count */
    made->plan.seams[FIXTURE_BLIND].forecast = SW_OVER;
    assert_int_equal(sw_plan_fits(&made->plan), 0);
    sw_plan_free(&made->plan);
    plan_fixture_any(&made->inspection, &made->plan);
    assert_int_equal(sw_plan_fits(&made->plan), 1);
    made->plan.fits_every_way = 0;
    assert_int_equal(sw_plan_fits(&made->plan), 0);
}

static void same_figure(double is, double was)
{
    if (isfinite(was) ? !(fabs(is - was) < 1e-4) : isfinite(is))
        fail_msg("%.6f came back as %.6f", was, is);
}

static void work_comes_back_as_it_went(void **state)
{
    plan_bench *made = *state;
    sw_plan read;
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_OK);
    assert_int_equal(read.work_count, PLAN_FIXTURE_WORK);
    for (size_t i = 0; i < read.work_count; i++) {
        const sw_work_line *was = &made->plan.work[i], *is = &read.work[i];
        assert_int_equal(is->seam, was->seam);
        assert_string_equal(is->cause, was->cause);
        assert_string_equal(is->what, was->what);
        same_figure(is->worth_mm, was->worth_mm);
        same_figure(is->widest_from_mm, was->widest_from_mm);
        same_figure(is->widest_to_mm, was->widest_to_mm);
        assert_int_equal(is->edge_count, was->edge_count);
        for (int k = 0; k < is->edge_count; k++)
            assert_int_equal(is->edges[k], was->edges[k]);
    }
    assert_int_equal(read.by_limit_count, PLAN_FIXTURE_LIMITS);
    for (size_t i = 0; i < read.by_limit_count; i++) {
        const sw_limit_cost *was = &made->plan.by_limit[i], *is = &read.by_limit[i];
        same_figure(is->limit_mm, was->limit_mm);
        same_figure(is->removed_mm2, was->removed_mm2);
        assert_true(is->bevels == was->bevels && is->true_ups == was->true_ups);
    }
    assert_int_equal(read.seam_count, made->plan.seam_count);
    for (size_t i = 0; i < read.seam_count; i++) {
        const sw_seam_plan *was = &made->plan.seams[i], *is = &read.seams[i];
        assert_string_equal(is->name, was->name);
        assert_int_equal(is->forecast, was->forecast);
        same_figure(is->forecast_mm, was->forecast_mm);
        same_figure(is->forecast_u95_mm, was->forecast_u95_mm);
        same_figure(is->best_mm, was->best_mm);
    }
    assert_int_equal(sw_plan_fits(&read), sw_plan_fits(&made->plan));
    sw_plan_free(&read);
}

/* A plan made before there was a work list. */
static void an_older_plan_is_read(void **state)
{
    plan_bench *made = *state;
    sw_plan read;
    json_object_del(made->root, "work");
    json_object_del(made->root, "by_limit");
    json_object_del(made->root, "forecast");
    assert_int_equal(json_dump_file(made->root, made->path, 0), 0);
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_OK);
    assert_int_equal(read.edge_count, made->plan.edge_count);
    assert_int_equal(read.work_count + read.by_limit_count + read.seam_count, 0);
    sw_plan_free(&read);
}

static void comes_back_as_it_went(void **state)
{
    plan_bench *made = *state;
    sw_plan read;
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_OK);
    assert_int_equal(read.purpose, SW_PLAN_LAYOUT);
    assert_true(read.tolerance_mm == 0.5);
    assert_int_equal(read.edge_count, made->plan.edge_count);
    for (size_t i = 0; i < read.edge_count; i++) {
        const sw_edge_plan *was = &made->plan.edges[i], *is = &read.edges[i];
        assert_int_equal(is->tile, was->tile);
        assert_int_equal(is->side, was->side);
        assert_int_equal(is->lean, was->lean);
        assert_string_equal(is->why, was->why);
        assert_int_equal(is->true_up_count, was->true_up_count);
        assert_true(fabs(is->bevel_mm - was->bevel_mm) < 1e-4 && fabs(is->bevel_deg - was->bevel_deg) < 1e-4);
        assert_true(fabs(is->deepest_mm - was->deepest_mm) < 1e-4 && fabs(is->removed_mm2 - was->removed_mm2) < 0.02);
        for (size_t k = 0; k < is->true_up_count; k++)
            assert_true(fabs(is->true_up[k].at_mm - was->true_up[k].at_mm) < 1e-4 &&
                        fabs(is->true_up[k].remove_mm - was->true_up[k].remove_mm) < 1e-4);
    }
    assert_int_equal(read.answer_count, 2);
    for (size_t i = 0; i < read.answer_count; i++) {
        const sw_lean_answer *was = &made->plan.answers[i], *is = &read.answers[i];
        assert_true(is->tile == was->tile && is->side == was->side && is->lean_mm == was->lean_mm);
    }
    assert_true(fabs(read.removed_total_mm2 - made->plan.removed_total_mm2) < 0.05);
    assert_null(read.settling_layout);
    assert_int_equal(read.limiting_tile, -1);
    sw_plan_free(&read);
}

static void nothing_to_do_is_read_too(void **state)
{
    plan_bench *made = *state;
    sw_plan read;
    sw_plan_free(&made->plan);
    plan_fixture_nothing(&made->inspection, &made->plan);
    plan_bench_write(made);
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_OK);
    assert_int_equal(read.edge_count, 0);
    assert_int_equal(read.answer_count, 0);
    sw_plan_free(&read);
    json_object_del(made->root, "answers"); /* a plan made before there were answers */
    assert_int_equal(json_dump_file(made->root, made->path, 0), 0);
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_OK);
    assert_int_equal(read.answer_count, 0);
    sw_plan_free(&read);
}

/* Writes the plan with one value replaced and expects a refusal of one sentence that says `words`. */
static void refused(plan_bench *made, const char *pointer, json_t *value, const char *words)
{
    json_t *at = made->root;
    char path[128], *part, *rest = path;
    sw_plan read;
    snprintf(path, sizeof path, "%s", pointer);
    while ((part = strsep(&rest, "/")) && rest)
        at = *part >= '0' && *part <= '9' ? json_array_get(at, (size_t)atoi(part)) : json_object_get(at, part);
    assert_non_null(at);
    assert_int_equal(value ? json_object_set_new(at, part, value) : json_object_del(at, part), 0);
    assert_int_equal(json_dump_file(made->root, made->path, 0), 0);
    made->err.text[0] = 0;
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_BAD_INPUT);
    if (!strstr(made->err.text, words) || strncmp(made->err.text, made->path, strlen(made->path)) != 0 ||
        strchr(made->err.text, '\n'))
        fail_msg("%s: '%s' does not say '%s'", pointer, made->err.text, words);
    assert_null(read.edges);
    assert_int_equal(read.edge_count, 0);
    plan_bench_write(made);
}

static void damaged_plans_are_refused(void **state)
{
    plan_bench *made = *state;
    refused(made, "format", json_string("seamwright-inspection"), "is no plan");
    refused(made, "format", NULL, "is no plan");
    refused(made, "format_version", json_integer(2), "version");
    refused(made, "for", json_string("both"), "\"for\"");
    refused(made, "tolerance_mm", json_real(0), "\"tolerance_mm\"");
    refused(made, "tolerance_mm", json_string("0.5"), "\"tolerance_mm\"");
    refused(made, "edges", NULL, "list of edges");
    refused(made, "edges", json_object(), "list of edges");
    refused(made, "edges/0/edge", json_string("D2 east"), "edge 1 (D2 east): the inspection has no such edge");
    refused(made, "edges/0/edge", json_string("B2 up"), "no such edge");
    refused(made, "edges/0/edge", json_string("B2"), "no such edge");
    refused(made, "edges/0/edge", json_string("B2\neast"), "edge 1 (B2?east): the inspection has no such edge");
    refused(made, "edges/0/edge", json_integer(4), "edge 1: it has no name");
    refused(made, "edges/1/edge", json_string("B2 east"), "edge 2 (B2 east): it comes twice");
    refused(made, "edges/0/true_up", NULL, "no list of places");
    refused(made, "edges/0/true_up", json_string("all"), "no list of places");
    refused(made, "edges/0/true_up/3/at_mm", json_real(50), "must grow");
    refused(made, "edges/0/true_up/12/at_mm", json_real(340), "no place along it");
    refused(made, "edges/0/true_up/0/at_mm", json_real(-1), "no place along it");
    refused(made, "edges/0/true_up/0/remove_mm", json_real(-0.01), "must be 0 or more");
    refused(made, "edges/0/true_up/0/remove_mm", json_null(), "must be 0 or more");
    refused(made, "edges/0/bevel_mm", json_real(-1), "\"bevel_mm\"");
    refused(made, "edges/0/bevel_deg", json_real(90), "\"bevel_deg\"");
    refused(made, "edges/0/why", NULL, "no reason");
    refused(made, "work", json_string("none"), "\"work\"");
    refused(made, "work/0/rank", json_integer(2), "line 1: \"rank\" is not its place");
    refused(made, "work/0/seam", json_string("C1-C3"), "\"seam\" is no seam");
    refused(made, "work/0/seam", NULL, "\"seam\" is missing");
    refused(made, "work/0/do", NULL, "\"do\" is missing");
    refused(made, "work/1/worth_mm", json_string("much"), "\"worth_mm\"");
    refused(made, "work/1/edges", json_pack("[s]", "A3 north"), "an edge that the plan has not");
    refused(made, "work/1/edges", json_pack("[i]", 0), "an edge that the plan has not");
    refused(made, "work/1/edges", json_pack("[sss]", "B2 east", "C3 west", "A2 north"), "at most two edges");
    refused(made, "by_limit/0/limit_mm", json_real(0), "\"limit_mm\"");
    refused(made, "by_limit/0/bevels", json_integer(-1), "\"bevels\"");
    refused(made, "by_limit/0/removed_mm2", json_real(-1), "must be 0 or more");
    refused(made, "forecast", json_pack("[{}]"), "does not name every seam once");
    refused(made, "forecast/1/name", json_string("A1-B1"), "no such seam there");
    refused(made, "forecast/0/verdict", json_string("fine"), "\"verdict\"");
    refused(made, "forecast/0/max_mm", NULL, "\"max_mm\" is missing");
    refused(made, "answers", json_string("none"), "\"answers\"");
    refused(made, "answers/0/edge", json_string("B9 west"), "no edge of this table");
    refused(made, "answers/1/edge", json_string("B1 west"), "it comes twice");
    refused(made, "answers/1/edge", NULL, "\"edge\"");
    refused(made, "answers/1/lean_mm", NULL, "\"lean_mm\"");
    refused(made, "answers/1/lean_mm", json_real(-0.1), "must be from 0 to 20");
    refused(made, "answers/1/lean_mm", json_real(20.1), "must be from 0 to 20");
}

static void write_text(const plan_bench *made, const char *text)
{
    FILE *file = fopen(made->path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static void what_is_no_json_is_refused(void **state)
{
    static const char *const texts[] = {
        "", "{", "no plan", "[1]", "{\"format\": \"seamwright-plan\", \"format\": 1}", "{\"tolerance_mm\": 1e999}"};
    plan_bench *made = *state;
    sw_plan read;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        write_text(made, texts[i]);
        assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_BAD_INPUT);
        assert_null(strchr(made->err.text, '\n'));
    }
    assert_int_equal(sw_plan_read(made->folder, &made->inspection, &read, &made->err), SW_CANNOT_READ);
    snprintf(made->path, sizeof made->path, "%s/none.json", made->folder);
    assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_CANNOT_READ);
    assert_non_null(strstr(made->err.text, "none.json"));
}

/* Every cut of the file is refused, and nothing is lost or read past its end (sanitizers). */
static void a_plan_cut_short_is_refused(void **state)
{
    plan_bench *made = *state;
    size_t length;
    sw_plan read;
    char *text = fixture_read(made->folder, "plan.json", &length);
    for (size_t cut = length - 2; cut > 40; cut -= cut / 9) {
        text[cut] = 0;
        write_text(made, text);
        assert_int_equal(sw_plan_read(made->path, &made->inspection, &read, &made->err), SW_BAD_INPUT);
    }
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_fixed_keys_are_there, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(work_and_limits_are_there, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(work_comes_back_as_it_went, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(an_older_plan_is_read, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(what_more_is_known_is_there, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(a_plan_for_any_layout_names_its_square, plan_bench_set_up,
                                        plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(fits_only_when_every_seam_is_known_to, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(comes_back_as_it_went, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(nothing_to_do_is_read_too, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(damaged_plans_are_refused, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(what_is_no_json_is_refused, plan_bench_set_up, plan_bench_tear_down),
        cmocka_unit_test_setup_teardown(a_plan_cut_short_is_refused, plan_bench_set_up, plan_bench_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
