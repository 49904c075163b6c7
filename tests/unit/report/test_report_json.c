/* inspection.json read back with jansson and held against the struct it came from. */
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

#include "support/fixture.h"

typedef struct made {
    sw_inspection inspection;
    char folder[64];
    json_t *root;
} made;

static json_t *write_and_read(const sw_inspection *inspection, const char *folder)
{
    char path[128];
    sw_error err = {""};
    json_error_t wrong;
    snprintf(path, sizeof path, "%s/inspection.json", folder);
    assert_int_equal(sw_report_json(inspection, path, &err), SW_OK);
    json_t *root = json_load_file(path, JSON_REJECT_DUPLICATES, &wrong);
    if (!root)
        fail_msg("%s:%d: %s", path, wrong.line, wrong.text);
    return root;
}

static int set_up(void **state)
{
    made *all = calloc(1, sizeof *all);
    fixture_inspection(&all->inspection);
    fixture_folder(all->folder);
    all->root = write_and_read(&all->inspection, all->folder);
    *state = all;
    return 0;
}

static int tear_down(void **state)
{
    made *all = *state;
    json_decref(all->root);
    fixture_remove(all->folder);
    sw_inspection_free(&all->inspection);
    free(all);
    return 0;
}

/* A figure in the file against the figure in memory: rounded to `unit`, null for NaN. */
static void same(const json_t *value, double expected, double unit)
{
    if (isnan(expected)) {
        assert_true(json_is_null(value));
        return;
    }
    assert_true(json_is_number(value));
    if (!(fabs(json_number_value(value) - expected) <= 0.5001 * unit))
        fail_msg("%.12g in the file, %.12g in memory", json_number_value(value), expected);
}

static void is_text(const json_t *object, const char *key, const char *expected)
{
    const char *text = json_string_value(json_object_get(object, key));
    assert_non_null(text);
    assert_string_equal(text, expected);
}

static void head_is_as_agreed(void **state)
{
    const made *all = *state;
    json_t *photo = json_object_get(all->root, "photo"), *scale = json_object_get(all->root, "scale"),
           *table = json_object_get(all->root, "table");
    is_text(all->root, "format", "seamwright-inspection");
    assert_int_equal(json_integer_value(json_object_get(all->root, "format_version")), 1);
    is_text(photo, "file", all->inspection.file);
    is_text(photo, "taken", all->inspection.taken);
    is_text(photo, "camera", all->inspection.camera);
    assert_int_equal(json_integer_value(json_object_get(photo, "width_px")), all->inspection.width_px);
    assert_int_equal(json_integer_value(json_object_get(photo, "height_px")), all->inspection.height_px);
    is_text(scale, "reference", "100/60");
    is_text(scale, "lens", "profile");
    assert_int_equal(json_integer_value(json_object_get(scale, "squares")), 4);
    same(json_object_get(scale, "px_per_mm"), all->inspection.scale.px_per_mm, 1e-4);
    same(json_object_get(scale, "residual_px"), all->inspection.scale.residual_px, 1e-4);
    same(json_object_get(scale, "edge_spread_px"), all->inspection.scale.edge_spread_px, 1e-4);
    assert_int_equal(json_integer_value(json_object_get(table, "columns")), 3);
    assert_int_equal(json_integer_value(json_object_get(table, "rows")), 3);
    same(json_object_get(table, "tile_mm"), 300, 1e-4);
    same(json_object_get(table, "height_mm"), 45, 1e-4);
    same(json_object_get(all->root, "tolerance_mm"), 0.5, 1e-4);
    is_text(all->root, "verdict", "over");
    assert_string_equal(json_string_value(json_array_get(json_object_get(all->root, "warnings"), 0)),
                        all->inspection.notes.list[0].text);
    const json_t *note = json_array_get(json_object_get(all->root, "notes"), 0);
    is_text(note, "kind", "seam unseen");
    is_text(note, "text", all->inspection.notes.list[0].text);
    assert_string_equal(json_string_value(json_array_get(json_object_get(note, "places"), 0)), "B2-B3");
    assert_int_equal(json_array_size(json_object_get(note, "places")), 1);
    assert_int_equal(json_array_size(json_object_get(all->root, "notes")), 1);
}

