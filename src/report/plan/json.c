/* json.c - plan.json, member by member, for scripts and recheck. Read back strictly: a plan misread is material taken
 * off the wrong edge. */
#include <float.h>
#include <math.h>
#include <string.h>

#include "files/formats.h"
#include "report/common/json_names.h"
#include "report/common/json_notes.h"
#include "report/common/mark.h"
#include "report/common/names.h"
#include "report/common/trees.h"
#include "report/plan/parts.h"
#include "seamwright/defaults_and_ranges.h"

/* Decimals: 0.1 um, 0.0001 degree and 0.01 mm2 lie far below what one photo can tell. */
enum { MM = 4, DEGREES = 4, MM2 = 2 };
/* Places may lie beyond the edge's end by what rounding and a second look at the same tile change, mm. */
static const double BEYOND_END_MM = 2;
/* Nothing in a plan is as long as this, mm: ten times the largest tile. */
#define LARGEST_MM 20000
/* Four a tile of the largest table, 26 x 99. */
enum { MOST_EDGES = 4 * 26 * 99, VERDICTS = 3 };
#define BELOW_90 (90 * (1 - DBL_EPSILON))

/* The context of reading and writing. */
typedef struct plan_of {
    const sw_inspection *first;
    const sw_plan *plan;
} plan_of;

static const char *purpose_word(int i)
{
    return i == SW_PLAN_ANY ? "any" : "layout";
}

static const char *lean_word(int i)
{
    return i == SW_LEAN_KNOWN ? "known" : i == SW_LEAN_OPEN ? "open" : NULL;
}

/* ---- what the seams will be: one a seam, in the inspection's order ---- */

SW_WORDS(verdict_word, sw_verdict, sw_verdict_name)

static void check_forecast(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const plan_of *of = r->context;
    sw_seam_plan *seam = to;
    size_t index = (size_t)(seam - of->plan->seams);
    (void)field, (void)from;
    if (strcmp(seam->name, of->first->seams[index].name) != 0)
        sw_read_wrong(r, "the inspection has no such seam there");
    seam->max_now_mm = seam->max_now_u95_mm = seam->max_pushed_mm = NAN; /* not read */
    seam->max_after_mm = seam->forecast_mm;
}

static void take_forecast(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    size_t seams = sw_named_in(r->context)->seam_count;
    if (!json_is_array(value) || (json_array_size(value) && json_array_size(value) != seams))
        sw_read_wrong(r, "\"%s\" %s", field->key, field->says);
    else
        sw_take_list(r, field, value, at);
}

static const sw_field forecast[] = {
    {"name", SW_MUST, SW_TEXT(sw_seam_plan, name)},
    {"max_mm", SW_MUST, SW_FIGURE(sw_seam_plan, forecast_mm, MM)}, /* null: not seen */
    {"u95_mm", SW_MUST, SW_FIGURE(sw_seam_plan, forecast_u95_mm, MM)},
    {"verdict", SW_MUST, SW_WORD(sw_seam_plan, forecast, verdict_word, VERDICTS),
     .says = "is neither \"within\", \"over\" nor \"too close to call\""},
    {"best_mm", SW_MUST, SW_FIGURE(sw_seam_plan, best_mm, MM)},
    SW_STEP(check_forecast),
};

/* ---- the work list ---- */

static json_t *put_rank(const sw_field *field, const void *from, sw_putting *p)
{
    const plan_of *of = p->context;
    const sw_work_line *line = from;
    (void)field;
    return json_integer(line - of->plan->work + 1);
}

static void take_rank(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const plan_of *of = r->context;
    const sw_work_line *line = at;
    if (!json_is_integer(value) || json_integer_value(value) != line - of->plan->work + 1)
        sw_read_wrong(r, "\"%s\" is not its place in the list", field->key);
}

static void take_seam(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const sw_inspection *first = sw_named_in(r->context);
    const char *name = json_string_value(value);
    int *seam = at;
    *seam = -1;
    for (size_t i = 0; name && i < first->seam_count; i++)
        if (strcmp(name, first->seams[i].name) == 0)
            *seam = (int)i;
    if (*seam < 0 && !json_is_null(value))
        sw_read_wrong(r, "\"%s\" is no seam of the inspection", field->key);
}

