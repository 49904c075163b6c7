/* words.h - a recheck in words, the same on the terminal and on the page. */
#ifndef SW_REPORT_RECHECK_WORDS_H
#define SW_REPORT_RECHECK_WORDS_H

#include "report/common/sheet.h"
#include "seamwright/recheck.h"

/* The whole table: SW_OVER, SW_TOO_CLOSE or SW_WITHIN. */
sw_verdict sw_recheck_verdict(const sw_recheck *recheck);
/* The verdict in one sentence: seams still over, and how many were before. */
void sw_recheck_words_verdict(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                              const sw_inspection *after);
/* "10 -> 4 -> 0": seams over after each round, with this arrow between them. A round held against another limit says so. */
void sw_recheck_words_rounds(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                             const char *arrow);
/* For a terminal: the seams' changes as a table, what came off the edges as another. */
void sw_recheck_text_seams(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *after);
void sw_recheck_text_edges(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before);
/* The next step, cautions where it sands, and what to mind, a line each. */
void sw_recheck_text_next(sw_sheet *sheet, const sw_recheck *recheck);
/* "too much: take nothing more off", "not enough yet", "as planned" ... */
const char *sw_recheck_remark(const sw_recheck *recheck, const sw_edge_change *edge);
/* "-1.23", "+0.04", "0.00": always with its sign; `missing` when not known. */
void sw_recheck_words_change(sw_sheet *sheet, double change_mm, const char *missing);

#endif
