/* words_repeat.c - how well several photos agree, in words, the same on the terminal and on the page. */
#include <math.h>

#include "report/common/words.h"

/* A millimetre figure as fine as it must be to show something. */
static void put_mm(sw_sheet *sheet, double mm)
{
    sw_sheet_number(sheet, mm, mm < 0.1 ? 3 : 2, "?");
    sw_sheet_put(sheet, " mm");
}

void sw_words_repeat(sw_sheet *sheet, const sw_inspection *inspection)
{
    const sw_repeatability *r = inspection->repeatability;
    const sw_spread *s = &r->mean;
    sw_sheet_put(sheet, "%zu photos combined", r->photo_count);
    if (s->agreement == SW_AGREE_UNKNOWN) {
        sw_sheet_put(sheet, ", but no seam was seen alike in two of them: how well they agree is unknown.");
        return;
    }
    sw_sheet_put(sheet, ": their mean gaps scatter by ");
    put_mm(sheet, s->s_r);
    sw_sheet_put(sheet, " (standard deviation s_r), where ");
    put_mm(sheet, s->stated_u);
    switch (s->agreement) {
    case SW_AGREE_BETTER:
        sw_sheet_put(sheet, " is stated for one photo: they agree with each other better than stated.");
        break;
    case SW_AGREE_WORSE:
        sw_sheet_put(sheet,
                     " is stated for one photo: they agree with each other worse than stated, and the ± was made %.1f "
                     "times as wide.",
                     s->widened);
        break;
    default:
        sw_sheet_put(sheet, " is stated for one photo: they agree with each other as stated.");
        break;
    }
}
