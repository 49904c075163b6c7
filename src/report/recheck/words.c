#include "report/recheck/words.h"

#include <math.h>

#include "report/common/words.h"
#include "seamwright/defaults_and_ranges.h"

sw_verdict sw_recheck_verdict(const sw_recheck *recheck)
{
    return recheck->over ? SW_OVER : recheck->too_close ? SW_TOO_CLOSE : SW_WITHIN;
}

/* How many of the earlier seams were over, by the tolerance used here. */
static int over_before(const sw_recheck *recheck, const sw_inspection *before)
{
    int count = 0;
    for (size_t i = 0; i < before->seam_count; i++)
        count += sw_verdict_of(before->seams[i].max_mm, before->seams[i].max_u95_mm, recheck->tolerance_mm) == SW_OVER;
    return count;
}

/* "B1-C1, 0.43 ± 0.07 mm (before: 2.60)" */
static void put_seam(sw_sheet *sheet, const sw_seam_change *seam, const sw_inspection *after)
{
    sw_sheet_put(sheet, "%s, ", after->seams[seam->seam].name);
    sw_words_figure(sheet, seam->after_mm, seam->after_u95_mm);
    if (isfinite(seam->after_mm))
        sw_sheet_put(sheet, " mm");
    if (isfinite(seam->before_mm)) {
        sw_sheet_put(sheet, " (before: ");
        sw_sheet_number(sheet, seam->before_mm, 2, "?");
        sw_sheet_put(sheet, ")");
    }
}

void sw_recheck_words_verdict(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                              const sw_inspection *after)
{
    double limit = recheck->tolerance_mm;
    int were = over_before(recheck, before);
    if (!recheck->seam_count) {
        sw_sheet_put(sheet, "No seam: there is only one tile.");
        return;
    }
    switch (sw_recheck_verdict(recheck)) {
    case SW_OVER:
        sw_sheet_put(sheet, "Over: %d of %zu seams %s still open by more than %.2f mm (before: %d); the worst is ",
                     recheck->over, recheck->seam_count, recheck->over == 1 ? "is" : "are", limit, were);
        put_seam(sheet, &recheck->seams[0], after);
        if (recheck->too_close)
            sw_sheet_put(sheet, "; %d more %s too close to call", recheck->too_close,
                         recheck->too_close == 1 ? "is" : "are");
        break;
    case SW_TOO_CLOSE:
        sw_sheet_put(sheet, "No seam is surely over %.2f mm any more (before: %d); too close to call: %d of %zu", limit,
                     were, recheck->too_close, recheck->seam_count);
        if (isfinite(recheck->seams[0].after_mm)) {
            sw_sheet_put(sheet, recheck->too_close == 1 ? ", " : "; the widest of these is ");
            put_seam(sheet, &recheck->seams[0], after);
        }
        break;
    case SW_WITHIN:
        sw_sheet_put(sheet, "Within: %s within %.2f mm (over before: %d); the widest is ",
                     recheck->seam_count == 1 ? "the only seam is" : "every seam is", limit, were);
        put_seam(sheet, &recheck->seams[0], after);
        break;
    }
    sw_sheet_put(sheet, ".");
}

void sw_recheck_words_rounds(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before, const char *arrow)
{
    double limit = recheck->tolerance_mm;
    for (size_t i = 0; i < before->round_count; i++) {
        const sw_round *round = &before->rounds[i];
        sw_sheet_put(sheet, "%d", round->over);
        if (fabs(round->tolerance_mm - limit) >= SW_TOLERANCE_LEAST_MM / 2)
            sw_sheet_put(sheet, " (over %.2f mm)", round->tolerance_mm);
        sw_sheet_put(sheet, "%s", arrow);
    }
    sw_sheet_put(sheet, "%d%s%d", over_before(recheck, before), arrow, recheck->over);
}

const char *sw_recheck_remark(const sw_recheck *recheck, const sw_edge_change *edge)
{
    if (edge->too_much)
        return edge->planned ? "too much: take nothing more off" : "not planned: take nothing more off";
    if (edge->together_over)
        return "too much with the opposite edge: take nothing more off";
    if (!isfinite(edge->taken_mm))
        return "not seen";
    if (edge->not_enough)
        return "not enough yet";
    if (edge->planned)
        return recheck->stop && !edge->sure ? "" : edge->sure ? "as planned" : "as planned, as far as can be told";
    if (!edge->sure)
        return "off the two together; how much of it here is not known";
    return recheck->planned ? "not planned" : "";
}

void sw_recheck_words_change(sw_sheet *sheet, double change_mm, const char *missing)
{
    if (isfinite(change_mm) && change_mm > 0)
        sw_sheet_put(sheet, "+");
    sw_sheet_number(sheet, change_mm, 2, missing);
}
