/* page_seams.c - what becomes of the seams, the common square, and what is open about leans. */
#include <math.h>

#include "report/plan/page.h"

/* A best case that is better by less is not worth a word, mm. */
static const double SHOWS_MM = 0.05;

/* A cell that a phone shows with its name before it, and not at all when there is nothing to say. */
static void put_cell(sw_sheet *sheet, const char *name, double mm, const char *missing)
{
    sw_sheet_put(sheet, "<td class=\"figure\" data-name=\"%s\">", name);
    sw_sheet_number(sheet, mm, 2, missing);
    sw_sheet_put(sheet, "%s</td>", isfinite(mm) ? "&nbsp;mm" : "");
}

static void put_touches(sw_sheet *sheet, const sw_seam_plan *seam, bool upright)
{
    sw_sheet_put(sheet, "<td class=\"%s\" data-name=\"Touches\">", seam->touch_count ? "" : "none");
    for (int i = 0; i < seam->touch_count && i < 4; i++)
        sw_sheet_put(sheet, "%s%.0f", i == 0 ? "" : i + 1 == seam->touch_count ? " and " : ", ", seam->touch_mm[i]);
    if (seam->touch_count)
        sw_sheet_put(sheet, "&nbsp;mm %s", sw_from_end(upright));
    sw_sheet_put(sheet, "</td>");
}

static bool is_upright(const sw_inspection *first, size_t index)
{
    return index < first->seam_count && first->seams[index].upright;
}

/* "0.49 ± 0.09 mm", and what it is at best where that differs. */
static void put_forecast(sw_sheet *sheet, const sw_seam_plan *seam)
{
    sw_sheet_put(sheet, "<td class=\"figure\" data-name=\"Promised\">");
    sw_page_figure_mm(sheet, seam->forecast_mm, seam->forecast_u95_mm, "&nbsp;mm");
    sw_sheet_put(sheet, "</td><td data-name=\"Verdict\">%s",
                 isfinite(seam->forecast_mm) ? sw_verdict_name(seam->forecast) : "not seen");
    if (seam->forecast_mm - seam->best_mm >= SHOWS_MM)
        sw_sheet_put(sheet, "; %.2f&nbsp;mm if no face leans that may", seam->best_mm);
    sw_sheet_put(sheet, "</td>");
}

static void put_seam(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first, size_t index)
{
    const sw_seam_plan *seam = &plan->seams[index];
    sw_verdict verdict = sw_plan_seam_verdict(plan, seam);
    sw_sheet_put(sheet, "<tr class=\"%s\"><td class=\"deeds\">", sw_page_class(verdict));
    sw_page_sign(sheet, verdict);
    sw_sheet_put(sheet, "%s</td><td class=\"figure\" data-name=\"Now\">", seam->name);
    sw_page_figure_mm(sheet, seam->max_now_mm, seam->max_now_u95_mm, "&nbsp;mm");
    sw_sheet_put(sheet, "</td>");
    put_cell(sheet, "Only pushed", seam->max_pushed_mm, "not known");
    put_forecast(sheet, seam);
    sw_sheet_put(sheet, "<td class=\"figure%s\" data-name=\"Stand-off\">",
                 seam->standoff_mm >= SW_PLAN_NOTHING_MM ? "" : " none");
    if (seam->standoff_mm >= SW_PLAN_NOTHING_MM)
        sw_sheet_put(sheet, "%.2f&nbsp;mm", seam->standoff_mm);
    sw_sheet_put(sheet, "</td>");
    put_touches(sheet, seam, is_upright(first, index));
    sw_sheet_put(sheet, "</tr>\n");
}

void sw_plan_page_seams(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    if (!plan->seam_count)
        return;
    sw_sheet_put(
        sheet,
        "<h2>Seams: now, and as promised</h2>\n<p>Widest gap of each seam, chips left out; the limit is "
        "%.2f&nbsp;mm. <b>Only pushed</b>: if you sand nothing and push the tiles together. <b>Promised</b>: %s "
        "<b>Stand-off</b>: how far the tops stay apart though pushed tight, because a side face "
        "leans.</p>\n<table class=\"ranked seamplan\">\n"
        "<thead><tr><th scope=\"col\">Seam</th><th scope=\"col\">Now</th><th scope=\"col\">Only "
        "pushed</th><th scope=\"col\">Promised</th><th scope=\"col\">Verdict</th><th "
        "scope=\"col\">Stand-off</th><th scope=\"col\">Touches, when pushed, at</th></tr></thead>\n<tbody>\n",
        plan->tolerance_mm,
        plan->purpose == SW_PLAN_ANY
            ? "the widest that any two edges of the set can leave, once sanded."
            : "once all work is done and the tiles are pushed; the ± holds the photo's own, and "
              "how tiles may come to lie.");
    for (size_t i = 0; i < plan->seam_count; i++)
        put_seam(sheet, plan, first, i);
    sw_sheet_put(sheet, "</tbody></table>\n");
}

