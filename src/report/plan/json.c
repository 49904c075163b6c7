/* json.c - plan.json: the plan in the shape scripts and recheck rely on. */
#include "report/common/json.h"
#include "files/formats.h"
#include "report/common/words.h"
#include "report/plan/parts.h"
#include "seamwright/seamwright.h"

/* Decimals: 0.1 um, 0.0001 degree and 0.01 mm2 lie far below what one photo can tell. */
enum { MM_DECIMALS = 4, DEGREE_DECIMALS = 4, MM2_DECIMALS = 2 };

static json_t *mm(double value)
{
    return sw_json_number(value, MM_DECIMALS);
}

static json_t *text_or_null(const char *text)
{
    return text ? sw_json_text_or_null(text) : json_null();
}

static json_t *true_up(const sw_edge_plan *edge, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; edge->true_up && i < edge->true_up_count; i++) {
        json_t *object = json_object();
        sw_json_set(object, "at_mm", mm(edge->true_up[i].at_mm), failed);
        sw_json_set(object, "remove_mm", mm(edge->true_up[i].remove_mm), failed);
        sw_json_append(array, object, failed);
    }
    return array;
}

static json_t *edges(const sw_plan *plan, const sw_inspection *first, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < plan->edge_count; i++) {
        const sw_edge_plan *edge = &plan->edges[i];
        char name[EDGE_NAME_ROOM];
        json_t *object = json_object();
        sw_json_set(object, "edge", sw_json_text(sw_edge_name(first, edge->tile, edge->side, name)), failed);
        sw_json_set(object, "length_mm", mm(edge->length_mm), failed);
        sw_json_set(object, "true_up", true_up(edge, failed), failed);
        sw_json_set(object, "deepest_mm", mm(edge->deepest_mm), failed);
        sw_json_set(object, "removed_mm2", sw_json_number(edge->removed_mm2, MM2_DECIMALS), failed);
        sw_json_set(object, "bevel_mm", mm(edge->bevel_mm), failed);
        sw_json_set(object, "bevel_deg", sw_json_number(edge->bevel_deg, DEGREE_DECIMALS), failed);
        sw_json_set(object, "lean", text_or_null(sw_lean_name(edge->lean)), failed);
        sw_json_set(object, "why", sw_json_text(edge->why), failed);
        sw_json_append(array, object, failed);
    }
    return array;
}

static json_t *touches(const sw_seam_plan *seam, int *failed)
{
    json_t *array = json_array();
    for (int i = 0; i < seam->touch_count && i < 4; i++)
        sw_json_append(array, mm(seam->touch_mm[i]), failed);
    return array;
}

static json_t *seams(const sw_plan *plan, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < plan->seam_count; i++) {
        const sw_seam_plan *seam = &plan->seams[i];
        json_t *object = json_object();
        sw_json_set(object, "name", sw_json_text(seam->name), failed);
        sw_json_set(object, "max_now_mm", mm(seam->max_now_mm), failed);
        sw_json_set(object, "max_now_u95_mm", mm(seam->max_now_u95_mm), failed);
        sw_json_set(object, "max_pushed_mm", mm(seam->max_pushed_mm), failed);
        sw_json_set(object, "max_after_mm", mm(seam->max_after_mm), failed);
        sw_json_set(object, "standoff_mm", mm(seam->standoff_mm), failed);
        sw_json_set(object, "touches_mm", touches(seam, failed), failed);
        sw_json_append(array, object, failed);
    }
    return array;
}

static json_t *leans(const sw_plan *plan, const sw_inspection *first, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < plan->lean_count; i++) {
        const sw_lean *lean = &plan->leans[i];
        char name[EDGE_NAME_ROOM];
        json_t *object = json_object();
        sw_json_set(object, "edge", sw_json_text(sw_edge_name(first, lean->tile, lean->side, name)), failed);
        sw_json_set(object, "lean_mm", mm(lean->lean_mm), failed);
        sw_json_set(object, "least_mm", mm(lean->least_mm), failed);
        sw_json_set(object, "most_mm", mm(lean->most_mm), failed); /* null: nothing limits it */
        sw_json_append(array, object, failed);
    }
    return array;
}

static json_t *sentences(char (*from)[320], size_t count, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        sw_json_append(array, sw_json_text(from[i]), failed);
    return array;
}

static void put_common(const sw_plan *plan, const sw_inspection *first, json_t *root, int *failed)
{
    int any = plan->purpose == SW_PLAN_ANY, tile = plan->limiting_tile;
    int named = any && tile >= 0 && (size_t)tile < first->tile_count;
    sw_json_set(root, "common_tile_mm", any ? mm(plan->common_tile_mm) : json_null(), failed);
    sw_json_set(root, "common_tile_u95_mm", any ? mm(plan->common_tile_u95_mm) : json_null(), failed);
    sw_json_set(root, "limiting_tile", named ? sw_json_text(first->tiles[tile].name) : json_null(), failed);
    sw_json_set(root, "fits_every_way", any ? json_boolean(plan->fits_every_way) : json_null(), failed);
}

sw_status sw_report_plan_json(const sw_plan *plan, const sw_inspection *first, const char *path, sw_error *err)
{
    int failed = 0;
    json_t *root = json_object();
    sw_json_set(root, "format", sw_json_text(SW_FORMAT_PLAN), &failed);
    sw_json_set(root, "format_version", json_integer(SW_FORMAT_VERSION), &failed);
    sw_json_set(root, "program", sw_json_text("seamwright " SW_VERSION), &failed);
    sw_json_set(root, "made_from", sw_json_text(first->file), &failed);
    sw_json_set(root, "for", sw_json_text(sw_plan_for_name(plan->purpose)), &failed);
    sw_json_set(root, "tolerance_mm", mm(plan->tolerance_mm), &failed);
    sw_json_set(root, "deepest_cut_mm", mm(plan->deepest_cut_mm), &failed);
    sw_json_set(root, "height_mm", mm(plan->height_mm), &failed);
    sw_json_set(root, "fits", json_boolean(sw_plan_fits(plan)), &failed);
    sw_json_set(root, "next", sw_json_text(plan->next), &failed);
    sw_json_set(root, "edges", edges(plan, first, &failed), &failed);
    sw_json_set(root, "seams", seams(plan, &failed), &failed);
    sw_json_set(root, "leans", leans(plan, first, &failed), &failed);
    put_common(plan, first, root, &failed);
    sw_json_set(root, "removed_total_mm2", sw_json_number(plan->removed_total_mm2, MM2_DECIMALS), &failed);
    sw_json_set(root, "cannot", sentences(plan->cannot, plan->cannot_count, &failed), &failed);
    sw_json_set(root, "notes", sentences(plan->notes, plan->note_count, &failed), &failed);
    sw_json_set(root, "settling_layout", text_or_null(plan->settling_layout), &failed);
    sw_status status = failed ? sw_fail(err, SW_NO_MEMORY,
                                        "%s: not enough memory to write it; close other programs and try again", path)
                              : sw_json_save(root, path, err);
    json_decref(root);
    return status;
}
