/* page_work.c - the work list, and what other limits would cost. */
#include "report/plan/page.h"

static void put_line(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first, const sw_work_line *line)
{
    sw_sheet worth;
    sw_sheet_put(sheet, "<li><p class=\"lead\"><b>%s</b>: ", sw_plan_work_name(first, line));
    sw_page_text(sheet, line->cause);
    sw_sheet_put(sheet, "</p>\n<p>");
    sw_page_text(sheet, line->what);
    sw_sheet_put(sheet, "</p>\n<p class=\"worth\">");
    sw_sheet_start(&worth);
    sw_plan_words_worth(&worth, line);
    sw_page_plain(sheet, &worth);
    for (int k = 0; k < line->edge_count; k++) {
        const sw_edge_plan *edge = &plan->edges[line->edges[k]];
        char name[EDGE_NAME_ROOM];
        sw_sheet_put(sheet, "%s<a href=\"#edge-%d\">%s</a>", k ? ", " : "; place by place: ", line->edges[k] + 1,
                     sw_edge_name(first, edge->tile, edge->side, name));
    }
    sw_sheet_put(sheet, "</p></li>\n");
}

void sw_plan_page_work(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    if (!plan->work_count)
        return;
    sw_sheet_put(sheet,
                 "<h2>What to do, seam by seam</h2>\n<p>The seam whose work is worth most stands first.</p>\n<ol "
                 "class=\"work\">\n");
    for (size_t i = 0; i < plan->work_count; i++)
        put_line(sheet, plan, first, &plan->work[i]);
    sw_sheet_put(sheet, "</ol>\n");
}

void sw_plan_page_limits(sw_sheet *sheet, const sw_plan *plan)
{
    if (!plan->by_limit_count)
        return;
    sw_sheet_put(sheet, "<h2>How good is good enough</h2>\n<p>What this table would ask for with another limit "
                        "(<b>--tolerance</b>).</p>\n<table class=\"limits\"><thead><tr><th scope=\"col\">Limit</th><th "
                        "scope=\"col\">Faces to bevel</th><th scope=\"col\">Edges to true up</th><th "
                        "scope=\"col\">Off the top edges</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < plan->by_limit_count; i++) {
        const sw_limit_cost *cost = &plan->by_limit[i];
        bool own = sw_plan_own_limit(plan, cost);
        sw_sheet_put(
            sheet,
            "<tr%s><th scope=\"row\"><span class=\"figure\">%.2f&nbsp;mm</span>%s</th><td>%d</td><td>%d</td><td "
            "class=\"figure\">%.0f&nbsp;mm²</td></tr>\n",
            own ? " class=\"own\"" : "", cost->limit_mm, own ? " (this plan)" : "", cost->bevels, cost->true_ups,
            cost->removed_mm2);
    }
    sw_sheet_put(sheet, "</tbody></table>\n");
}