static json_t *put_work_edges(const sw_field *field, const void *from, sw_putting *p)
{
    const plan_of *of = p->context;
    const sw_work_line *line = from;
    json_t *array = json_array();
    (void)field;
    for (int i = 0; i < line->edge_count && i < 2; i++) {
        const sw_edge_plan *edge = &of->plan->edges[line->edges[i]];
        char name[EDGE_NAME_ROOM];
        sw_json_append(array, sw_json_text(sw_edge_name(of->first, edge->tile, edge->side, name)), &p->failed);
    }
    return array;
}

/* Index of the plan's edge of that name; -1 when there is none. */
static int index_of_edge(const plan_of *of, const char *text)
{
    int tile;
    sw_side side;
    if (sw_edge_of_name(of->first, text, &tile, &side))
        for (size_t i = 0; i < of->plan->edge_count; i++)
            if (of->plan->edges[i].tile == tile && of->plan->edges[i].side == side)
                return (int)i;
    return -1;
}

static void take_work_edges(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_work_line *line = at;
    if (!json_is_array(value) || json_array_size(value) > 2)
        sw_read_wrong(r, "\"%s\" is no list of at most two edges", field->key);
    for (size_t i = 0; !r->status && i < json_array_size(value); i++) {
        int index = index_of_edge(r->context, json_string_value(json_array_get(value, i)));
        if (index < 0)
            sw_read_wrong(r, "\"%s\" names an edge that the plan has not", field->key);
        line->edges[line->edge_count++] = index;
    }
}

static const sw_field work[] = {
    {"rank", SW_MUST, .put = put_rank, .take = take_rank},
    {"seam", SW_MUST, SW_MEMBER(sw_work_line, seam), .put = sw_put_seam_name, .take = take_seam}, /* null: chips */
    {"cause", SW_MUST, SW_TEXT(sw_work_line, cause)},
    {"do", SW_MUST, SW_TEXT(sw_work_line, what)},
    {"worth_mm", SW_MUST, SW_FIGURE(sw_work_line, worth_mm, MM)},
    {"widest_from_mm", SW_MUST, SW_FIGURE(sw_work_line, widest_from_mm, MM)},
    {"widest_to_mm", SW_MUST, SW_FIGURE(sw_work_line, widest_to_mm, MM)},
    {"edges", SW_MUST, .put = put_work_edges, .take = take_work_edges},
};

static const sw_field by_limit[] = {
    {"limit_mm", SW_MUST, SW_NUMBER(sw_limit_cost, limit_mm, MM, SW_TOLERANCE_LEAST_MM, SW_TOLERANCE_MOST_MM),
     .says = "is no width of a gap"},
    {"bevels", SW_MUST, SW_WHOLE(sw_limit_cost, bevels, 0, MOST_EDGES)},
    {"true_ups", SW_MUST, SW_WHOLE(sw_limit_cost, true_ups, 0, MOST_EDGES)},
    {"removed_mm2", SW_MUST, SW_NUMBER(sw_limit_cost, removed_mm2, MM2, 0, 1e9), .says = "must be 0 or more"},
};

/* ---- edges ---- */

static void take_edge(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const plan_of *of = r->context;
    sw_edge_plan *edge = sw_struct_of(field, at);
    if (!json_is_string(value))
        sw_read_wrong(r, "it has no name");
    else if (!sw_edge_of_name(of->first, json_string_value(value), &edge->tile, &edge->side))
        sw_read_wrong(r, "the inspection has no such edge");
    if (r->status)
        return;
    for (const sw_edge_plan *other = of->plan->edges; other < edge; other++)
        if (other->tile == edge->tile && other->side == edge->side)
            sw_read_wrong(r, "it comes twice");
    edge->length_mm = of->first->tiles[edge->tile].edges[edge->side].length_mm;
}

/* Only where the inspection does not know it. */
static void take_length(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    double *length_mm = at, planned_mm = NAN;
    sw_take_figure(r, field, value, &planned_mm);
    if (!r->status && !isfinite(*length_mm) && planned_mm >= 0 && planned_mm <= LARGEST_MM)
        *length_mm = planned_mm;
}

