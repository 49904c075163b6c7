/* json.c - inspection.json: everything measured, in the shape scripts rely on. */
#include "report/common/json.h"
#include "files/formats.h"
#include "report/inspection/json_parts.h"

#include <math.h>
#include <stddef.h>

#include "report/common/words.h"
#include "seamwright/report.h"
#include "seamwright/seamwright.h"

/* Decimals: 0.1 um, 0.0001 degree (0.5 um over 300 mm) and 0.0001 px lie far below what one photo can tell. */
enum { MM_DECIMALS = 4, DEGREE_DECIMALS = 4, PX_DECIMALS = 4, RADIAN_DECIMALS = 8, NAME_ROOM = 64 };

static json_t *mm(double value)
{
    return sw_json_number(value, MM_DECIMALS);
}

static json_t *point(sw_point at, int *failed)
{
    json_t *object = json_object();
    sw_json_set(object, "x_mm", mm(at.x), failed);
    sw_json_set(object, "y_mm", mm(at.y), failed);
    return object;
}

static json_t *photo(const sw_inspection *inspection, int *failed)
{
    json_t *object = json_object();
    sw_json_set(object, "file", sw_json_text(inspection->file), failed);
    sw_json_set(object, "width_px", json_integer(inspection->width_px), failed);
    sw_json_set(object, "height_px", json_integer(inspection->height_px), failed);
    sw_json_set(object, "taken", sw_json_text_or_null(inspection->taken), failed);
    sw_json_set(object, "camera", sw_json_text_or_null(inspection->camera), failed);
    return object;
}

static json_t *scale(const sw_scale *from, int *failed)
{
    char reference[NAME_ROOM];
    sw_reference_name(&from->reference, reference, sizeof reference);
    json_t *object = json_object();
    sw_json_set(object, "reference", sw_json_text(reference), failed);
    sw_json_set(object, "squares", json_integer(from->square_count), failed);
    sw_json_set(object, "px_per_mm", sw_json_number(from->px_per_mm, PX_DECIMALS), failed);
    sw_json_set(object, "lens", sw_json_text(sw_lens_source_name(from->lens.source)), failed);
    sw_json_set(object, "residual_px", sw_json_number(from->residual_px, PX_DECIMALS), failed);
    sw_json_set(object, "edge_spread_px", sw_json_number(from->edge_spread_px, PX_DECIMALS), failed);
    sw_json_set(object, "edge_spread_u_px", sw_json_number(from->edge_spread_u_px, PX_DECIMALS), failed);
    sw_json_set(object, "blur_px", sw_json_number(from->blur_px, PX_DECIMALS), failed);
    return object;
}

static json_t *table(const sw_table *from, int *failed)
{
    json_t *object = json_object();
    sw_json_set(object, "columns", json_integer(from->columns), failed);
    sw_json_set(object, "rows", json_integer(from->rows), failed);
    sw_json_set(object, "tile_mm", mm(from->tile_mm), failed);
    sw_json_set(object, "tile_given", json_boolean(from->tile_given), failed);
    sw_json_set(object, "height_mm", from->height_mm > 0 ? mm(from->height_mm) : json_null(), failed);
    return object;
}

/* The names of the states as values that thousands of stations share. */
typedef struct state_names {
    json_t *of[SW_STATION_UNSEEN + 1];
} state_names;

static state_names start_states(void)
{
    state_names names;
    for (int i = 0; i <= SW_STATION_UNSEEN; i++)
        names.of[i] = sw_json_text(sw_station_state_name((sw_station_state)i));
    return names;
}

static void append_state(json_t *array, const state_names *names, sw_station_state state, int *failed)
{
    int known = (unsigned)state <= SW_STATION_UNSEEN;
    sw_json_append(array, known ? json_incref(names->of[state]) : sw_json_text(sw_station_state_name(state)), failed);
}

static void end_states(state_names *names)
{
    for (int i = 0; i <= SW_STATION_UNSEEN; i++)
        json_decref(names->of[i]);
}

static json_t *edge(const sw_edge *from, int *failed)
{
    state_names names = start_states();
    json_t *object = json_object(), *at = json_array(), *proud = json_array(), *state = json_array();
    for (size_t i = 0; i < from->point_count; i++) {
        sw_json_append(at, mm(from->points[i].at_mm), failed);
        sw_json_append(proud, mm(from->points[i].proud_mm), failed);
        append_state(state, &names, from->points[i].state, failed);
    }
    end_states(&names);
    sw_json_set(object, "length_mm", mm(from->length_mm), failed);
    sw_json_set(object, "length_u95_mm", mm(from->length_u95_mm), failed);
    sw_json_set(object, "straightness_mm", mm(from->straightness_mm), failed);
    sw_json_set(object, "straightness_u95_mm", mm(from->straightness_u95_mm), failed);
    sw_json_set(object, "bow_mm", mm(from->bow_mm), failed);
    sw_json_set(object, "seen", sw_json_number(from->seen, 4), failed);
    sw_json_set(object, "at_mm", at, failed);
    sw_json_set(object, "proud_mm", proud, failed);
    sw_json_set(object, "state", state, failed);
    return object;
}