static void check_stations(const json_t *from, const sw_seam *seam)
{
    const json_t *at = json_object_get(from, "at_mm"), *gap = json_object_get(from, "gap_mm"),
                 *u95 = json_object_get(from, "u95_mm"), *names = json_object_get(from, "state");
    assert_int_equal(json_array_size(at), seam->station_count);
    assert_int_equal(json_array_size(gap), seam->station_count);
    assert_int_equal(json_array_size(u95), seam->station_count);
    assert_int_equal(json_array_size(names), seam->station_count);
    for (size_t i = 0; i < seam->station_count; i++) {
        same(json_array_get(at, i), seam->stations[i].at_mm, 1e-4);
        same(json_array_get(gap, i), seam->stations[i].gap_mm, 1e-4);
        same(json_array_get(u95, i), seam->stations[i].u95_mm, 1e-4);
        assert_string_equal(json_string_value(json_array_get(names, i)),
                            sw_station_state_name(seam->stations[i].state));
    }
}

static void check_gap(const json_t *gap, const sw_seam *seam)
{
    same(json_object_get(gap, "mean"), seam->mean_mm, 1e-4);
    same(json_object_get(gap, "min"), seam->min_mm, 1e-4);
    same(json_object_get(gap, "max"), seam->max_mm, 1e-4);
    same(json_object_get(gap, "max_at_mm"), seam->max_at_mm, 1e-4);
    same(json_object_get(gap, "mean_u95"), seam->mean_u95_mm, 1e-4);
    same(json_object_get(gap, "max_u95"), seam->max_u95_mm, 1e-4);
}

static void every_seam_survives(void **state)
{
    const made *all = *state;
    const json_t *seams = json_object_get(all->root, "seams");
    assert_int_equal(json_array_size(seams), FIXTURE_SEAMS);
    for (size_t i = 0; i < FIXTURE_SEAMS; i++) {
        const sw_seam *seam = &all->inspection.seams[i];
        const json_t *from = json_array_get(seams, i);
        is_text(from, "name", seam->name);
        is_text(from, "verdict", sw_verdict_name(seam->verdict));
        same(json_object_get(from, "length_mm"), seam->length_mm, 1e-4);
        same(json_object_get(from, "taper_mm"), seam->taper_mm, 1e-4);
        same(json_object_get(from, "taper_u95_mm"), seam->taper_u95_mm, 1e-4);
        same(json_object_get(from, "corner_step_mm"), seam->corner_step_mm, 1e-4);
        check_gap(json_object_get(from, "gap_mm"), seam);
        check_stations(json_object_get(from, "stations"), seam);
        assert_int_equal(json_array_size(json_object_get(from, "chips")), seam->chip_count);
    }
    const json_t *edges = json_object_get(json_array_get(seams, 0), "edges");
    assert_string_equal(json_string_value(json_array_get(edges, 0)), "A1 east");
    assert_string_equal(json_string_value(json_array_get(edges, 1)), "B1 west");
    edges = json_object_get(json_array_get(seams, 2), "edges");
    assert_string_equal(json_string_value(json_array_get(edges, 0)), "A1 south");
    assert_string_equal(json_string_value(json_array_get(edges, 1)), "A2 north");
}

static void what_was_not_seen_is_null(void **state)
{
    const made *all = *state;
    const json_t *blind = json_array_get(json_object_get(all->root, "seams"), FIXTURE_BLIND);
    assert_true(json_is_null(json_object_get(json_object_get(blind, "gap_mm"), "max")));
    assert_true(json_is_null(json_array_get(json_object_get(json_object_get(blind, "stations"), "gap_mm"), 150)));
    is_text(blind, "verdict", "too close to call");
}

static void chips_name_their_edge(void **state)
{
    const made *all = *state;
    const sw_chip *chip = &all->inspection.seams[FIXTURE_CHIPPED].chips[0];
    const json_t *seam = json_array_get(json_object_get(all->root, "seams"), FIXTURE_CHIPPED);
    const json_t *from = json_array_get(json_object_get(seam, "chips"), 0);
    is_text(from, "edge", "C1 west");
    same(json_object_get(from, "at_mm"), chip->at_mm, 1e-4);
    same(json_object_get(from, "length_mm"), chip->length_mm, 1e-4);
    same(json_object_get(from, "depth_mm"), chip->depth_mm, 1e-4);
}