static void take_true_up(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    if (!json_is_array(value) || json_array_size(value) == 1)
        sw_read_wrong(r, "\"%s\" %s", field->key, field->says);
    else if (json_array_size(value))
        sw_take_list(r, field, value, at);
}

static void check_edge(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const char *lean = json_string_value(json_object_get(from, "lean"));
    sw_edge_plan *edge = to;
    (void)field;
    if (!isfinite(edge->length_mm))
        edge->length_mm = sw_named_in(r->context)->table.tile_mm; /* nobody knows: nominal */
    for (size_t i = 0; i < edge->true_up_count; i++) {
        const sw_removal *at = &edge->true_up[i];
        if (at->at_mm > edge->length_mm + BEYOND_END_MM)
            sw_read_wrong(r, "\"at_mm\" is no place along it");
        edge->deepest_mm = fmax(edge->deepest_mm, at->remove_mm);
        if (i == 0)
            continue;
        if (!(at->at_mm > at[-1].at_mm))
            sw_read_wrong(r, "\"at_mm\" must grow from place to place");
        edge->removed_mm2 += (at->remove_mm + at[-1].remove_mm) / 2 * (at->at_mm - at[-1].at_mm);
    }
    if (edge->bevel_mm > 0)
        edge->lean = lean && strcmp(lean, lean_word(SW_LEAN_KNOWN)) == 0 ? SW_LEAN_KNOWN : SW_LEAN_OPEN;
    if (!json_is_string(json_object_get(from, "why")))
        sw_read_wrong(r, "it gives no reason (\"why\")");
}

static const sw_field removal[] = {
    {"at_mm", SW_MUST, SW_NUMBER(sw_removal, at_mm, MM, 0, LARGEST_MM), .says = "is no place along it"},
    {"remove_mm", SW_MUST, SW_NUMBER(sw_removal, remove_mm, MM, 0, LARGEST_MM), .says = "must be 0 or more"},
};

static const sw_field edge[] = {
    {"edge", SW_MUST, SW_EDGE_TAKEN_BY(take_edge, sw_edge_plan)},
    {"length_mm", SW_MAY, SW_MEMBER(sw_edge_plan, length_mm), .decimals = MM, .put = sw_put_figure,
     .take = take_length},
    {"true_up", SW_MUST, SW_LIST_TAKEN_BY(take_true_up, sw_edge_plan, true_up, true_up_count, removal, "place"),
     .says = "is no list of places"},
    {"deepest_mm", SW_WRITTEN, SW_FIGURE(sw_edge_plan, deepest_mm, MM)},
    {"removed_mm2", SW_WRITTEN, SW_FIGURE(sw_edge_plan, removed_mm2, MM2)},
    {"bevel_mm", SW_MUST, SW_NUMBER(sw_edge_plan, bevel_mm, MM, 0, LARGEST_MM), .says = "must be 0 or more"},
    {"bevel_deg", SW_MUST, SW_NUMBER(sw_edge_plan, bevel_deg, DEGREES, 0, BELOW_90), .says = "must be from 0 to 90"},
    {"lean", SW_WRITTEN, SW_WORD(sw_edge_plan, lean, lean_word, 0)}, /* read with the bevel */
    {"why", SW_MAY, SW_TEXT(sw_edge_plan, why)},
    SW_STEP(check_edge),
};

/* ---- seams, leans: written only ---- */

static json_t *put_touches(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_seam_plan *seam = from;
    json_t *array = json_array();
    for (int i = 0; i < seam->touch_count && i < 4; i++)
        sw_json_append(array, sw_json_number(seam->touch_mm[i], field->decimals), &p->failed);
    return array;
}

static const sw_field seam[] = {
    {"name", SW_WRITTEN, SW_TEXT(sw_seam_plan, name)},
    {"max_now_mm", SW_WRITTEN, SW_FIGURE(sw_seam_plan, max_now_mm, MM)},
    {"max_now_u95_mm", SW_WRITTEN, SW_FIGURE(sw_seam_plan, max_now_u95_mm, MM)},
    {"max_pushed_mm", SW_WRITTEN, SW_FIGURE(sw_seam_plan, max_pushed_mm, MM)},
    {"max_after_mm", SW_WRITTEN, SW_FIGURE(sw_seam_plan, max_after_mm, MM)},
    {"standoff_mm", SW_WRITTEN, SW_FIGURE(sw_seam_plan, standoff_mm, MM)},
    {"touches_mm", SW_WRITTEN, .put = put_touches, .is = SW_IS_LIST, .decimals = MM},
};

