/* read.c - plan.json read back, strictly: a plan misread is material taken off the wrong edge. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "files/formats.h"
#include "report/common/read.h"
#include "report/common/sheet.h"
#include "report/common/words.h"
#include "report/plan/parts.h"

/* As sw_plan_options.tolerance_mm promises. */
static const double TOLERANCE_LEAST_MM = 0.05, TOLERANCE_MOST_MM = 10;
/* Places may lie beyond the edge's end by what rounding and a second look at the same tile change, mm. */
static const double BEYOND_END_MM = 2;
/* Nothing in a plan is as long as this, mm: ten times the largest tile. */
static const double LARGEST_MM = 20000;

typedef struct reading {
    const char *path;
    const sw_inspection *first;
    sw_plan *plan;
    sw_error *err;
} reading;

static sw_status refuse(const reading *in, const char *what)
{
    return sw_fail(in->err, SW_BAD_INPUT, "%.300s: %.160s; make the plan again", in->path, what);
}

/* "edge 3 (A1 east): what" */
static sw_status refuse_edge(const reading *in, size_t index, const char *name, const char *what)
{
    char text[160];
    snprintf(text, sizeof text, "edge %zu%s%.20s%s: %s", index + 1, name[0] ? " (" : "", name, name[0] ? ")" : "",
             what);
    return refuse(in, text);
}

/* A number from 0 to LARGEST_MM. */
static int length_of(const json_t *object, const char *key, double *value)
{
    const json_t *member = json_object_get(object, key);
    *value = json_number_value(member);
    return json_is_number(member) && isfinite(*value) && *value >= 0 && *value <= LARGEST_MM;
}

static int find_edge(const sw_inspection *first, const char *name, int *tile, sw_side *side)
{
    const char *blank = strrchr(name, ' ');
    for (size_t i = 0; blank && i < first->tile_count; i++) {
        size_t length = strlen(first->tiles[i].name);
        if ((size_t)(blank - name) != length || strncmp(name, first->tiles[i].name, length) != 0)
            continue;
        for (int k = 0; k < 4; k++)
            if (strcmp(blank + 1, sw_side_name((sw_side)k)) == 0) {
                *tile = (int)i;
                *side = (sw_side)k;
                return 1;
            }
    }
    return 0;
}

/* What is wrong with the places, NULL when nothing is; fills the edge's true_up, removed_mm2 and deepest_mm. */
static const char *take_true_up(const json_t *array, sw_edge_plan *edge)
{
    size_t count = json_array_size(array);
    if (!json_is_array(array) || count == 1)
        return "\"true_up\" is no list of places";
    edge->true_up = count ? calloc(count, sizeof *edge->true_up) : NULL;
    for (size_t i = 0; edge->true_up && i < count; i++) {
        sw_removal *at = &edge->true_up[i];
        const json_t *place = json_array_get(array, i);
        if (!length_of(place, "at_mm", &at->at_mm) || at->at_mm > edge->length_mm + BEYOND_END_MM)
            return "\"at_mm\" is no place along it";
        if (!length_of(place, "remove_mm", &at->remove_mm))
            return "\"remove_mm\" must be 0 or more";
        edge->deepest_mm = fmax(edge->deepest_mm, at->remove_mm);
        if (i == 0)
            continue;
        if (!(at->at_mm > at[-1].at_mm))
            return "\"at_mm\" must grow from place to place";
        edge->removed_mm2 += (at->remove_mm + at[-1].remove_mm) / 2 * (at->at_mm - at[-1].at_mm);
    }
    edge->true_up_count = edge->true_up ? count : 0;
    return NULL;
}

/* What is wrong with the bevel, NULL when nothing is. */
static const char *take_bevel(const json_t *from, sw_edge_plan *edge)
{
    if (!length_of(from, "bevel_mm", &edge->bevel_mm))
        return "\"bevel_mm\" must be 0 or more";
    if (!length_of(from, "bevel_deg", &edge->bevel_deg) || edge->bevel_deg >= 90)
        return "\"bevel_deg\" must be from 0 to 90";
    const json_t *member = json_object_get(from, "lean");
    const char *lean = json_string_value(member);
    if (edge->bevel_mm > 0)
        edge->lean = lean && strcmp(lean, sw_lean_name(SW_LEAN_KNOWN)) == 0 ? SW_LEAN_KNOWN : SW_LEAN_OPEN;
    return NULL;
}