static void check_edge(const json_t *from, const sw_edge *edge)
{
    const json_t *at = json_object_get(from, "at_mm"), *proud = json_object_get(from, "proud_mm");
    same(json_object_get(from, "length_mm"), edge->length_mm, 1e-4);
    same(json_object_get(from, "length_u95_mm"), edge->length_u95_mm, 1e-4);
    same(json_object_get(from, "straightness_mm"), edge->straightness_mm, 1e-4);
    same(json_object_get(from, "straightness_u95_mm"), edge->straightness_u95_mm, 1e-4);
    same(json_object_get(from, "bow_mm"), edge->bow_mm, 1e-4);
    assert_int_equal(json_array_size(at), edge->point_count);
    assert_int_equal(json_array_size(proud), edge->point_count);
    for (size_t i = 0; i < edge->point_count; i++) {
        same(json_array_get(at, i), edge->points[i].at_mm, 1e-4);
        same(json_array_get(proud, i), edge->points[i].proud_mm, 1e-4);
    }
}

static void every_tile_survives(void **state)
{
    static const char *const sides[] = {"north", "east", "south", "west"}, *const corners[] = {"NW", "NE", "SE", "SW"};
    const made *all = *state;
    const json_t *tiles = json_object_get(all->root, "tiles");
    assert_int_equal(json_array_size(tiles), 9);
    for (size_t i = 0; i < 9; i++) {
        const sw_tile *tile = &all->inspection.tiles[i];
        const json_t *from = json_array_get(tiles, i);
        is_text(from, "name", tile->name);
        assert_true(json_is_null(json_object_get(from, "height_mm"))); /* not given */
        for (int k = 0; k < 4; k++) {
            const json_t *corner = json_object_get(json_object_get(from, "corners"), corners[k]);
            same(json_object_get(corner, "x_mm"), tile->corners[k].mm.x, 1e-4);
            same(json_object_get(corner, "y_mm"), tile->corners[k].mm.y, 1e-4);
            same(json_object_get(corner, "angle_deg"), tile->corners[k].angle_deg, 1e-4);
            same(json_object_get(corner, "u95_deg"), tile->corners[k].u95_deg, 1e-4);
            check_edge(json_object_get(json_object_get(from, "edges"), sides[k]), &tile->edges[k]);
        }
    }
}

static void every_advice_survives(void **state)
{
    const made *all = *state;
    const json_t *ranking = json_object_get(all->root, "ranking");
    assert_int_equal(json_array_size(ranking), all->inspection.advice_count);
    for (size_t i = 0; i < all->inspection.advice_count; i++) {
        const sw_advice *advice = &all->inspection.ranking[i];
        const json_t *from = json_array_get(ranking, i);
        assert_int_equal(json_integer_value(json_object_get(from, "rank")), advice->rank);
        is_text(from, "action", sw_action_name(advice->action));
        is_text(from, "seam", all->inspection.seams[advice->seam].name);
        is_text(from, "reason", advice->reason);
        same(json_object_get(from, "remove_mm"), advice->remove_mm, 1e-4);
        same(json_object_get(from, "from_mm"), advice->from_mm, 1e-4);
        same(json_object_get(from, "to_mm"), advice->to_mm, 1e-4);
        same(json_object_get(from, "worst_gap_mm"), advice->worst_gap_mm, 1e-4);
        same(json_object_get(from, "u95_mm"), advice->u95_mm, 1e-4);
    }
    is_text(json_array_get(ranking, 0), "edge", "B2 east");
}