static const sw_field lean[] = {
    {"edge", SW_WRITTEN, SW_EDGE(sw_lean), .is = SW_IS_TEXT},
    {"lean_mm", SW_WRITTEN, SW_FIGURE(sw_lean, lean_mm, MM)},
    {"least_mm", SW_WRITTEN, SW_FIGURE(sw_lean, least_mm, MM)},
    {"most_mm", SW_WRITTEN, SW_FIGURE(sw_lean, most_mm, MM)}, /* null: nothing limits it */
};

/* ---- answers of a try square: kept, so that the next plan need not ask again ---- */

static void take_answered(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const plan_of *of = r->context;
    const sw_lean_answer *answer = sw_struct_of(field, at);
    sw_take_edge(r, field, value, at);
    for (const sw_lean_answer *other = of->plan->answers; !r->status && other < answer; other++)
        if (other->tile == answer->tile && other->side == answer->side)
            sw_read_wrong(r, "it comes twice");
}

static const sw_field answer[] = {
    {"edge", SW_MUST, SW_EDGE_TAKEN_BY(take_answered, sw_lean_answer)},
    {"lean_mm", SW_MUST, SW_NUMBER(sw_lean_answer, lean_mm, MM, 0, SW_LEAN_MOST_MM), .says = "must be from 0 to 20"},
};

/* ---- the whole ---- */

static json_t *put_fits(const sw_field *field, const void *plan, sw_putting *p)
{
    (void)field, (void)p;
    return json_boolean(sw_plan_fits(plan));
}

static json_t *put_every_way(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_plan *plan = from;
    (void)field, (void)p;
    return plan->purpose == SW_PLAN_ANY ? json_boolean(plan->fits_every_way) : json_null();
}

static void take_edges(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    if (!json_is_array(value))
        sw_read_wrong(r, "\"%s\" %s", field->key, field->says);
    else if (json_array_size(value) > 4 * sw_named_in(r->context)->tile_count)
        sw_read_wrong(r, "it has more edges than the inspection's tiles");
    else
        sw_take_list(r, field, value, at);
}

static void check_plan(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    sw_plan *plan = to;
    (void)r, (void)field, (void)from;
    for (size_t i = 0; i < plan->edge_count; i++)
        plan->removed_total_mm2 += plan->edges[i].removed_mm2;
}

static json_t *put_mark(const sw_field *field, const void *at, sw_putting *p)
{
    char mark[SW_MARK_ROOM];
    (void)field, (void)at;
    sw_mark_of(sw_named_in(p->context), mark);
    return json_string(mark);
}

/* Cuts meant for another table's edges, or for what these were before, would go into good material. A plan without a mark
 * (an older one, or a script's) is taken at its photo's name. */
static void check_made_from(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const sw_inspection *first = sw_named_in(r->context);
    const char *mark = json_string_value(json_object_get(from, "made_from_mark")),
               *photo = json_string_value(json_object_get(from, "made_from"));
    char own[SW_MARK_ROOM];
    (void)field, (void)to;
    sw_mark_of(first, own);
    bool named = photo && photo[0] && first->file[0];
    if (mark ? strcmp(mark, own) != 0 : named && strcmp(photo, first->file) != 0)
        sw_read_wrong(r, "it was made from another inspection (of %.60s) and not from this one (of %.60s)",
                      photo && photo[0] ? photo : "a photo without name", first->file[0] ? first->file : "no name");
}

