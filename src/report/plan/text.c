/* text.c - the plan for a terminal. */
#include "report/common/words.h"
#include "report/plan/words.h"

static void put_lines(sw_sheet *sheet, const char *before, const sw_notes *notes)
{
    for (size_t i = 0; i < notes->count; i++)
        sw_sheet_put(sheet, "%s%s\n", before, notes->list[i].text);
}

/* Each edge's reason; of edges that are only to be checked for lean the first one's, as it is much the same for all. */
static void put_edges(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    bool told = false;
    for (size_t i = 0; i < plan->edge_count; i++) {
        const sw_edge_plan *edge = &plan->edges[i];
        char name[EDGE_NAME_ROOM];
        bool check = !sw_plan_sands(edge) && edge->lean == SW_LEAN_OPEN;
        if (!check || !told) {
            sw_sheet_put(sheet, "%3zu. %s\n", i + 1, edge->why);
            told |= check;
            continue;
        }
        sw_sheet_put(sheet, "%3zu. %s, likewise: ", i + 1, sw_edge_name(first, edge->tile, edge->side, name));
        sw_sheet_put(sheet, "if it leans, bevel at most %.2f mm (%.1f degrees) at the base.\n", edge->bevel_mm,
                     edge->bevel_deg);
    }
}

char *sw_report_plan_text(const sw_plan *plan, const sw_inspection *first, const char *folder)
{
    sw_sheet sheet;
    int tile = plan->limiting_tile;
    sw_sheet_start(&sheet);
    sw_plan_words_verdict(&sheet, plan);
    sw_sheet_put(&sheet, "\n");
    if (plan->edge_count)
        sw_sheet_put(&sheet, "\n");
    put_edges(&sheet, plan, first);
    if (plan->purpose == SW_PLAN_ANY) {
        sw_sheet_put(&sheet, "\nCommon square: ");
        sw_sheet_number(&sheet, plan->common_tile_mm, 2, "not found");
        sw_sheet_put(&sheet, " ± ");
        sw_sheet_number(&sheet, plan->common_tile_u95_mm, 2, "?");
        sw_sheet_put(&sheet, " mm a side");
        if (tile >= 0 && (size_t)tile < first->tile_count)
            sw_sheet_put(&sheet, "; %s keeps it from being larger", first->tiles[tile].name);
        sw_sheet_put(&sheet, ".\n");
    }
    if (plan->cannot.count)
        sw_sheet_put(&sheet, "\nWhat sanding cannot mend:\n");
    put_lines(&sheet, "  ", &plan->cannot);
    sw_sheet_put(&sheet, "\nNext: %s\n", plan->next);
    if (plan->settling_layout && plan->settling_layout[0])
        sw_sheet_put(&sheet,
                     "Or find out which edges lean without a try square: lay the tiles as \"%s\", push tight, "
                     "photograph, inspect, and plan from both inspections with that as --layout.\n",
                     plan->settling_layout);
    if (sw_plan_any_sanding(plan))
        sw_words_mask(&sheet);
    if (plan->answer_count) {
        sw_words_answers(&sheet, plan->answers, plan->answer_count, first);
        sw_sheet_put(&sheet, "\n");
    }
    put_lines(&sheet, "Mind: ", &plan->notes);
    if (folder && folder[0])
        sw_sheet_put(&sheet, "Plan: %s/plan.html%s\n", folder,
                     sw_plan_any_sanding(plan) ? " and strips.pdf to print at 100 %, beside plan.json"
                                               : ", beside plan.json");
    return sw_sheet_take(&sheet);
}