static json_t *corner(const sw_corner *from, int *failed)
{
    json_t *object = point(from->mm, failed);
    sw_json_set(object, "angle_deg", sw_json_number(from->angle_deg, DEGREE_DECIMALS), failed);
    sw_json_set(object, "u95_deg", sw_json_number(from->u95_deg, DEGREE_DECIMALS), failed);
    return object;
}

static json_t *chips(const sw_inspection *inspection, const sw_chip *from, size_t count, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        char name[EDGE_NAME_ROOM];
        json_t *object = json_object();
        sw_json_set(object, "edge", sw_json_text(sw_edge_name(inspection, from[i].tile, from[i].side, name)), failed);
        sw_json_set(object, "at_mm", mm(from[i].at_mm), failed);
        sw_json_set(object, "length_mm", mm(from[i].length_mm), failed);
        sw_json_set(object, "depth_mm", mm(from[i].depth_mm), failed);
        sw_json_append(array, object, failed);
    }
    return array;
}

static json_t *tile(const sw_inspection *inspection, const sw_tile *from, int *failed)
{
    json_t *object = json_object(), *corners = json_object(), *edges = json_object(),
           *square = point(from->centre_mm, failed);
    for (int i = 0; i < 4; i++) {
        sw_json_set(corners, sw_corner_label((sw_corner_name)i), corner(&from->corners[i], failed), failed);
        sw_json_set(edges, sw_side_name((sw_side)i), edge(&from->edges[i], failed), failed);
    }
    sw_json_set(square, "turn_rad", sw_json_number(from->turn_rad, RADIAN_DECIMALS), failed);
    sw_json_set(square, "side_mm", mm(from->side_mm), failed);
    sw_json_set(object, "name", sw_json_text(from->name), failed);
    sw_json_set(object, "column", json_integer(from->column), failed);
    sw_json_set(object, "row", json_integer(from->row), failed);
    sw_json_set(object, "height_mm", from->height_mm > 0 ? mm(from->height_mm) : json_null(), failed);
    sw_json_set(object, "corners", corners, failed);
    sw_json_set(object, "edges", edges, failed);
    sw_json_set(object, "best_square", square, failed);
    sw_json_set(object, "chips", chips(inspection, from->chips, from->chip_count, failed), failed);
    return object;
}

static json_t *gap(const sw_seam *from, int *failed)
{
    json_t *object = json_object();
    sw_json_set(object, "mean", mm(from->mean_mm), failed);
    sw_json_set(object, "min", mm(from->min_mm), failed);
    sw_json_set(object, "max", mm(from->max_mm), failed);
    sw_json_set(object, "max_at_mm", mm(from->max_at_mm), failed);
    sw_json_set(object, "mean_u95", mm(from->mean_u95_mm), failed);
    sw_json_set(object, "max_u95", mm(from->max_u95_mm), failed);
    return object;
}

static json_t *stations(const sw_seam *from, int *failed)
{
    state_names names = start_states();
    json_t *object = json_object(), *at = json_array(), *width = json_array(), *u95 = json_array(),
           *state = json_array();
    for (size_t i = 0; i < from->station_count; i++) {
        sw_json_append(at, mm(from->stations[i].at_mm), failed);
        sw_json_append(width, mm(from->stations[i].gap_mm), failed);
        sw_json_append(u95, mm(from->stations[i].u95_mm), failed);
        append_state(state, &names, from->stations[i].state, failed);
    }
    end_states(&names);
    sw_json_set(object, "at_mm", at, failed);
    sw_json_set(object, "gap_mm", width, failed);
    sw_json_set(object, "u95_mm", u95, failed);
    sw_json_set(object, "state", state, failed);
    return object;
}

static json_t *seam(const sw_inspection *inspection, const sw_seam *from, int *failed)
{
    char first[EDGE_NAME_ROOM], second[EDGE_NAME_ROOM];
    json_t *object = json_object(), *edges = json_array();
    sw_edge_name(inspection, from->first, from->upright ? SW_EAST : SW_SOUTH, first);
    sw_edge_name(inspection, from->second, from->upright ? SW_WEST : SW_NORTH, second);
    sw_json_append(edges, sw_json_text(first), failed);
    sw_json_append(edges, sw_json_text(second), failed);
    sw_json_set(object, "name", sw_json_text(from->name), failed);
    sw_json_set(object, "edges", edges, failed);
    sw_json_set(object, "upright", json_boolean(from->upright), failed);
    sw_json_set(object, "length_mm", mm(from->length_mm), failed);
    sw_json_set(object, "start", point(from->start_mm, failed), failed);
    sw_json_set(object, "end", point(from->end_mm, failed), failed);
    sw_json_set(object, "verdict", sw_json_text(sw_verdict_name(from->verdict)), failed);
    sw_json_set(object, "gap_mm", gap(from, failed), failed);
    sw_json_set(object, "taper_mm", mm(from->taper_mm), failed);
    sw_json_set(object, "taper_u95_mm", mm(from->taper_u95_mm), failed);
    sw_json_set(object, "corner_step_mm", mm(from->corner_step_mm), failed);
    sw_json_set(object, "chips", chips(inspection, from->chips, from->chip_count, failed), failed);
    sw_json_set(object, "stations", stations(from, failed), failed);
    return object;
}

