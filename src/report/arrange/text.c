/* text.c - the short text for a terminal: what it would come to, which tile goes where, the layout, the next
 * step. */
#include "report/arrange/words.h"
#include "report/common/words.h"
#include "seamwright/arrange.h"

#include <math.h>
#include <stdlib.h>

enum { LISTED_SEAMS = 8 }; /* as in the text of an inspection */

static void put_moves(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first)
{
    int places = arrangement->after.layout.columns * arrangement->after.layout.rows;
    sw_sheet_put(sheet, "\nMove %d of %d tiles:\n", arrangement->moved, places);
    for (int p = 0; p < places; p++)
        if (sw_arrange_changed(arrangement, p)) {
            sw_sheet_put(sheet, "  ");
            sw_arrange_words_deed(sheet, arrangement, first, p);
            sw_sheet_put(sheet, "\n");
        }
}

static bool shows_more(const sw_arranged_seam *a, const sw_arranged_seam *b)
{
    return a->max_mm > b->max_mm || (isfinite(a->max_mm) && !isfinite(b->max_mm));
}

/* The widest seam not yet taken; those not seen come last. */
static size_t widest_left(const sw_arranged *arranged, const unsigned char *taken)
{
    size_t best = arranged->seam_count;
    for (size_t i = 0; i < arranged->seam_count; i++)
        if (!taken[i] && (best == arranged->seam_count || shows_more(&arranged->seams[i], &arranged->seams[best])))
            best = i;
    return best;
}

static void put_seams(sw_sheet *sheet, const sw_arrangement *arrangement)
{
    const sw_arranged *after = &arrangement->after, *before = &arrangement->before;
    unsigned char *taken = calloc(after->seam_count + 1, 1);
    size_t shown = after->seam_count < LISTED_SEAMS ? after->seam_count : LISTED_SEAMS;
    sheet->failed |= !taken;
    sw_sheet_put(sheet, "\n  place      now, mm   new, mm   (widest gap, pushed together, at worst)\n");
    for (size_t k = 0; taken && k < shown; k++) {
        size_t i = widest_left(after, taken), from = sheet->length;
        taken[i] = 1;
        sw_sheet_put(sheet, "  %s", after->seams[i].name);
        sw_sheet_pad(sheet, from, 13);
        from = sheet->length;
        sw_sheet_number(sheet, before->seams[i].max_mm, 2, "not seen");
        sw_sheet_pad(sheet, from, 10);
        sw_sheet_number(sheet, after->seams[i].max_mm, 2, "not seen");
        sw_sheet_put(sheet, "\n");
    }
    if (shown < after->seam_count)
        sw_sheet_put(sheet, "  and %zu more that gape less; all are in the report\n", after->seam_count - shown);
    free(taken);
}

char *sw_report_arrange_text(const sw_arrangement *arrangement, const sw_inspection *first)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_arrange_words_verdict(&sheet, arrangement);
    sw_sheet_put(&sheet, "\n");
    if (arrangement->better) {
        char *layout = sw_layout_text(&arrangement->after.layout, first);
        sheet.failed |= !layout;
        put_moves(&sheet, arrangement, first);
        sw_sheet_put(&sheet, "Layout: \"%s\"\n", layout ? layout : "");
        free(layout);
    }
    put_seams(&sheet, arrangement);
    sw_sheet_put(&sheet, "\n");
    if (arrangement->answer_count) {
        sw_words_answers(&sheet, arrangement->answers, arrangement->answer_count, first);
        sw_sheet_put(&sheet, "\n");
    }
    for (size_t i = 0; i < arrangement->notes.count; i++)
        sw_sheet_put(&sheet, "Note: %s\n", arrangement->notes.list[i].text);
    sw_sheet_put(&sheet, "Next: %s\n", arrangement->next);
    return sw_sheet_take(&sheet);
}