/* Each component's u is rounded to 1e-6 mm, u95 to 1e-4: together less than this. */
static void every_budget_survives_and_adds_up(void **state)
{
    const made *all = *state;
    const sw_inspection *ins = &all->inspection;
    const json_t *budgets = json_object_get(all->root, "budget");
    assert_int_equal(json_array_size(budgets), SW_BUDGET_FIGURES);
    for (size_t i = 0; i < json_array_size(budgets); i++) {
        const json_t *from = json_array_get(budgets, i), *components = json_object_get(from, "components");
        const sw_figure_budget *b = &ins->budgets[i];
        double squares = 0, shares = 0;
        is_text(from, "figure", sw_budget_figure_name((sw_budget_figure)i));
        is_text(from, "of", b->where);
        is_text(from, "unit", i == SW_BUDGET_ANGLE ? "degrees" : "mm");
        is_text(from, "next", b->next);
        same(json_object_get(from, "value"), b->value, 1e-4);
        same(json_object_get(from, "u95"), b->u95, 1e-4);
        same(json_object_get(from, "degrees_of_freedom"), isfinite(b->degrees_of_freedom) ? b->degrees_of_freedom : NAN,
             0.1);
        assert_true(b->line_count > 3);
        assert_int_equal(json_array_size(components), b->line_count);
        for (size_t k = 0; k < b->line_count; k++) {
            const json_t *c = json_array_get(components, k);
            is_text(c, "name", sw_part_name(b->lines[k].part));
            is_text(c, "kind", sw_part_kind_name(b->lines[k].kind));
            same(json_object_get(c, "u"), b->lines[k].u, 1e-6);
            same(json_object_get(c, "share"), b->lines[k].share, 1e-4);
            assert_int_equal(json_is_true(json_object_get(c, "included")), b->lines[k].included);
            squares += pow(json_number_value(json_object_get(c, "u")), 2);
            shares += json_number_value(json_object_get(c, "share"));
            if (!b->lines[k].included) {
                same(json_object_get(c, "left_out"), b->lines[k].left_out, 1e-6);
                is_text(c, "note", b->lines[k].note);
            }
        }
        same(json_object_get(from, "u95"), 2 * sqrt(squares), 1.1e-4);
        assert_true(fabs(shares - 1) < 1e-3);
    }
    is_text(json_array_get(budgets, 0), "of", "B2-C2, 294 mm from its north end");
}

static void odd_values_make_valid_json(void **state)
{
    made *all = *state;
    sw_inspection *odd = &all->inspection;
    snprintf(odd->file, sizeof odd->file, "tal\xff\"\\\n\xc3.jpg"); /* bytes that are no UTF-8, a quote, a line end */
    odd->taken[0] = 0;
    odd->table.height_mm = 0;
    odd->tiles[4].height_mm = 55.5;
    odd->scale.lens.source = SW_LENS_ESTIMATED;
    odd->scale.reference = (sw_reference){99.6, 99.8, 59.7, 59.9};
    odd->ranking[0].seam = -1;
    odd->ranking[0].tile = 99;
    odd->seams[0].taper_mm = INFINITY;
    json_t *root = write_and_read(odd, all->folder);
    is_text(json_object_get(root, "photo"), "file", "tal\xEF\xBF\xBD\"\\\n\xEF\xBF\xBD.jpg");
    assert_true(json_is_null(json_object_get(json_object_get(root, "photo"), "taken")));
    assert_true(json_is_null(json_object_get(json_object_get(root, "table"), "height_mm")));
    same(json_object_get(json_array_get(json_object_get(root, "tiles"), 4), "height_mm"), 55.5, 1e-4);
    assert_true(json_is_null(json_object_get(json_array_get(json_object_get(root, "tiles"), 3), "height_mm")));
    is_text(json_object_get(root, "scale"), "lens", "estimated");
    is_text(json_object_get(root, "scale"), "reference", "99.6x99.8/59.7x59.9");
    assert_true(json_is_null(json_object_get(json_array_get(json_object_get(root, "ranking"), 0), "seam")));
    is_text(json_array_get(json_object_get(root, "ranking"), 0), "edge", "");
    assert_true(json_is_null(json_object_get(json_array_get(json_object_get(root, "seams"), 0), "taper_mm")));
    json_decref(root);
}

static void plain_square_has_one_figure(void **state)
{
    made *all = *state;
    all->inspection.scale.reference = (sw_reference){100, 100, 0, 0};
    json_t *root = write_and_read(&all->inspection, all->folder);
    is_text(json_object_get(root, "scale"), "reference", "100");
    json_decref(root);
}

static void an_empty_inspection_makes_valid_json(void **state)
{
    const made *all = *state;
    sw_inspection nothing;
    memset(&nothing, 0, sizeof nothing);
    json_t *root = write_and_read(&nothing, all->folder);
    assert_true(json_is_array(json_object_get(root, "seams")));
    assert_int_equal(json_array_size(json_object_get(root, "seams")), 0);
    json_decref(root);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(head_is_as_agreed, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_seam_survives, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_was_not_seen_is_null, set_up, tear_down),
        cmocka_unit_test_setup_teardown(chips_name_their_edge, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_tile_survives, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_advice_survives, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_budget_survives_and_adds_up, set_up, tear_down),
        cmocka_unit_test_setup_teardown(odd_values_make_valid_json, set_up, tear_down),
        cmocka_unit_test_setup_teardown(plain_square_has_one_figure, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_empty_inspection_makes_valid_json, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
