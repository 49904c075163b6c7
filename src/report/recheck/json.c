/* json.c - recheck.json, member by member: what changed from one inspection to the next. */
#include "files/formats.h"
#include "report/common/json_names.h"
#include "report/common/json_notes.h"
#include "report/common/trees.h"
#include "report/common/words.h"
#include "seamwright/recheck.h"

enum { MM = 4 }; /* decimals: 0.1 um, as in inspection.json */

/* The context: names are those before. */
typedef struct compared {
    const sw_inspection *before, *after;
} compared;

SW_WORDS(verdict_word, sw_verdict, sw_verdict_name)

static json_t *put_name(const sw_field *field, const void *from, sw_putting *p)
{
    const compared *of = p->context;
    (void)field;
    return sw_json_text(of->after->seams[((const sw_seam_change *)from)->seam].name);
}

static json_t *put_edges(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_seam_change *seam = from;
    (void)field;
    return sw_put_two_edges(sw_named_in(p->context), seam->tile, seam->side);
}

static const sw_field seam[] = {
    {"name", SW_WRITTEN, .put = put_name},
    {"name_before", SW_WRITTEN, SW_SEAM_NAME(sw_seam_change, before)},
    {"edges", SW_WRITTEN, .put = put_edges},
    {"before_mm", SW_WRITTEN, SW_FIGURE(sw_seam_change, before_mm, MM)},
    {"before_u95_mm", SW_WRITTEN, SW_FIGURE(sw_seam_change, before_u95_mm, MM)},
    {"after_mm", SW_WRITTEN, SW_FIGURE(sw_seam_change, after_mm, MM)},
    {"after_u95_mm", SW_WRITTEN, SW_FIGURE(sw_seam_change, after_u95_mm, MM)},
    {"change_mm", SW_WRITTEN, SW_FIGURE(sw_seam_change, change_mm, MM)},
    {"change_u95_mm", SW_WRITTEN, SW_FIGURE(sw_seam_change, change_u95_mm, MM)},
    {"verdict", SW_WRITTEN, SW_WORD(sw_seam_change, verdict, verdict_word, 0)},
};

static json_t *put_planned(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_edge_change *edge = from;
    (void)p;
    return edge->planned ? sw_json_number(edge->planned_mm, field->decimals) : json_null();
}

static const sw_field edge[] = {
    {"edge", SW_WRITTEN, SW_EDGE(sw_edge_change)},
    {"planned_mm", SW_WRITTEN, .put = put_planned, .decimals = MM},
    {"planned_at_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, planned_at_mm, MM)},
    {"taken_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, taken_mm, MM)},
    {"taken_u95_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, taken_u95_mm, MM)},
    {"taken_at_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, taken_at_mm, MM)},
    {"with_opposite_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, together_mm, MM)},
    {"with_opposite_u95_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, together_u95_mm, MM)},
    {"with_opposite_planned_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, together_planned_mm, MM)},
    {"most_over_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, most_over_mm, MM)},
    {"most_over_u95_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, most_over_u95_mm, MM)},
    {"most_over_at_mm", SW_WRITTEN, SW_FIGURE(sw_edge_change, most_over_at_mm, MM)},
    {"too_much", SW_WRITTEN, SW_FLAG(sw_edge_change, too_much)},
    {"not_enough", SW_WRITTEN, SW_FLAG(sw_edge_change, not_enough)},
};

static const sw_field place[] = {
    {"tile", SW_WRITTEN, SW_TILE_NAME(sw_place, tile)},
    {"quarter_turns", SW_WRITTEN, SW_WHOLE(sw_place, turns, 0, 3)},
};

static json_t *put_after(const sw_field *field, const void *from, sw_putting *p)
{
    const compared *of = p->context;
    (void)field, (void)from;
    return sw_json_text(of->after->file);
}

static json_t *put_rounds(const sw_field *field, const void *from, sw_putting *p)
{
    const compared *of = p->context;
    (void)field;
    return sw_rounds_tree(of->before, of->after, ((const sw_recheck *)from)->tolerance_mm);
}

static const sw_field whole[] = {
    {"program", SW_WRITTEN, .put = sw_put_program},
    {"before", SW_WRITTEN, .put = sw_put_photo_name},
    {"after", SW_WRITTEN, .put = put_after},
    {"tolerance_mm", SW_WRITTEN, SW_FIGURE(sw_recheck, tolerance_mm, MM)},
    {"plan", SW_WRITTEN, SW_FLAG(sw_recheck, planned)},
    {"over", SW_WRITTEN, SW_WHOLE(sw_recheck, over, 0, 0)},
    {"too_close", SW_WRITTEN, SW_WHOLE(sw_recheck, too_close, 0, 0)},
    {"within", SW_WRITTEN, SW_WHOLE(sw_recheck, within, 0, 0)},
    {"rounds", SW_WRITTEN, .put = put_rounds},
    {"stop", SW_WRITTEN, SW_FLAG(sw_recheck, stop)},
    {"next", SW_WRITTEN, SW_TEXT(sw_recheck, next)},
    {"layout", SW_WRITTEN, SW_LIST(sw_recheck, places, place_count, place, "place")},
    {"seams", SW_WRITTEN, SW_LIST(sw_recheck, seams, seam_count, seam, "seam")},
    {"edges", SW_WRITTEN, SW_LIST(sw_recheck, edges, edge_count, edge, "edge")},
    {"warnings", SW_WRITTEN, SW_SENTENCES(sw_recheck, notes)},
    {"notes", SW_WRITTEN, SW_NOTES(sw_recheck, notes)},
};

static const sw_json_kind KIND = {.format = SW_FORMAT_RECHECK, SW_TABLE(whole)};

json_t *sw_recheck_tree(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after)
{
    const compared names = {before, after};
    return sw_json_tree(&KIND, recheck, &names);
}

sw_status sw_report_recheck_json(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after,
                                 const char *path, sw_error *err)
{
    const compared names = {before, after};
    return sw_json_write(&KIND, recheck, &names, path, err);
}
