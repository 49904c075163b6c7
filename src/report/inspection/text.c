/* text.c - the short text for a terminal: the table, verdict, seams and edges worst first, the next step, where the report lies.
 */
#include <math.h>
#include <stdlib.h>

#include "report/common/words.h"
#include "report/plan/words.h"
#include "report/recheck/words.h"
#include "seamwright/page.h"

enum { LISTED_ROWS = 8 }; /* seams and edges shown, so that the whole text fits a 24-line terminal with its headings */

/* Writes a cell and fills it up with blanks to its width. */
static void cell(sw_sheet *sheet, const char *text, size_t columns)
{
    size_t from = sheet->length;
    sw_sheet_put(sheet, "%s", text);
    sw_sheet_pad(sheet, from, columns);
}

static void put_seams(sw_sheet *sheet, const sw_inspection *inspection)
{
    size_t *order = sw_seams_worst_first(inspection);
    size_t shown = inspection->seam_count < LISTED_ROWS ? inspection->seam_count : LISTED_ROWS;
    if (!order) {
        sheet->failed = true;
        return;
    }
    sw_sheet_put(sheet, "\n  seam       widest gap, mm  at, mm  verdict            not seen\n");
    for (size_t i = 0; i < shown; i++) {
        const sw_seam *seam = &inspection->seams[order[i]];
        size_t from = sheet->length;
        sw_sheet_put(sheet, "  ");
        cell(sheet, seam->name, 11);
        sw_words_figure_cell(sheet, seam->max_mm, seam->max_u95_mm, 16);
        sw_sheet_number(sheet, seam->max_at_mm, 0, "-");
        sw_sheet_pad(sheet, from, 2 + 11 + 16 + 8);
        cell(sheet, sw_verdict_name(seam->verdict), 19);
        double unseen = sw_seam_unseen(seam);
        sw_sheet_put(sheet, unseen > 0 ? "%.0f %%\n" : "-\n", ceil(100 * unseen));
    }
    if (shown < inspection->seam_count)
        sw_sheet_put(sheet, "  and %zu more that gape less; all are in the report\n", inspection->seam_count - shown);
    free(order);
}

static void put_edge(sw_sheet *sheet, const sw_inspection *inspection, const sw_advice *advice)
{
    char edge[EDGE_NAME_ROOM];
    size_t from;
    sw_sheet_put(sheet, "  ");
    cell(sheet, sw_edge_name(inspection, advice->tile, advice->side, edge), 11);
    cell(sheet, sw_action_name(advice->action), 9);
    from = sheet->length;
    if (advice->remove_mm > 0)
        sw_sheet_number(sheet, advice->remove_mm, 2, "-");
    else
        sw_sheet_put(sheet, "-");
    sw_sheet_pad(sheet, from, 14);
    from = sheet->length;
    if (advice->to_mm > advice->from_mm) {
        sw_sheet_number(sheet, advice->from_mm, 0, "?");
        sw_sheet_put(sheet, " to ");
        sw_sheet_number(sheet, advice->to_mm, 0, "?");
    } else {
        sw_sheet_put(sheet, "-");
    }
    sw_sheet_pad(sheet, from, 13);
    sw_sheet_put(sheet, "%s\n", sw_advice_seam(inspection, advice));
}

static void put_edges(sw_sheet *sheet, const sw_inspection *inspection)
{
    size_t shown = 0, left = 0;
    for (size_t i = 0; i < inspection->advice_count; i++) {
        const sw_advice *advice = &inspection->ranking[i];
        if (advice->action == SW_LEAVE)
            continue;
        if (shown == LISTED_ROWS) {
            left++;
            continue;
        }
        if (!shown++)
            sw_sheet_put(sheet, "\n  edge       action   take off, mm  where, mm    seam\n");
        put_edge(sheet, inspection, advice);
    }
    if (left)
        sw_sheet_put(sheet, "  and %zu more edges; all are in the report\n", left);
}

