/* text.c - the short text for a terminal: verdict, seams before and after, edges planned and done, next step.
 */
#include <math.h>

#include "report/common/words.h"
#include "report/recheck/words.h"

enum { LISTED_ROWS = 8 }; /* as in the text of an inspection */

void sw_recheck_text_seams(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *after)
{
    size_t shown = recheck->seam_count < LISTED_ROWS ? recheck->seam_count : LISTED_ROWS;
    sw_sheet_put(sheet, "\n  seam       before, mm     now, mm        change, mm     verdict\n");
    for (size_t i = 0; i < shown; i++) {
        const sw_seam_change *seam = &recheck->seams[i];
        size_t from = sheet->length;
        sw_sheet_put(sheet, "  %s", after->seams[seam->seam].name);
        sw_sheet_pad(sheet, from, 13);
        if (seam->before < 0) {
            sw_sheet_put(sheet, "new            ");
        } else {
            sw_words_figure_cell(sheet, seam->before_mm, seam->before_u95_mm, 15);
        }
        sw_words_figure_cell(sheet, seam->after_mm, seam->after_u95_mm, 15);
        from = sheet->length;
        sw_recheck_words_change(sheet, seam->change_mm, "-");
        if (isfinite(seam->change_mm)) {
            sw_sheet_put(sheet, " ± ");
            sw_sheet_number(sheet, seam->change_u95_mm, 2, "?");
        }
        sw_sheet_pad(sheet, from, 15);
        sw_sheet_put(sheet, "%s\n", sw_verdict_name(seam->verdict));
    }
    if (shown < recheck->seam_count)
        sw_sheet_put(sheet, "  and %zu more that gape less; all are in the report\n", recheck->seam_count - shown);
}

static void put_edge(sw_sheet *sheet, const sw_recheck *recheck, const sw_edge_change *edge,
                     const sw_inspection *before)
{
    char name[EDGE_NAME_ROOM];
    size_t from = sheet->length;
    sw_sheet_put(sheet, "  %s", sw_edge_name(before, edge->tile, edge->side, name));
    sw_sheet_pad(sheet, from, 13);
    if (recheck->planned) {
        from = sheet->length;
        sw_sheet_number(sheet, edge->planned ? edge->planned_mm : NAN, 2, "-");
        sw_sheet_pad(sheet, from, 9);
    }
    sw_words_figure_cell(sheet, edge->taken_mm, edge->taken_u95_mm, 16);
    from = sheet->length;
    sw_sheet_number(sheet, edge->taken_at_mm, 0, "-");
    sw_sheet_pad(sheet, from, 8);
    sw_words_figure_cell(sheet, edge->together_mm, edge->together_u95_mm, 19);
    sw_sheet_put(sheet, "%s\n", sw_recheck_remark(recheck, edge));
}

void sw_recheck_text_edges(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before)
{
    size_t shown = recheck->edge_count < LISTED_ROWS ? recheck->edge_count : LISTED_ROWS;
    if (!shown) {
        sw_sheet_put(sheet, "\nNothing came off any edge, as far as the two photos can tell.\n");
        return;
    }
    sw_sheet_put(sheet, "\n  edge       %scame off, mm    at, mm  with the opposite  remark\n",
                 recheck->planned ? "planned  " : "");
    for (size_t i = 0; i < shown; i++)
        put_edge(sheet, recheck, &recheck->edges[i], before);
    if (shown < recheck->edge_count)
        sw_sheet_put(sheet, "  and %zu more edges; all are in the report\n", recheck->edge_count - shown);
}

void sw_recheck_text_next(sw_sheet *sheet, const sw_recheck *recheck)
{
    sw_sheet_put(sheet, "\nNext: %s\n", recheck->next);
    if (!recheck->stop)
        sw_words_mask(sheet);
    for (size_t i = 0; i < recheck->notes.count; i++)
        sw_sheet_put(sheet, "Mind: %s\n", recheck->notes.list[i].text);
}

char *sw_report_recheck_text(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_recheck_words_verdict(&sheet, recheck, before, after);
    sw_sheet_put(&sheet, "\n");
    if (before->round_count) {
        sw_sheet_put(&sheet, "Seams over: ");
        sw_recheck_words_rounds(&sheet, recheck, before, " -> ");
        sw_sheet_put(&sheet, "\n");
    }
    if (recheck->seam_count)
        sw_recheck_text_seams(&sheet, recheck, after);
    sw_recheck_text_edges(&sheet, recheck, before);
    sw_recheck_text_next(&sheet, recheck);
    return sw_sheet_take(&sheet);
}