static sw_status take_edge(const reading *in, const json_t *from, size_t index, char *met)
{
    sw_edge_plan *edge = &in->plan->edges[index];
    const char *name = json_string_value(json_object_get(from, "edge"));
    const char *why = json_string_value(json_object_get(from, "why"));
    if (!name)
        return refuse_edge(in, index, "", "it has no name");
    if (!find_edge(in->first, name, &edge->tile, &edge->side))
        return refuse_edge(in, index, name, "the inspection has no such edge");
    char *before = &met[4 * (size_t)edge->tile + (size_t)edge->side];
    if ((*before)++)
        return refuse_edge(in, index, name, "it comes twice");
    edge->length_mm = in->first->tiles[edge->tile].edges[edge->side].length_mm;
    if (!isfinite(edge->length_mm) && !length_of(from, "length_mm", &edge->length_mm))
        edge->length_mm = in->first->table.tile_mm; /* not measured: nominal */
    const char *wrong = take_true_up(json_object_get(from, "true_up"), edge);
    if (!wrong)
        wrong = take_bevel(from, edge);
    if (!wrong && !why)
        wrong = "it gives no reason (\"why\")";
    if (wrong)
        return refuse_edge(in, index, name, wrong);
    if (json_array_size(json_object_get(from, "true_up")) && !edge->true_up)
        return sw_fail(in->err, SW_NO_MEMORY, "%.300s: not enough memory to read it", in->path);
    sw_utf8_clean(why, edge->why, sizeof edge->why);
    in->plan->removed_total_mm2 += edge->removed_mm2;
    return SW_OK;
}

static sw_status take_edges(const reading *in, const json_t *array)
{
    size_t count = json_array_size(array);
    if (!json_is_array(array))
        return refuse(in, "it has no list of edges");
    if (count > 4 * in->first->tile_count)
        return refuse(in, "it has more edges than the inspection's tiles");
    char *met = calloc(4 * in->first->tile_count + 1, 1);
    in->plan->edges = calloc(count + 1, sizeof *in->plan->edges);
    sw_status status = SW_OK;
    if (!met || !in->plan->edges)
        status = sw_fail(in->err, SW_NO_MEMORY, "%.300s: not enough memory to read it", in->path);
    for (size_t i = 0; !status && i < count; i++) {
        in->plan->edge_count = i + 1;
        status = take_edge(in, json_array_get(array, i), i, met);
    }
    free(met);
    return status;
}

static sw_status take_plan(const reading *in, const json_t *root)
{
    const char *format = json_string_value(json_object_get(root, "format"));
    const json_t *version = json_object_get(root, "format_version");
    const char *purpose = json_string_value(json_object_get(root, "for"));
    sw_plan *plan = in->plan;
    if (!format || strcmp(format, SW_FORMAT_PLAN) != 0)
        return sw_fail(in->err, SW_BAD_INPUT, "%.300s: is no plan of seamwright; give the plan.json that 'plan' wrote",
                       in->path);
    if (!json_is_integer(version) || json_integer_value(version) != SW_FORMAT_VERSION)
        return refuse(in, "its format version is not 1");
    if (!purpose || (strcmp(purpose, "layout") != 0 && strcmp(purpose, "any") != 0))
        return refuse(in, "\"for\" is neither \"layout\" nor \"any\"");
    plan->purpose = strcmp(purpose, "any") == 0 ? SW_PLAN_ANY : SW_PLAN_LAYOUT;
    if (!length_of(root, "tolerance_mm", &plan->tolerance_mm) || plan->tolerance_mm < TOLERANCE_LEAST_MM ||
        plan->tolerance_mm > TOLERANCE_MOST_MM)
        return refuse(in, "\"tolerance_mm\" is not from 0.05 to 10");
    return take_edges(in, json_object_get(root, "edges"));
}

sw_status sw_plan_parse(const char *text, size_t length, const char *path, const sw_inspection *first, sw_plan *plan,
                        sw_error *err)
{
    reading in = {path, first, plan, err};
    json_error_t wrong;
    memset(plan, 0, sizeof *plan);
    plan->limiting_tile = -1;
    plan->common_tile_mm = plan->common_tile_u95_mm = NAN;
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &wrong);
    sw_status status =
        root ? take_plan(&in, root)
             : sw_fail(err, SW_BAD_INPUT, "%.300s: is damaged or no plan (line %d: %.100s); make the plan again", path,
                       wrong.line, wrong.text);
    json_decref(root);
    if (status)
        sw_plan_free(plan);
    return status;
}

sw_status sw_plan_read(const char *path, const sw_inspection *first, sw_plan *plan, sw_error *err)
{
    static const sw_read_kind kind = {"plan", "plan.json", "plan"};
    char *text;
    size_t length;
    memset(plan, 0, sizeof *plan);
    sw_status status = sw_read_file(path, &kind, &text, &length, err);
    if (!status)
        status = sw_plan_parse(text, length, path, first, plan, err);
    free(text);
    return status;
}