static json_t *advice(const sw_inspection *inspection, const sw_advice *from, int *failed)
{
    char name[EDGE_NAME_ROOM];
    json_t *object = json_object();
    sw_json_set(object, "rank", json_integer(from->rank), failed);
    sw_json_set(object, "edge", sw_json_text(sw_edge_name(inspection, from->tile, from->side, name)), failed);
    sw_json_set(object, "seam", sw_json_text_or_null(sw_advice_seam(inspection, from)), failed);
    sw_json_set(object, "action", sw_json_text(sw_action_name(from->action)), failed);
    sw_json_set(object, "remove_mm", mm(from->remove_mm), failed);
    sw_json_set(object, "from_mm", mm(from->from_mm), failed);
    sw_json_set(object, "to_mm", mm(from->to_mm), failed);
    sw_json_set(object, "worst_gap_mm", mm(from->worst_gap_mm), failed);
    sw_json_set(object, "u95_mm", mm(from->u95_mm), failed);
    sw_json_set(object, "reason", sw_json_text(from->reason), failed);
    return object;
}

static json_t *mark(const sw_inspection *inspection, const sw_mark *from, int *failed)
{
    char name[EDGE_NAME_ROOM];
    json_t *object = json_object();
    sw_json_set(object, "seam", sw_json_text(inspection->seams[from->seam].name), failed);
    sw_json_set(object, "edge", sw_json_text(sw_edge_name(inspection, from->tile, from->side, name)), failed);
    sw_json_set(object, "at_mm", mm(from->at_mm), failed);
    sw_json_set(object, "from_half_mm", mm(from->from_half_mm), failed);
    sw_json_set(object, "u95_mm", mm(from->u95_mm), failed);
    sw_json_set(object, "step_mm", mm(from->step_mm), failed);
    sw_json_set(object, "step_u95_mm", mm(from->step_u95_mm), failed);
    return object;
}

static void lists(const sw_inspection *inspection, json_t *root, int *failed)
{
    json_t *tiles = json_array(), *seams = json_array(), *marks = json_array(), *ranking = json_array(),
           *warnings = json_array();
    for (size_t i = 0; i < inspection->tile_count; i++)
        sw_json_append(tiles, tile(inspection, &inspection->tiles[i], failed), failed);
    for (size_t i = 0; i < inspection->seam_count; i++)
        sw_json_append(seams, seam(inspection, &inspection->seams[i], failed), failed);
    for (size_t i = 0; i < inspection->mark_count; i++)
        sw_json_append(marks, mark(inspection, &inspection->marks[i], failed), failed);
    for (size_t i = 0; i < inspection->advice_count; i++)
        sw_json_append(ranking, advice(inspection, &inspection->ranking[i], failed), failed);
    for (size_t i = 0; i < inspection->warning_count; i++)
        sw_json_append(warnings, sw_json_text(inspection->warnings[i]), failed);
    sw_json_set(root, "tiles", tiles, failed);
    sw_json_set(root, "seams", seams, failed);
    sw_json_set(root, "marks", marks, failed);
    sw_json_set(root, "ranking", ranking, failed);
    sw_json_set(root, "warnings", warnings, failed);
}

sw_status sw_report_json(const sw_inspection *inspection, const char *path, sw_error *err)
{
    int failed = 0;
    json_t *root = json_object();
    sw_json_set(root, "format", sw_json_text(SW_FORMAT_INSPECTION), &failed);
    sw_json_set(root, "format_version", json_integer(SW_FORMAT_VERSION), &failed);
    sw_json_set(root, "program", sw_json_text("seamwright " SW_VERSION), &failed);
    sw_json_set(root, "photo", photo(inspection, &failed), &failed);
    sw_json_set(root, "scale", scale(&inspection->scale, &failed), &failed);
    sw_json_set(root, "table", table(&inspection->table, &failed), &failed);
    sw_json_set(root, "tolerance_mm", mm(inspection->tolerance_mm), &failed);
    sw_json_set(root, "step_mm", mm(inspection->step_mm), &failed);
    sw_json_set(root, "verdict", sw_json_text(sw_verdict_name(sw_inspection_verdict(inspection))), &failed);
    if (inspection->repeatability)
        sw_json_set(root, "repeatability", sw_json_repeatability(inspection, &failed), &failed);
    lists(inspection, root, &failed);
    sw_json_set(root, "budget", sw_json_budgets(inspection, &failed), &failed);
    sw_status status = failed ? sw_fail(err, SW_NO_MEMORY,
                                        "%s: not enough memory to write it; close other programs and try again", path)
                              : sw_json_save(root, path, err);
    json_decref(root);
    return status;
}
