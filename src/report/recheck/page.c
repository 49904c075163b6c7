/* page.c - recheck.html: verdict and next step, before and after side by side, seams, edges. */
#include "report/recheck/page.h"

#include <math.h>

const char sw_recheck_page_style[] =
    ".pair{display:block;width:100%;height:auto;background:var(--card);border:1px solid var(--rule)}\n"
    ".pair .tile{fill:#ece8dc;stroke:var(--soft);stroke-width:1}\n"
    ".pair .gap{fill:var(--tone);stroke:var(--tone);stroke-width:.4}\n"
    ".pair .blind{fill:url(#hatch)}\n"
    ".pair .disc{fill:var(--wash);stroke:var(--tone-ink);stroke-width:1.6}\n"
    ".pair .mark{fill:none;stroke:var(--tone-ink);stroke-width:3.8;stroke-linecap:round;stroke-linejoin:round}\n"
    ".pair "
    "text{font-size:12px;text-anchor:middle;font-variant-numeric:tabular-nums;paint-order:stroke;stroke:var(--card);"
    "stroke-width:3px}\n"
    ".pair .name{font-size:17px;font-weight:600;stroke:none}\n"
    ".figures{display:grid;gap:16px;grid-template-columns:repeat(auto-fit,minmax(min(100%,330px),1fr))}\n"
    ".figures h3{margin-bottom:.3rem}\n"
    ".changes .sign{margin-right:.35em}\n"
    ".changes tbody th{border-left:8px solid var(--tone-ink)}\n"
    ".changes th span{font-weight:400;font-size:.9em}\n"
    "@media (max-width:700px){.changes{font-size:.8rem}.changes th,.changes td{padding:5px 4px}}\n"
    ".ranked tr.over,.ranked tr.close,.ranked tr.within{border-left-color:var(--tone-ink)}\n"
    "@media print{.figures{grid-template-columns:1fr 1fr}.figures figure{break-inside:avoid}}\n";

static void put_verdict(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                        const sw_inspection *after)
{
    sw_sheet plain;
    sw_sheet_start(&plain);
    sw_recheck_words_verdict(&plain, recheck, before, after);
    sw_page_verdict(sheet, sw_recheck_verdict(recheck), &plain, NULL);
}

static void put_next(sw_sheet *sheet, const sw_recheck *recheck)
{
    sw_page_next(sheet, recheck->next);
    if (!recheck->stop)
        sw_page_mask(sheet);
    sw_sheet_put(sheet, "</section>\n");
    sw_page_mind(sheet, &recheck->notes);
}

static double widest(const sw_inspection *inspection, double most)
{
    for (size_t i = 0; i < inspection->seam_count; i++)
        if (isfinite(inspection->seams[i].max_mm))
            most = fmax(most, inspection->seams[i].max_mm);
    return most;
}

static void put_figure(sw_sheet *sheet, const sw_recheck_view *view, const char *title, const char *label)
{
    sw_sheet_put(sheet, "<figure><h3>%s</h3>\n", title);
    sw_recheck_picture(sheet, view, label);
    sw_sheet_put(sheet, "<figcaption>");
    sw_sheet_html(sheet, view->inspection->file);
    if (view->inspection->taken[0]) {
        sw_sheet_put(sheet, ", taken ");
        sw_sheet_html(sheet, view->inspection->taken);
    }
    sw_sheet_put(sheet, "</figcaption></figure>\n");
}

static bool moved(const sw_recheck *recheck)
{
    for (size_t i = 0; i < recheck->place_count; i++)
        if (recheck->places[i].tile != (int)i || recheck->places[i].turns)
            return true;
    return false;
}

static void put_pictures(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                         const sw_inspection *after)
{
    double most = widest(before, widest(after, recheck->tolerance_mm)), units = (SW_RECHECK_ROOM - 4) / most;
    sw_recheck_view was = {before, before, NULL, recheck->tolerance_mm, units};
    sw_recheck_view is = {after, before, recheck->places, recheck->tolerance_mm, units};
    sw_sheet_put(sheet,
                 "<h2>Before and after</h2>\n<p>Every seam as wide as its gap, some %.0f times larger than the tiles, "
                 "with its widest gap in mm. A tick is within %.2f&nbsp;mm, a cross over it, a question mark too close "
                 "to call or not seen.%s</p>\n<div class=\"figures\">\n",
                 before->table.tile_mm / SW_RECHECK_TILE * units, recheck->tolerance_mm,
                 moved(recheck) ? " Tiles have the names they had before; r, h or l behind a name: turned a quarter to "
                                  "the right, half, or a quarter to the left since."
                                : "");
    put_figure(sheet, &was, "Before",
               "The table before, each seam with its widest gap; the figures are in the list of seams below");
    put_figure(sheet, &is, "After",
               "The table after, each seam with its widest gap; the figures are in the list of seams below");
    sw_sheet_put(sheet, "</div>\n");
}

static void put_seam(sw_sheet *sheet, const sw_seam_change *seam, const sw_inspection *after)
{
    sw_sheet_put(sheet, "<tr class=\"%s\"><th scope=\"row\">", sw_page_class(seam->verdict));
    sw_page_sign(sheet, seam->verdict);
    sw_sheet_html(sheet, after->seams[seam->seam].name);
    sw_sheet_put(sheet, "<br><span>%s</span></th>", sw_verdict_name(seam->verdict));
    if (seam->before < 0)
        sw_sheet_put(sheet, "<td>did not meet</td>");
    else
        sw_page_figure_cell(sheet, seam->before_mm, seam->before_u95_mm);
    sw_page_figure_cell(sheet, seam->after_mm, seam->after_u95_mm);
    sw_sheet_put(sheet, "<td><span class=\"figure\">");
    sw_recheck_words_change(sheet, seam->change_mm, "-");
    if (isfinite(seam->change_mm)) {
        sw_sheet_put(sheet, " ± ");
        sw_sheet_number(sheet, seam->change_u95_mm, 2, "?");
    }
    sw_sheet_put(sheet, "</span></td></tr>\n");
}

