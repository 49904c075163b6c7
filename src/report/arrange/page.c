/* page.c - arrange.html: what it comes to, the next step, which tile goes where, both layouts from above, all
 * seams. */
#include <math.h>
#include <stdlib.h>

#include "report/arrange/picture.h"
#include "report/arrange/words.h"
#include "report/common/page.h"
#include "report/common/words.h"

/* The widest gap of both pictures, or the tolerance, is drawn so wide, in the pictures' units. */
static const double WIDEST_DRAWN = 26;

static const char STYLE[] =
    ".laid{display:block;width:100%;max-width:760px;height:auto;background:var(--card);border:1px solid var(--rule)}\n"
    ".wide{overflow-x:auto}\n"
    ".laid .tile{fill:#ece8dc;stroke:var(--soft);stroke-width:1}\n"
    ".laid .moved .tile{fill:#fff;stroke:var(--ink);stroke-width:4;stroke-dasharray:11 6}\n"
    ".laid .north{fill:none;stroke:var(--ink);stroke-width:3.2;stroke-linecap:round;stroke-linejoin:round}\n"
    ".laid .gap{fill:var(--tone);stroke:var(--tone);stroke-width:.4}\n"
    ".laid .blind{fill:none;stroke:var(--tone-ink);stroke-width:1.4;stroke-dasharray:3 3}\n"
    ".laid .disc{fill:var(--wash);stroke:var(--tone-ink);stroke-width:1.6}\n"
    ".laid .mark{fill:none;stroke:var(--tone-ink);stroke-width:3.8;stroke-linecap:round;stroke-linejoin:round}\n"
    ".laid "
    "text{font-size:13px;text-anchor:middle;font-variant-numeric:tabular-nums;paint-order:stroke;stroke:var(--card);"
    "stroke-width:3px}\n"
    ".laid .name{font-size:24px;font-weight:650;stroke:none}\n"
    ".laid .how{font-size:14px;stroke:none}\n"
    ".pairs{display:grid;gap:16px;grid-template-columns:repeat(auto-fit,minmax(min(100%,430px),1fr))}\n"
    ".pairs h3{margin-bottom:.3rem}\n"
    ".layout{font-family:ui-monospace,monospace;font-size:1rem;padding:8px "
    "12px;background:var(--wash,#ece8dc);border:1px solid var(--rule);overflow-wrap:anywhere}\n"
    ".moves{columns:20em;padding-left:1.4em}\n"
    ".moves li{margin:.25rem 0;break-inside:avoid}\n"
    ".changes tbody th{border-left:8px solid var(--tone-ink)}\n"
    ".changes .sign{margin-right:.35em}\n"
    "@media (max-width:700px){.changes{font-size:.85rem}.changes th,.changes td{padding:5px 4px}}\n"
    "@media print{.pairs{grid-template-columns:1fr 1fr}.pairs "
    "figure,.next{break-inside:avoid}.wide{overflow:visible}.laid{min-width:0!important}}\n";

static void put_verdict(sw_sheet *sheet, const sw_arrangement *arrangement)
{
    sw_sheet plain;
    sw_sheet_start(&plain);
    sw_arrange_words_verdict(&plain, arrangement);
    sw_page_verdict(sheet, sw_arrange_verdict(arrangement), &plain, NULL);
}

static void put_next(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first)
{
    sw_page_next(sheet, arrangement->next);
    if (arrangement->better) {
        char *text = sw_layout_text(&arrangement->after.layout, first);
        sheet->failed |= !text;
        sw_sheet_put(sheet,
                     "<p>This layout, as <b>--layout</b> takes it for the next photo:</p>\n<p class=\"layout\">\"");
        sw_sheet_html(sheet, text ? text : "");
        sw_sheet_put(sheet, "\"</p>\n");
        free(text);
    }
    sw_sheet_put(sheet, "</section>\n");
}

static void put_moves(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first)
{
    int places = arrangement->after.layout.columns * arrangement->after.layout.rows;
    sw_sheet_put(
        sheet,
        "<h2>Which tile goes where</h2>\n<p>%d of %d tiles move. Write the names on paper tape first, with an arrow to "
        "the north of the photo, and take all of them off before you lay them anew.</p>\n<ul class=\"moves\">\n",
        arrangement->moved, places);
    for (int p = 0; p < places; p++)
        if (sw_arrange_changed(arrangement, p)) {
            sw_sheet_put(sheet, "<li>");
            sw_arrange_words_deed(sheet, arrangement, first, p);
            sw_sheet_put(sheet, "</li>\n");
        }
    sw_sheet_put(sheet, "</ul>\n");
}

