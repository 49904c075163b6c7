/* text.c - the plan for a terminal. */
#include "report/common/words.h"
#include "report/plan/words.h"

enum { LISTED = 4 }; /* of what cannot be mended; all of it is on the page */

static void put_lines(sw_sheet *sheet, const char *before, const sw_notes *notes)
{
    for (size_t i = 0; i < notes->count; i++)
        sw_sheet_put(sheet, "%s%s\n", before, notes->list[i].text);
}

/* One line a seam, most worth first. */
static void put_work(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    for (size_t i = 0; i < plan->work_count; i++) {
        const sw_work_line *line = &plan->work[i];
        sw_sheet_put(sheet, "%s%3zu. %s: %s. %s", i ? "" : "\n", i + 1, sw_plan_work_name(first, line), line->cause,
                     line->what);
        if (line->seam >= 0) {
            sw_sheet_put(sheet, " (");
            sw_plan_words_worth(sheet, line);
            sw_sheet_put(sheet, ")");
        }
        sw_sheet_put(sheet, "\n");
    }
}

/* A plan for any layout has no list: an edge a line. */
static void put_edges(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    sw_sheet_put(sheet, "%s", plan->edge_count ? "\n" : "");
    for (size_t i = 0; i < plan->edge_count; i++) {
        char name[EDGE_NAME_ROOM];
        const sw_edge_plan *edge = &plan->edges[i];
        sw_sheet_put(sheet, "%3zu. %s: ", i + 1, sw_edge_name(first, edge->tile, edge->side, name));
        sw_plan_words_edge(sheet, edge);
        sw_sheet_put(sheet, "\n");
    }
}

static void put_limits(sw_sheet *sheet, const sw_plan *plan)
{
    if (!plan->by_limit_count)
        return;
    sw_sheet_put(sheet, "\nHow good is good enough:\n  limit, mm  faces to bevel  edges to true up  off, mm2\n");
    for (size_t i = 0; i < plan->by_limit_count; i++) {
        const sw_limit_cost *cost = &plan->by_limit[i];
        sw_sheet_put(sheet, "  %-11.2f%-16d%-18d%.0f%s\n", cost->limit_mm, cost->bevels, cost->true_ups,
                     cost->removed_mm2, sw_plan_own_limit(plan, cost) ? "  (this plan)" : "");
    }
}

/* A few lines, and all chips in one. */
static void put_cannot(sw_sheet *sheet, const sw_plan *plan)
{
    size_t shown = 0, more = 0;
    if (plan->cannot.count)
        sw_sheet_put(sheet, "\nWhat this plan does not mend:\n");
    for (size_t i = 0; i < plan->cannot.count; i++) {
        if (plan->cannot.list[i].kind == SW_NOTE_CHIP)
            continue;
        if (shown < LISTED)
            sw_sheet_put(sheet, "  %s\n", plan->cannot.list[i].text);
        *(shown < LISTED ? &shown : &more) += 1;
    }
    if (more)
        sw_sheet_put(sheet, "  and %zu more; all are on the page\n", more);
    if (sw_plan_words_chips(sheet, "  ", plan))
        sw_sheet_put(sheet, "\n");
}

static void put_square(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    int tile = plan->limiting_tile;
    sw_sheet_put(sheet, "\nCommon square: ");
    sw_sheet_number(sheet, plan->common_tile_mm, 2, "not found");
    sw_sheet_put(sheet, " ± ");
    sw_sheet_number(sheet, plan->common_tile_u95_mm, 2, "?");
    sw_sheet_put(sheet, " mm a side");
    if (tile >= 0 && (size_t)tile < first->tile_count)
        sw_sheet_put(sheet, "; %s keeps it from being larger", first->tiles[tile].name);
    sw_sheet_put(sheet, ".\n");
}

char *sw_report_plan_text(const sw_plan *plan, const sw_inspection *first, const char *folder)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_plan_words_verdict(&sheet, plan);
    sw_sheet_put(&sheet, "\n");
    sw_plan_words_work(&sheet, plan);
    if (plan->edge_count)
        sw_sheet_put(&sheet, "\n");
    if (plan->purpose == SW_PLAN_ANY) {
        put_edges(&sheet, plan, first);
        put_square(&sheet, plan, first);
    }
    put_work(&sheet, plan, first);
    put_limits(&sheet, plan);
    put_cannot(&sheet, plan);
    sw_sheet_put(&sheet, "\nNext: %s\n", plan->next);
    if (sw_plan_words_proposal(&sheet, plan))
        sw_sheet_put(&sheet, "\n");
    if (sw_plan_any_sanding(plan)) {
        sw_words_order(&sheet);
        sw_sheet_put(&sheet, "\n");
        sw_words_mask(&sheet);
    }
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