static const sw_field whole[] = {
    SW_STEP(check_made_from),
    {"program", SW_WRITTEN, .put = sw_put_program, .is = SW_IS_TEXT},
    {"made_from", SW_WRITTEN, .put = sw_put_photo_name, .is = SW_IS_TEXT},
    {"made_from_mark", SW_WRITTEN, .put = put_mark, .is = SW_IS_TEXT},
    {"for", SW_MUST, SW_WORD(sw_plan, purpose, purpose_word, 2), .says = "is neither \"layout\" nor \"any\""},
    {"tolerance_mm", SW_MUST, SW_NUMBER(sw_plan, tolerance_mm, MM, SW_TOLERANCE_LEAST_MM, SW_TOLERANCE_MOST_MM),
     .says = "is no width of a gap"},
    {"deepest_cut_mm", SW_WRITTEN, SW_FIGURE(sw_plan, deepest_cut_mm, MM)},
    {"height_mm", SW_WRITTEN, SW_FIGURE(sw_plan, height_mm, MM)},
    {"fits", SW_WRITTEN, .put = put_fits, .is = SW_IS_FLAG},
    {"next", SW_WRITTEN, SW_TEXT(sw_plan, next)},
    {"edges", SW_MUST, SW_LIST_TAKEN_BY(take_edges, sw_plan, edges, edge_count, edge, "edge"),
     .says = "is no list of edges"},
    {"seams", SW_WRITTEN, SW_LIST(sw_plan, seams, seam_count, seam, "seam")},
    {"forecast", SW_MAY, SW_LIST_TAKEN_BY(take_forecast, sw_plan, seams, seam_count, forecast, "forecast"),
     .says = "does not name every seam once"},
    {"work", SW_MAY, SW_LIST(sw_plan, work, work_count, work, "line")},
    {"by_limit", SW_MAY, SW_LIST(sw_plan, by_limit, by_limit_count, by_limit, "limit")},
    {"leans", SW_WRITTEN, SW_LIST(sw_plan, leans, lean_count, lean, "lean")},
    {"answers", SW_MAY, SW_LIST(sw_plan, answers, answer_count, answer, "answer")},
    {"common_tile_mm", SW_WRITTEN, SW_FIGURE(sw_plan, common_tile_mm, MM)},
    {"common_tile_u95_mm", SW_WRITTEN, SW_FIGURE(sw_plan, common_tile_u95_mm, MM)},
    {"limiting_tile", SW_WRITTEN, SW_TILE_NAME(sw_plan, limiting_tile), .is = SW_IS_TEXT},
    {"fits_every_way", SW_WRITTEN, .put = put_every_way, .is = SW_IS_FLAG},
    {"removed_total_mm2", SW_WRITTEN, SW_FIGURE(sw_plan, removed_total_mm2, MM2)},
    {"cannot", SW_WRITTEN, SW_SENTENCES(sw_plan, cannot), .is = SW_IS_LIST},
    {"warnings", SW_WRITTEN, SW_SENTENCES(sw_plan, notes), .is = SW_IS_LIST},
    {"notes", SW_WRITTEN, SW_NOTES_AND(sw_plan, notes, cannot), .is = SW_IS_LIST},
    {"settling_layout", SW_WRITTEN, SW_STRING(sw_plan, settling_layout)},
    SW_STEP(check_plan),
};

/* The plan of the largest table, 26 x 99 tiles, four edges each with a knot every 25 mm of 300 and 640 bytes of reason,
 * takes 15 MB. */
static const sw_json_kind KIND = {SW_FORMAT_PLAN, SW_TABLE(whole), "plan",          "is no plan",
                                  "plan.json",    "plan",          (size_t)64 << 20};

json_t *sw_plan_tree(const sw_plan *plan, const sw_inspection *first)
{
    const plan_of context = {first, plan};
    return sw_json_tree(&KIND, plan, &context);
}

sw_status sw_report_plan_json(const sw_plan *plan, const sw_inspection *first, const char *path, sw_error *err)
{
    const plan_of context = {first, plan};
    return sw_json_write(&KIND, plan, &context, path, err);
}

sw_status sw_plan_parse(const char *text, size_t length, const char *path, const sw_inspection *first, sw_plan *plan,
                        sw_error *err)
{
    const plan_of context = {first, plan};
    *plan = (sw_plan){.limiting_tile = -1, .common_tile_mm = NAN, .common_tile_u95_mm = NAN};
    sw_status status = sw_json_take(&KIND, path, text, length, &context, plan, err);
    if (status)
        sw_plan_free(plan);
    return status;
}

sw_status sw_plan_read(const char *path, const sw_inspection *first, sw_plan *plan, sw_error *err)
{
    return sw_plan_parse(NULL, 0, path, first, plan, err);
}