/* A line on the heights where they are known, one on the steps where a limit was given. */
static void put_tops(sw_sheet *sheet, const sw_inspection *inspection)
{
    enum { LISTED = 3 };
    size_t count = inspection->top_count;
    if (sw_words_tops(sheet, inspection))
        sw_sheet_put(sheet, "\n");
    if (!(inspection->lippage_mm > 0))
        return;
    sw_sheet_put(sheet, "Lippage: ");
    sw_words_steps(sheet, inspection);
    for (size_t i = 0; i < count && i < LISTED; i++) {
        sw_sheet_put(sheet, i ? ", then " : " To mend that, ");
        sw_words_top_deed(sheet, inspection, &inspection->tops[i]);
    }
    if (count > LISTED)
        sw_sheet_put(sheet, ", and %zu tiles more; all are in the report", count - LISTED);
    sw_sheet_put(sheet, count ? ".\n" : "\n");
}

static void put_now(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_words_verdict(sheet, inspection);
    sw_sheet_put(sheet, "\n");
    if (sw_words_unseen(sheet, inspection))
        sw_sheet_put(sheet, "\n");
    if (inspection->seam_count)
        put_seams(sheet, inspection);
    put_edges(sheet, inspection);
    sw_sheet_put(sheet, "\nNext: ");
    sw_words_next(sheet, inspection);
    sw_sheet_put(sheet, "\n");
    put_tops(sheet, inspection);
    if (sw_any_sanding(inspection) || inspection->top_count)
        sw_words_mask(sheet);
}

static void put_since(sw_sheet *sheet, const sw_inspection *inspection, const sw_comparison *since)
{
    sw_recheck_words_verdict(sheet, since->recheck, since->before, inspection);
    sw_sheet_put(sheet, "\nSeams over: ");
    sw_recheck_words_rounds(sheet, since->recheck, since->before, " -> ");
    sw_sheet_put(sheet, "\n");
    if (sw_words_unseen(sheet, inspection))
        sw_sheet_put(sheet, "\n");
    if (inspection->seam_count)
        sw_recheck_text_seams(sheet, since->recheck, inspection);
    sw_recheck_text_edges(sheet, since->recheck, since->before);
    sw_recheck_text_next(sheet, since->recheck);
    put_tops(sheet, inspection);
}

char *sw_report_text(const sw_inspection *inspection, const char *folder)
{
    const sw_results results = {.inspection = inspection};
    return sw_report_text_all(&results, folder);
}

static void put_where(sw_sheet *sheet, const sw_results *results, const char *folder)
{
    sw_sheet_put(sheet, "Report: %s%s\n", folder, results->photo ? "/report.html" : "");
    if (results->plan && results->photo)
        sw_sheet_put(sheet, "%s\n",
                     sw_plan_any_sanding(results->plan)
                         ? "The work list is in it; strips.pdf beside it is to be printed at 100 %."
                         : "The work list is in it.");
    else if (sw_inspection_verdict(results->inspection) == SW_OVER)
        sw_sheet_put(sheet, "For the whole table at once, with strips to print: seamwright plan %s\n", folder);
}

/* A guess that every figure hangs on stands before all figures; of the other notes the first comes last. */
static const sw_note *first_note(const sw_notes *notes, bool guess)
{
    for (size_t i = 0; i < notes->count; i++)
        if ((notes->list[i].kind == SW_NOTE_CARD_GUESSED) == guess)
            return &notes->list[i];
    return NULL;
}

static void put_guess(sw_sheet *sheet, const sw_notes *notes)
{
    const sw_note *guess = first_note(notes, true);
    if (guess)
        sw_sheet_put(sheet, "Guessed: %s\n\n", guess->text);
}

static void put_mind(sw_sheet *sheet, const sw_notes *notes)
{
    const sw_note *note = first_note(notes, false);
    size_t told = first_note(notes, true) ? 2 : 1;
    if (note)
        sw_sheet_put(sheet, "Mind: %s%s\n", note->text, notes->count > told ? " (more in the report)" : "");
}

char *sw_report_text_all(const sw_results *results, const char *folder)
{
    const sw_inspection *inspection = results->inspection;
    const sw_comparison *since = results->since;
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    put_guess(&sheet, &inspection->notes);
    if (inspection->tile_count) {
        sw_words_table(&sheet, inspection);
        sw_sheet_put(&sheet, "\n");
    }
    if (since)
        put_since(&sheet, inspection, since);
    else
        put_now(&sheet, inspection);
    if (inspection->repeatability) {
        sw_words_repeat(&sheet, inspection);
        sw_sheet_put(&sheet, "\n");
    }
    put_mind(&sheet, &inspection->notes);
    if (folder && folder[0])
        put_where(&sheet, results, folder);
    return sw_sheet_take(&sheet);
}