void sw_plan_page_any(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    int tile = plan->limiting_tile;
    if (plan->purpose != SW_PLAN_ANY)
        return;
    sw_sheet_put(sheet, "<h2>Fit in every layout</h2>\n<dl>\n<dt>Common square</dt><dd>");
    if (isfinite(plan->common_tile_mm)) {
        sw_page_figure(sheet, plan->common_tile_mm, plan->common_tile_u95_mm);
        sw_sheet_put(sheet, "&nbsp;mm a side: every tile is brought to fill this square, nowhere beyond it.");
    } else {
        sw_sheet_put(sheet, "Not found.");
    }
    sw_sheet_put(sheet, "</dd>\n");
    if (tile >= 0 && (size_t)tile < first->tile_count)
        sw_sheet_put(sheet, "<dt>Limiting tile</dt><dd>%s is the tile that keeps the square from being larger.</dd>\n",
                     first->tiles[tile].name);
    sw_sheet_put(sheet, "<dt>Fits every way</dt><dd>%s</dd>\n</dl>\n",
                 plan->fits_every_way
                     ? "Yes: after the plan the set fits in every arrangement, each tile turned any way."
                     : "No: even after the plan some arrangements leave a seam over the limit.");
}

static size_t count_open(const sw_plan *plan)
{
    size_t count = 0;
    for (size_t i = 0; i < plan->edge_count; i++)
        count += sw_plan_bevels(&plan->edges[i]) && plan->edges[i].lean == SW_LEAN_OPEN;
    return count;
}

static void put_lean(sw_sheet *sheet, const sw_inspection *first, const sw_lean *lean)
{
    char name[EDGE_NAME_ROOM];
    sw_sheet_put(sheet, "<li><b>%s</b>: its base stands proud by ", sw_edge_name(first, lean->tile, lean->side, name));
    sw_sheet_number(sheet, lean->lean_mm, 2, "?");
    sw_sheet_put(sheet, "&nbsp;mm, it may be ");
    sw_sheet_number(sheet, lean->least_mm, 2, "?");
    if (isfinite(lean->most_mm))
        sw_sheet_put(sheet, " to %.2f&nbsp;mm.</li>\n", lean->most_mm);
    else
        sw_sheet_put(sheet, "&nbsp;mm or any more.</li>\n");
}

static void put_check(sw_sheet *sheet, const sw_plan *plan)
{
    sw_sheet_put(sheet, "<p><b>With a try square:</b> ");
    sw_page_text(sheet, sw_plan_words_try_square);
    sw_sheet_put(sheet, "</p>\n");
    for (size_t i = 0; i < plan->edge_count; i++)
        if (plan->edges[i].lean == SW_LEAN_OPEN) {
            sw_plan_page_wedge(sheet, &plan->edges[i], plan->height_mm); /* one shows what is meant */
            break;
        }
    if (!plan->settling_layout || !plan->settling_layout[0])
        return;
    sw_sheet_put(sheet,
                 "<p><b>Or with another photo:</b> lay the tiles like this (a row from west to east, then the next "
                 "row; <b>r</b> a quarter turn to the right, <b>h</b> half a turn, <b>l</b> a quarter to the left), "
                 "photograph and inspect them, then plan from both inspections with <b>--layout</b>:</p>\n"
                 "<p class=\"settle\">--layout &quot;");
    sw_sheet_html(sheet, plan->settling_layout);
    sw_sheet_put(sheet, "&quot;</p>\n");
}

void sw_plan_page_leans(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    size_t open = count_open(plan);
    if (!open && !plan->lean_count)
        return; /* no answers either: each is about a face of leans */
    sw_sheet_put(sheet, "<h2 id=\"lean\">Which edges lean</h2>\n<p>A side face leans when its base stands out beyond "
                        "its top edge: the bases touch first and hold the tops apart. ");
    if (open)
        sw_sheet_put(sheet,
                     "For <b>%zu edge%s</b> it is open whether %s or the one it faces does, or both. Bevel nothing "
                     "there before you have checked.",
                     open, open == 1 ? "" : "s", open == 1 ? "it" : "each");
    sw_sheet_put(sheet, "</p>\n");
    if (plan->lean_count)
        sw_sheet_put(sheet, "<ul class=\"words\">\n");
    for (size_t i = 0; i < plan->lean_count; i++)
        put_lean(sheet, first, &plan->leans[i]);
    if (plan->lean_count)
        sw_sheet_put(sheet, "</ul>\n");
    if (plan->answer_count) {
        sw_sheet_put(sheet, "<p>");
        sw_words_answers(sheet, plan->answers, plan->answer_count, first);
        sw_sheet_put(sheet, "</p>\n");
    }
    if (open || plan->settling_layout)
        put_check(sheet, plan);
}
