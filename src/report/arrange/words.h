/* words.h - an arrangement in words, the same on the terminal and on the page. */
#ifndef SW_REPORT_ARRANGE_WORDS_H
#define SW_REPORT_ARRANGE_WORDS_H

#include "report/common/sheet.h"
#include "seamwright/arrange.h"

/* What the new layout (or the old one, when nothing better was found) comes to: SW_WITHIN or SW_OVER; SW_TOO_CLOSE when
 * all seams that are known are within but some are not known. */
sw_verdict sw_arrange_verdict(const sw_arrangement *arrangement);
/* The same for one seam. */
sw_verdict sw_arranged_verdict(const sw_arranged_seam *seam, double tolerance_mm);
/* The verdict in one or two sentences. */
void sw_arrange_words_verdict(sw_sheet *sheet, const sw_arrangement *arrangement);
/* Does another tile, or the same turned, lie at this place? */
bool sw_arrange_changed(const sw_arrangement *arrangement, int place);
/* "B2 to where A1 lay, turned a quarter to the right" or "turn A1 half round"; only for a place that changed. */
void sw_arrange_words_deed(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first, int place);
/* "a quarter to the right", "half round", "a quarter to the left"; "" for none. */
const char *sw_arrange_turn(int turns);

#endif
