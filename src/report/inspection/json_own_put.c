/* json_own_put.c - members of inspection.json that are worked out when they are written. */
#include "report/inspection/json_own.h"

#include "report/common/words.h"

enum { NAME_ROOM = 64 };

json_t *sw_put_reference(const sw_field *field, const void *scale, sw_putting *p)
{
    char name[NAME_ROOM];
    (void)field, (void)p;
    sw_reference_name(&((const sw_scale *)scale)->reference, name, sizeof name);
    return sw_json_text(name);
}

json_t *sw_put_verdict(const sw_field *field, const void *inspection, sw_putting *p)
{
    (void)field, (void)p;
    return sw_json_text(sw_verdict_name(sw_inspection_verdict(inspection)));
}

json_t *sw_put_seam_edges(const sw_field *field, const void *from, sw_putting *p)
{
    char name[EDGE_NAME_ROOM];
    const sw_inspection *ins = sw_named_in(p->context);
    const sw_seam *seam = from;
    json_t *edges = json_array();
    (void)field;
    sw_edge_name(ins, seam->first, seam->upright ? SW_EAST : SW_SOUTH, name);
    sw_json_append(edges, sw_json_text(name), &p->failed);
    sw_edge_name(ins, seam->second, seam->upright ? SW_WEST : SW_NORTH, name);
    sw_json_append(edges, sw_json_text(name), &p->failed);
    return edges;
}

json_t *sw_put_mark_seam(const sw_field *field, const void *mark, sw_putting *p)
{
    (void)field;
    return sw_json_text(sw_named_in(p->context)->seams[((const sw_mark *)mark)->seam].name);
}

json_t *sw_put_advice_seam(const sw_field *field, const void *advice, sw_putting *p)
{
    (void)field;
    return sw_json_text_or_null(sw_advice_seam(sw_named_in(p->context), advice));
}

/* ---- several photos ---- */

bool sw_has_repeatability(const void *inspection)
{
    return ((const sw_inspection *)inspection)->repeatability;
}

json_t *sw_put_repeatability(const sw_field *field, const void *inspection, sw_putting *p)
{
    return sw_put_fields(field->of, ((const sw_inspection *)inspection)->repeatability, p);
}

json_t *sw_put_spread_name(const sw_field *field, const void *seam_spread, sw_putting *p)
{
    const sw_inspection *ins = sw_named_in(p->context);
    (void)field;
    return sw_json_text(ins->seams[(const sw_seam_spread *)seam_spread - ins->repeatability->seams].name);
}

json_t *sw_put_spread_limit(const sw_field *field, const void *seam_spread, sw_putting *p)
{
    (void)p;
    return sw_json_number(SW_REPEAT_LIMIT * ((const sw_seam_spread *)seam_spread)->s_r_mm, field->decimals);
}

json_t *sw_put_spread_counts(const sw_field *field, const void *seam_spread, sw_putting *p)
{
    const sw_seam_spread *spread = seam_spread;
    json_t *array = json_array();
    (void)field;
    for (size_t k = 0; k < sw_named_in(p->context)->repeatability->photo_count; k++)
        sw_json_append(array, json_boolean(spread->counts[k]), &p->failed);
    return array;
}

json_t *sw_put_spread_means(const sw_field *field, const void *seam_spread, sw_putting *p)
{
    const sw_seam_spread *spread = seam_spread;
    json_t *array = json_array();
    for (size_t k = 0; k < sw_named_in(p->context)->repeatability->photo_count; k++)
        sw_json_append(array, sw_json_number(spread->mean_mm[k], field->decimals), &p->failed);
    return array;
}

bool sw_is_left_out(const void *budget_line)
{
    return !((const sw_budget_line *)budget_line)->included;
}
