/* page.c - plan.html: one page that needs no network. What the plan promises first, then one next step, cautions, the
 * work list with the table from above, what other limits cost, the seams, and the edges place by place. */
#include "report/plan/page.h"

const char sw_plan_page_style[] =
    ".profile{display:block;width:100%;height:auto;margin-top:8px}\n"
    ".wedge{display:block;width:100%;max-width:300px;height:auto;margin-top:8px}\n"
    ".above{display:block;width:100%;height:auto;max-width:820px;background:var(--card);border:1px solid var(--rule)}\n"
    ".key{list-style:none;padding:0;margin:.6rem 0}\n"
    ".key li{margin:.3rem 0;max-width:75ch}\n"
    ".key svg{width:34px;height:18px;vertical-align:-.2em;margin-right:.4em}\n"
    ".card h3 .amount{float:right;font-weight:400}\n"
    ".settle{padding:10px 14px;background:var(--card);border:1px solid "
    "var(--rule);font-family:ui-monospace,monospace;overflow-wrap:anywhere}\n"
    ".work{padding-left:1.6em;margin:.6rem 0}\n"
    ".work>li{margin:.6rem 0;padding:8px 12px;background:var(--card);border:1px solid var(--rule);border-left:8px "
    "solid "
    "var(--ink)}\n"
    ".work p{margin:.15rem 0}\n"
    ".work .lead{font-size:1.05rem}\n"
    ".worth{color:var(--soft);font-size:.95rem}\n"
    ".worth::first-letter{text-transform:uppercase}\n"
    ".limits{max-width:640px}\n"
    ".limits th,.limits td{overflow-wrap:normal}\n"
    "@media (max-width:420px){.limits th,.limits td{padding:6px}}\n"
    ".limits .own th,.limits .own td{font-weight:700;background:#fff}\n"
    ".checks{margin-top:1rem}\n"
    "summary{cursor:pointer}\n"
    ".seamplan .sign{margin-right:.3em}\n"
    "@media (min-width:701px) and (max-width:860px){.seamplan{font-size:.8rem}.seamplan th,.seamplan td{padding:6px "
    "5px}}\n"
    "@media print{.work>li{break-inside:avoid}.grid.sanding{grid-template-columns:1fr "
    "1fr}.above{max-width:150mm;margin:0 auto}}\n";

static void put_verdict(sw_sheet *sheet, const sw_plan *plan)
{
    sw_verdict verdict = sw_plan_fits(plan) ? SW_WITHIN : plan->purpose == SW_PLAN_ANY ? SW_OVER : SW_TOO_CLOSE;
    for (size_t i = 0; verdict == SW_TOO_CLOSE && i < plan->seam_count; i++)
        if (sw_plan_seam_verdict(plan, &plan->seams[i]) == SW_OVER)
            verdict = SW_OVER; /* else some were not seen */
    sw_sheet plain, more;
    sw_sheet_start(&plain);
    sw_sheet_start(&more);
    sw_plan_words_verdict(&plain, plan);
    sw_plan_words_work(&more, plan);
    sw_page_verdict(sheet, verdict, &plain, &more);
}

static void put_next(sw_sheet *sheet, const sw_plan *plan)
{
    sw_page_next(sheet, plan->next);
    if (sw_plan_any_sanding(plan))
        sw_page_mask(sheet);
    sw_sheet_put(sheet, "</section>\n");
}

static void put_list(sw_sheet *sheet, const char *heading, const sw_notes *notes)
{
    if (!notes->count)
        return;
    sw_sheet_put(sheet, "<h2>%s</h2>\n<ul class=\"words\">\n", heading);
    for (size_t i = 0; i < notes->count; i++) {
        sw_sheet_put(sheet, "<li>");
        sw_page_text(sheet, notes->list[i].text);
        sw_sheet_put(sheet, "</li>\n");
    }
    sw_sheet_put(sheet, "</ul>\n");
}

static void put_how(sw_sheet *sheet, const sw_plan *plan)
{
    if (!sw_plan_any_sanding(plan))
        return;
    sw_sheet_put(sheet, "<h2>With the strips</h2>\n<ol class=\"words\">\n"
                        "<li>Print <b>strips.pdf</b> at 100&nbsp;%% (&quot;actual size&quot;, not fit to page). The "
                        "ruler on every sheet must measure 100&nbsp;mm.</li>\n"
                        "<li>Lay an edge&#39;s strip on the tile, its arrow to the tile, its ends at the tile&#39;s "
                        "ends, and mark the places on the tile.</li>\n"
                        "<li>Sand with a flat block longer than the stretch, square to the top, a little at a time. "
                        "Take off half of what the strip says, then measure or try the fit.</li>\n"
                        "<li>Stop early rather than late: what is off stays off.</li>\n</ol>\n");
}

static void put_foot(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    sw_sheet_put(sheet, "</main>\n<footer>Plan made from the inspection of ");
    sw_sheet_html(sheet, first->file);
    sw_sheet_put(sheet, ", %s, limit %.2f mm, no cut deeper than %.1f mm, side faces %.0f mm high",
                 plan->purpose == SW_PLAN_ANY ? "for every layout and turn" : "for the layout as photographed",
                 plan->tolerance_mm, plan->deepest_cut_mm, plan->height_mm);
    sw_sheet_put(sheet, ". ");
    sw_page_foot(sheet, "The figures are also in plan.json, the strips to print in strips.pdf");
}

sw_status sw_report_plan_page(const sw_plan *plan, const sw_inspection *first, const char *path, sw_error *err)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_page_head(&sheet, "Sanding plan for", first->file, sw_plan_page_style);
    put_verdict(&sheet, plan);
    put_next(&sheet, plan);
    sw_sheet_put(&sheet, "</header>\n<main>\n");
    sw_plan_page_work(&sheet, plan, first);
    sw_plan_page_table(&sheet, plan, first);
    if (sw_plan_any_sanding(plan))
        sw_page_order(&sheet);
    sw_plan_page_limits(&sheet, plan);
    sw_plan_page_seams(&sheet, plan, first);
    sw_plan_page_any(&sheet, plan, first);
    put_list(&sheet, "What this plan does not mend", &plan->cannot);
    sw_plan_page_edges(&sheet, plan, first);
    put_how(&sheet, plan);
    sw_plan_page_leans(&sheet, plan, first);
    put_list(&sheet, "Mind", &plan->notes);
    if (sw_plan_any_sanding(plan))
        sw_page_safety(&sheet);
    put_foot(&sheet, plan, first);
    return sw_sheet_save(&sheet, path, err);
}
