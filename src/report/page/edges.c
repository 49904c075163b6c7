/* edges.c - what to do, edge by edge, most urgent first; edges to be left alone come last and grey. */
#include <math.h>

#include "report/page/page.h"

/* A cell that a phone shows with its name before it, and not at all when there is nothing to say. */
static void open_cell(sw_sheet *sheet, const char *class_name, const char *name, bool filled)
{
    sw_sheet_put(sheet, "<td class=\"%s%s\" data-name=\"%s\">", class_name, filled ? "" : " none", name);
}

static void put_where(sw_sheet *sheet, const sw_advice *advice)
{
    bool known = isfinite(advice->from_mm) && isfinite(advice->to_mm) && advice->to_mm > advice->from_mm;
    open_cell(sheet, "", "Where", known);
    if (known)
        sw_sheet_put(sheet, "%.0f to %.0f mm %s", advice->from_mm, advice->to_mm,
                     sw_from_end(sw_side_upright(advice->side)));
    sw_sheet_put(sheet, "</td>");
}

static void put_row(sw_sheet *sheet, const sw_inspection *inspection, const sw_advice *advice)
{
    char edge[EDGE_NAME_ROOM];
    const char *seam = sw_advice_seam(inspection, advice);
    sw_sheet_put(sheet, "<tr><td class=\"deeds\">%d. %s</td>", advice->rank,
                 sw_edge_name(inspection, advice->tile, advice->side, edge));
    sw_sheet_put(sheet, "<td class=\"deeds\">%s</td>", sw_action_name(advice->action));
    open_cell(sheet, "figure", "Take off at most", advice->remove_mm > 0);
    if (advice->remove_mm > 0)
        sw_sheet_put(sheet, "%.2f mm", advice->remove_mm);
    sw_sheet_put(sheet, "</td>");
    put_where(sheet, advice);
    open_cell(sheet, "", "Widest gap", 1);
    sw_page_figure_mm(sheet, advice->worst_gap_mm, advice->u95_mm, " mm");
    if (seam[0])
        sw_sheet_put(sheet, " in <a href=\"#seam-%s\"><span class=\"figure\">%s</span></a>", seam, seam);
    sw_sheet_put(sheet, "</td>");
    open_cell(sheet, "", "Why", advice->reason[0] != 0);
    sw_page_text(sheet, advice->reason);
    sw_sheet_put(sheet, "</td></tr>\n");
}

static size_t count_left_alone(const sw_inspection *inspection)
{
    size_t count = 0;
    for (size_t i = 0; i < inspection->advice_count; i++)
        count += inspection->ranking[i].action == SW_LEAVE;
    return count;
}

static void put_left_alone(sw_sheet *sheet, const sw_inspection *inspection)
{
    char edge[EDGE_NAME_ROOM];
    const char *before = "";
    sw_sheet_put(sheet, "<details class=\"leave\"><summary>Leave as they are: ");
    for (size_t i = 0; i < inspection->advice_count; i++) {
        const sw_advice *advice = &inspection->ranking[i];
        if (advice->action != SW_LEAVE)
            continue;
        sw_sheet_put(sheet, "%s%s", before, sw_edge_name(inspection, advice->tile, advice->side, edge));
        before = ", ";
    }
    sw_sheet_put(sheet, ".</summary>\n<ul>\n");
    for (size_t i = 0; i < inspection->advice_count; i++) {
        const sw_advice *advice = &inspection->ranking[i];
        if (advice->action != SW_LEAVE)
            continue;
        sw_sheet_put(sheet, "<li>%s: widest gap ", sw_edge_name(inspection, advice->tile, advice->side, edge));
        sw_page_figure_mm(sheet, advice->worst_gap_mm, advice->u95_mm, " mm");
        sw_sheet_put(sheet, ". ");
        sw_page_text(sheet, advice->reason);
        sw_sheet_put(sheet, "</li>\n");
    }
    sw_sheet_put(sheet, "</ul></details>\n");
}

void sw_page_edges(sw_sheet *sheet, const sw_inspection *inspection)
{
    size_t left_alone = count_left_alone(inspection);
    sw_sheet_put(sheet, "<h2>Edges, most urgent first</h2>\n");
    if (left_alone == inspection->advice_count)
        sw_sheet_put(sheet, "<p>No edge asks for anything.</p>\n");
    else
        sw_sheet_put(
            sheet,
            "<p>A gap closes where the tiles touch, not where they gape: sand only where this list says, a little at a "
            "time, and take a new photo.</p>\n<table class=\"ranked\">\n<thead><tr><th scope=\"col\">Edge</th><th "
            "scope=\"col\">What to do</th><th scope=\"col\">Take off at most</th><th scope=\"col\">Where</th><th "
            "scope=\"col\">Widest gap</th><th scope=\"col\">Why</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < inspection->advice_count; i++)
        if (inspection->ranking[i].action != SW_LEAVE)
            put_row(sheet, inspection, &inspection->ranking[i]);
    if (left_alone < inspection->advice_count)
        sw_sheet_put(sheet, "</tbody></table>\n");
    if (left_alone)
        put_left_alone(sheet, inspection);
}
