/* json_budget.c - the uncertainty budgets in inspection.json. */
#include "report/inspection/json_parts.h"

#include "seamwright/report.h"

/* Decimals of uncertainties: 1e-6 mm, so that small components are not all 0, and their squares add up. */
enum { U_DECIMALS = 6, SHARE_DECIMALS = 4, FREEDOM_DECIMALS = 1, VALUE_DECIMALS = 4 };

static json_t *component(const sw_budget_line *line, int *failed)
{
    json_t *object = json_object();
    sw_json_set(object, "name", sw_json_text(sw_part_name(line->part)), failed);
    sw_json_set(object, "kind", sw_json_text(sw_part_kind_name(line->kind)), failed);
    sw_json_set(object, "included", json_boolean(line->included), failed);
    sw_json_set(object, "u", sw_json_number(line->u, U_DECIMALS), failed);
    sw_json_set(object, "share", sw_json_number(line->share, SHARE_DECIMALS), failed);
    if (!line->included) {
        sw_json_set(object, "left_out", sw_json_number(line->left_out, U_DECIMALS), failed);
        sw_json_set(object, "note", sw_json_text(line->note), failed);
    }
    return object;
}

static json_t *budget(const sw_figure_budget *from, int *failed)
{
    json_t *object = json_object(), *components = json_array();
    for (size_t i = 0; i < from->line_count; i++)
        sw_json_append(components, component(&from->lines[i], failed), failed);
    sw_json_set(object, "figure", sw_json_text(sw_budget_figure_name(from->figure)), failed);
    sw_json_set(object, "of", sw_json_text(from->where), failed);
    sw_json_set(object, "value", sw_json_number(from->value, VALUE_DECIMALS), failed);
    sw_json_set(object, "unit", sw_json_text(from->unit), failed);
    sw_json_set(object, "u95", sw_json_number(from->u95, VALUE_DECIMALS), failed);
    sw_json_set(object, "degrees_of_freedom", sw_json_number(from->degrees_of_freedom, FREEDOM_DECIMALS), failed);
    sw_json_set(object, "components", components, failed);
    sw_json_set(object, "next", sw_json_text(from->next), failed);
    return object;
}

json_t *sw_json_budgets(const sw_inspection *inspection, int *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < inspection->budget_count; i++)
        sw_json_append(array, budget(&inspection->budgets[i], failed), failed);
    return array;
}