static void put_pictures(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first)
{
    const sw_arranged *before = &arrangement->before, *after = &arrangement->after;
    double most = fmax(fmax(before->worst_mm, after->worst_mm), arrangement->tolerance_mm), units = WIDEST_DRAWN / most;
    sw_arrange_view is = {after, first, arrangement->tolerance_mm, units},
                    was = {before, first, arrangement->tolerance_mm, units};
    sw_sheet_put(
        sheet,
        "<h2>From above</h2>\n<p>Each seam as wide as its widest gap, at worst, once the tiles are pushed together, "
        "some %.0f "
        "times larger than the tiles. A tick is within %.2f&nbsp;mm, a cross over it, a question mark "
        "too close to call, or not seen.%s</p>\n<div class=\"pairs\">\n",
        first->table.tile_mm / SW_ARRANGE_TILE * units, arrangement->tolerance_mm,
        arrangement->better
            ? " A tile with a dashed rim lies elsewhere or is turned; its arrow points to what was north in the photo."
            : "");
    if (arrangement->better) {
        sw_sheet_put(sheet, "<figure><h3>Lay them so</h3>\n");
        sw_arrange_picture(sheet, &is, "The new layout; tiles and seams are in the lists on this page");
        sw_sheet_put(sheet, "</figure>\n");
    }
    sw_sheet_put(sheet, "<figure><h3>As they lie in the photo</h3>\n");
    sw_arrange_picture(sheet, &was, "The layout as it is; its seams are in the list below");
    sw_sheet_put(sheet, "<figcaption>");
    sw_sheet_html(sheet, first->file);
    sw_sheet_put(sheet, "</figcaption></figure>\n</div>\n");
}

static void put_number(sw_sheet *sheet, double value)
{
    sw_sheet_put(sheet, "<td class=\"figure\">");
    sw_sheet_number(sheet, value, 2, "not seen");
    sw_sheet_put(sheet, "</td>");
}

static void put_seams(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first)
{
    const sw_arranged *before = &arrangement->before, *after = &arrangement->after;
    sw_sheet_put(sheet,
                 "<h2>All seams, pushed together</h2>\n<p>Seams have the names of their places, as in the photo. Chips "
                 "are left out. At worst: side faces lean as much as they may; at best: no more than they "
                 "must.</p>\n<table class=\"changes\"><thead><tr><th scope=\"col\">Seam</th><th "
                 "scope=\"col\">Widest now, mm</th><th scope=\"col\">Widest new, mm</th><th scope=\"col\">At best, "
                 "mm</th><th scope=\"col\">Mean new, mm</th><th scope=\"col\">New tiles</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < after->seam_count; i++) {
        const sw_arranged_seam *s = &after->seams[i];
        sw_verdict verdict = sw_arranged_verdict(s, arrangement->tolerance_mm);
        sw_sheet_put(sheet, "<tr class=\"%s\"><th scope=\"row\">", sw_page_class(verdict));
        sw_page_sign(sheet, verdict);
        sw_sheet_put(sheet, "%s</th>", s->name);
        put_number(sheet, before->seams[i].max_mm);
        put_number(sheet, s->max_mm);
        put_number(sheet, s->best_mm);
        put_number(sheet, s->mean_mm);
        sw_sheet_put(sheet, "<td>%s and %s</td></tr>\n", first->tiles[after->layout.places[s->first].tile].name,
                     first->tiles[after->layout.places[s->second].tile].name);
    }
    sw_sheet_put(sheet, "</tbody></table>\n<p>Sum of all widest gaps: now ");
    sw_sheet_number(sheet, before->sum_mm, 2, "?");
    sw_sheet_put(sheet, "&nbsp;mm, new ");
    sw_sheet_number(sheet, after->sum_mm, 2, "?");
    sw_sheet_put(sheet, "&nbsp;mm. %zu layouts were looked at.</p>\n", arrangement->tried);
}

sw_status sw_report_arrange_page(const sw_arrangement *arrangement, const sw_inspection *first, const char *path,
                                 sw_error *err)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_page_head(&sheet, "Arrangement of", first->file, STYLE);
    put_verdict(&sheet, arrangement);
    put_next(&sheet, arrangement, first);
    sw_sheet_put(&sheet, "</header>\n<main>\n");
    put_pictures(&sheet, arrangement, first);
    if (arrangement->better)
        put_moves(&sheet, arrangement, first);
    put_seams(&sheet, arrangement, first);
    if (arrangement->answer_count) {
        sw_sheet_put(&sheet, "<p>");
        sw_words_answers(&sheet, arrangement->answers, arrangement->answer_count, first);
        sw_sheet_put(&sheet, "</p>\n");
    }
    sw_page_order(&sheet);
    sw_page_mind(&sheet, &arrangement->notes);
    sw_sheet_put(&sheet, "</main>\n<footer>");
    sw_page_foot(&sheet, "All figures are also in arrange.json");
    return sw_sheet_save(&sheet, path, err);
}
