/* json.c - arrange.json, member by member: the layout as it is and the one found, both pushed together. */
#include "files/formats.h"
#include "report/common/json_names.h"
#include "report/common/json_notes.h"
#include "report/common/trees.h"

#include <stdlib.h>

#include "inspection/names.h"
#include "seamwright/arrange.h"

enum { MM = 4 }; /* decimals: 0.1 um, as in inspection.json */

static json_t *put_layout(const sw_field *field, const void *from, sw_putting *p)
{
    char *text = sw_layout_text(&((const sw_arranged *)from)->layout, sw_named_in(p->context));
    json_t *value = text ? sw_json_text(text) : NULL;
    (void)field;
    free(text);
    return value;
}

static json_t *put_places(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_layout *layout = &((const sw_arranged *)from)->layout;
    const sw_inspection *first = sw_named_in(p->context);
    json_t *places = json_array();
    (void)field;
    for (int i = 0; i < layout->columns * layout->rows; i++) {
        json_t *place = json_object();
        sw_json_set(place, "place", sw_json_text(first->tiles[i].name), &p->failed);
        sw_json_set(place, "tile", sw_json_text(first->tiles[layout->places[i].tile].name), &p->failed);
        sw_json_set(place, "quarter_turns", json_integer(layout->places[i].turns), &p->failed);
        sw_json_append(places, place, &p->failed);
    }
    return places;
}

static const sw_field seam[] = {
    {"name", SW_WRITTEN, SW_TEXT(sw_arranged_seam, name)},
    {"max_mm", SW_WRITTEN, SW_FIGURE(sw_arranged_seam, max_mm, MM)},
    {"best_mm", SW_WRITTEN, SW_FIGURE(sw_arranged_seam, best_mm, MM)},
    {"u95_mm", SW_WRITTEN, SW_FIGURE(sw_arranged_seam, u95_mm, MM)},
    {"mean_mm", SW_WRITTEN, SW_FIGURE(sw_arranged_seam, mean_mm, MM)},
};

static const sw_field arranged[] = {
    {"layout", SW_WRITTEN, .put = put_layout},
    {"worst_mm", SW_WRITTEN, SW_FIGURE(sw_arranged, worst_mm, MM)},
    {"best_mm", SW_WRITTEN, SW_FIGURE(sw_arranged, best_mm, MM)},
    {"faces_unknown", SW_WRITTEN, SW_WHOLE(sw_arranged, unknown, 0, 0)},
    {"sum_mm", SW_WRITTEN, SW_FIGURE(sw_arranged, sum_mm, MM)},
    {"places", SW_WRITTEN, .put = put_places},
    {"seams", SW_WRITTEN, SW_LIST(sw_arranged, seams, seam_count, seam, "seam")},
};

static const sw_field answer[] = {
    {"edge", SW_WRITTEN, SW_EDGE(sw_lean_answer)},
    {"lean_mm", SW_WRITTEN, SW_FIGURE(sw_lean_answer, lean_mm, MM)},
};

static json_t *put_ask(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_arrangement *a = from;
    char name[EDGE_NAME_ROOM];
    (void)field;
    return a->ask_tile < 0 ? json_null()
                           : sw_json_text(sw_edge_name(sw_named_in(p->context), a->ask_tile, a->ask_side, name));
}

static const sw_field whole[] = {
    {"program", SW_WRITTEN, .put = sw_put_program},
    {"photo", SW_WRITTEN, .put = sw_put_photo_name},
    {"tolerance_mm", SW_WRITTEN, SW_FIGURE(sw_arrangement, tolerance_mm, MM)},
    {"better", SW_WRITTEN, SW_FLAG(sw_arrangement, better)},
    {"moved", SW_WRITTEN, SW_WHOLE(sw_arrangement, moved, 0, 0)},
    {"tried", SW_WRITTEN, SW_WHOLE(sw_arrangement, tried, 0, 0)},
    {"lean_likely_mm", SW_WRITTEN, SW_FIGURE(sw_arrangement, likely_mm, MM)},
    {"answers", SW_WRITTEN, SW_LIST(sw_arrangement, answers, answer_count, answer, "answer")},
    {"hope_mm", SW_WRITTEN, SW_FIGURE(sw_arrangement, hope_mm, MM)},
    {"try_square", SW_WRITTEN, .put = put_ask},
    {"before", SW_WRITTEN, SW_OBJECT(sw_arrangement, before, arranged)},
    {"after", SW_WRITTEN, SW_OBJECT(sw_arrangement, after, arranged)},
    {"warnings", SW_WRITTEN, SW_SENTENCES(sw_arrangement, notes)},
    {"notes", SW_WRITTEN, SW_NOTES(sw_arrangement, notes)},
    {"next", SW_WRITTEN, SW_TEXT(sw_arrangement, next)},
};

static const sw_json_kind KIND = {.format = SW_FORMAT_ARRANGE, SW_TABLE(whole)};

json_t *sw_arrangement_tree(const sw_arrangement *arrangement, const sw_inspection *first)
{
    return sw_json_tree(&KIND, arrangement, &first);
}

sw_status sw_report_arrange_json(const sw_arrangement *arrangement, const sw_inspection *first, const char *path,
                                 sw_error *err)
{
    return sw_json_write(&KIND, arrangement, &first, path, err);
}
