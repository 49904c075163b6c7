/* json.c - recheck.json: what changed from one inspection to the next. */
#include "report/common/json.h"
#include "files/formats.h"

#include "report/common/words.h"
#include "seamwright/recheck.h"
#include "seamwright/seamwright.h"

enum { DECIMALS = 4, VERSION = 1 }; /* 0.1 um, as in inspection.json */

static json_t *mm(double value)
{
    return sw_json_number(value, DECIMALS);
}

static json_t *seam(const sw_seam_change *from, const sw_inspection *before, const sw_inspection *after, int *failed)
{
    char name[EDGE_NAME_ROOM];
    json_t *object = json_object(), *edges = json_array();
    for (int k = 0; k < 2; k++)
        sw_json_append(edges, sw_json_text(sw_edge_name(before, from->tile[k], from->side[k], name)), failed);
    sw_json_set(object, "name", sw_json_text(after->seams[from->seam].name), failed);
    sw_json_set(object, "name_before", sw_json_text_or_null(from->before < 0 ? "" : before->seams[from->before].name),
                failed);
    sw_json_set(object, "edges", edges, failed);
    sw_json_set(object, "before_mm", mm(from->before_mm), failed);
    sw_json_set(object, "before_u95_mm", mm(from->before_u95_mm), failed);
    sw_json_set(object, "after_mm", mm(from->after_mm), failed);
    sw_json_set(object, "after_u95_mm", mm(from->after_u95_mm), failed);
    sw_json_set(object, "change_mm", mm(from->change_mm), failed);
    sw_json_set(object, "change_u95_mm", mm(from->change_u95_mm), failed);
    sw_json_set(object, "verdict", sw_json_text(sw_verdict_name(from->verdict)), failed);
    return object;
}

static json_t *edge(const sw_edge_change *from, const sw_inspection *before, int *failed)
{
    char name[EDGE_NAME_ROOM];
    json_t *object = json_object();
    sw_json_set(object, "edge", sw_json_text(sw_edge_name(before, from->tile, from->side, name)), failed);
    sw_json_set(object, "planned_mm", from->planned ? mm(from->planned_mm) : json_null(), failed);
    sw_json_set(object, "planned_at_mm", mm(from->planned_at_mm), failed);
    sw_json_set(object, "taken_mm", mm(from->taken_mm), failed);
    sw_json_set(object, "taken_u95_mm", mm(from->taken_u95_mm), failed);
    sw_json_set(object, "taken_at_mm", mm(from->taken_at_mm), failed);
    sw_json_set(object, "with_opposite_mm", mm(from->together_mm), failed);
    sw_json_set(object, "with_opposite_u95_mm", mm(from->together_u95_mm), failed);
    sw_json_set(object, "with_opposite_planned_mm", mm(from->together_planned_mm), failed);
    sw_json_set(object, "most_over_mm", mm(from->most_over_mm), failed);
    sw_json_set(object, "most_over_u95_mm", mm(from->most_over_u95_mm), failed);
    sw_json_set(object, "most_over_at_mm", mm(from->most_over_at_mm), failed);
    sw_json_set(object, "too_much", json_boolean(from->too_much), failed);
    sw_json_set(object, "not_enough", json_boolean(from->not_enough), failed);
    return object;
}

static json_t *layout(const sw_recheck *from, const sw_inspection *before, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < from->place_count; i++) {
        json_t *object = json_object();
        sw_json_set(object, "tile", sw_json_text(before->tiles[from->places[i].tile].name), failed);
        sw_json_set(object, "quarter_turns", json_integer(from->places[i].turns), failed);
        sw_json_append(array, object, failed);
    }
    return array;
}

sw_status sw_report_recheck_json(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after,
                                 const char *path, sw_error *err)
{
    int failed = 0;
    json_t *root = json_object(), *seams = json_array(), *edges = json_array(), *warnings = json_array();
    for (size_t i = 0; i < recheck->seam_count; i++)
        sw_json_append(seams, seam(&recheck->seams[i], before, after, &failed), &failed);
    for (size_t i = 0; i < recheck->edge_count; i++)
        sw_json_append(edges, edge(&recheck->edges[i], before, &failed), &failed);
    for (size_t i = 0; i < recheck->warning_count; i++)
        sw_json_append(warnings, sw_json_text(recheck->warnings[i]), &failed);
    sw_json_set(root, "format", sw_json_text(SW_FORMAT_RECHECK), &failed);
    sw_json_set(root, "format_version", json_integer(VERSION), &failed);
    sw_json_set(root, "program", sw_json_text("seamwright " SW_VERSION), &failed);
    sw_json_set(root, "before", sw_json_text(before->file), &failed);
    sw_json_set(root, "after", sw_json_text(after->file), &failed);
    sw_json_set(root, "tolerance_mm", mm(recheck->tolerance_mm), &failed);
    sw_json_set(root, "plan", json_boolean(recheck->planned), &failed);
    sw_json_set(root, "over", json_integer(recheck->over), &failed);
    sw_json_set(root, "too_close", json_integer(recheck->too_close), &failed);
    sw_json_set(root, "within", json_integer(recheck->within), &failed);
    sw_json_set(root, "stop", json_boolean(recheck->stop), &failed);
    sw_json_set(root, "next", sw_json_text(recheck->next), &failed);
    sw_json_set(root, "layout", layout(recheck, before, &failed), &failed);
    sw_json_set(root, "seams", seams, &failed);
    sw_json_set(root, "edges", edges, &failed);
    sw_json_set(root, "warnings", warnings, &failed);
    sw_status status = failed ? sw_fail(err, SW_NO_MEMORY,
                                        "%s: not enough memory to write it; close other programs and try again", path)
                              : sw_json_save(root, path, err);
    json_decref(root);
    return status;
}