static void put_seams(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *after)
{
    if (!recheck->seam_count)
        return;
    sw_sheet_put(sheet, "<h2>Seams before and after, worst first</h2>\n<table class=\"changes\"><thead><tr><th "
                        "scope=\"col\">Seam</th><th scope=\"col\">Before, mm</th><th scope=\"col\">After, mm</th><th "
                        "scope=\"col\">Change, mm</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < recheck->seam_count; i++)
        put_seam(sheet, &recheck->seams[i], after);
    sw_sheet_put(sheet, "</tbody></table>\n");
}

static void put_edge(sw_sheet *sheet, const sw_recheck *recheck, const sw_edge_change *edge,
                     const sw_inspection *before)
{
    char name[EDGE_NAME_ROOM];
    bool bad = edge->too_much || edge->together_over;
    const char *remark = sw_recheck_remark(recheck, edge);
    sw_sheet_put(sheet, "<tr class=\"%s\"><td class=\"deeds\">%s</td>",
                 bad                ? "over"
                 : edge->not_enough ? "close"
                                    : "",
                 sw_edge_name(before, edge->tile, edge->side, name));
    if (recheck->planned) {
        sw_sheet_put(sheet, "<td class=\"figure\" data-name=\"Planned, mm\">");
        sw_sheet_number(sheet, edge->planned ? edge->planned_mm : NAN, 2, "-");
        sw_sheet_put(sheet, "</td>");
    }
    sw_sheet_put(sheet, "<td data-name=\"Came off, mm\">");
    sw_page_figure(sheet, edge->taken_mm, edge->taken_u95_mm);
    sw_sheet_put(sheet, "</td><td class=\"%s\" data-name=\"Where\">", isfinite(edge->taken_at_mm) ? "" : "none");
    if (isfinite(edge->taken_at_mm))
        sw_sheet_put(sheet, "%.0f&nbsp;mm %s", edge->taken_at_mm, sw_from_end(sw_side_upright(edge->side)));
    sw_sheet_put(sheet, "</td><td data-name=\"With the opposite edge, mm\">");
    sw_page_figure(sheet, edge->together_mm, edge->together_u95_mm);
    if (recheck->planned && isfinite(edge->together_mm)) {
        sw_sheet_put(sheet, " (planned ");
        sw_sheet_number(sheet, edge->together_planned_mm, 2, "?");
        sw_sheet_put(sheet, ")");
    }
    sw_sheet_put(sheet, "</td><td class=\"%s\" data-name=\"Remark\">%s</td></tr>\n", remark[0] ? "" : "none", remark);
}

static void put_edges(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before)
{
    sw_sheet_put(sheet, "<h2>What came off the edges</h2>\n");
    if (!recheck->edge_count) {
        sw_sheet_put(sheet, "<p>Nothing, as far as the two photos can tell.</p>\n");
        return;
    }
    sw_sheet_put(sheet,
                 "<p>At the place where %s. What came off an edge and the opposite one together is the tile&#39;s loss "
                 "of width there; how much of it came off which of the two shows only where an edge kept some of its "
                 "old shape%s, and the ± says how far that goes.</p>\n<table class=\"ranked\"><thead><tr><th "
                 "scope=\"col\">Edge</th>%s<th scope=\"col\">Came off, mm</th><th scope=\"col\">Where</th><th "
                 "scope=\"col\">With the opposite edge, mm</th><th scope=\"col\">Remark</th></tr></thead><tbody>\n",
                 recheck->planned ? "the plan goes deepest, or, on an edge without a plan, where most came off"
                                  : "most came off",
                 recheck->planned ? " or was not to be sanded" : "",
                 recheck->planned ? "<th scope=\"col\">Planned, mm</th>" : "");
    for (size_t i = 0; i < recheck->edge_count; i++)
        put_edge(sheet, recheck, &recheck->edges[i], before);
    sw_sheet_put(sheet, "</tbody></table>\n");
}

void sw_recheck_page_rounds(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before)
{
    sw_sheet_put(sheet, "<p>Seams over %.2f&nbsp;mm, round by round: <b>", recheck->tolerance_mm);
    sw_recheck_words_rounds(sheet, recheck, before, " → ");
    sw_sheet_put(sheet, "</b>, of %zu.</p>\n", recheck->seam_count);
}

void sw_recheck_page_changes(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                             const sw_inspection *after)
{
    put_pictures(sheet, recheck, before, after);
    put_seams(sheet, recheck, after);
    put_edges(sheet, recheck, before);
}

sw_status sw_report_recheck_page(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after,
                                 const char *path, sw_error *err)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_page_head(&sheet, "Recheck of", after->file, sw_recheck_page_style);
    put_verdict(&sheet, recheck, before, after);
    put_next(&sheet, recheck);
    sw_sheet_put(&sheet, "</header>\n<main>\n");
    if (before->round_count)
        sw_recheck_page_rounds(&sheet, recheck, before);
    sw_recheck_page_changes(&sheet, recheck, before, after);
    if (!recheck->stop) {
        sw_page_order(&sheet);
        sw_page_safety(&sheet);
    }
    sw_sheet_put(&sheet, "</main>\n<footer>");
    sw_page_foot(&sheet, "Every ± is 95&nbsp;%. All figures are also in recheck.json");
    return sw_sheet_save(&sheet, path, err);
}
