/* words.h - text that more than one writer needs: each function makes the words of one thing, into a sheet. */
#ifndef SW_REPORT_COMMON_WORDS_H
#define SW_REPORT_COMMON_WORDS_H

#include "inspection/unseen.h"
#include "report/common/names.h"
#include "report/common/sheet.h"
#include "seamwright/plan.h"
#include "seamwright/report.h"

/* A seam whose widest gap shows as 0.00 mm is closed: it has no widest place to point at. */
static const double SW_CLOSED_BELOW_MM = 0.005;

/* Indices of all seams: over before too close to call before within, each wider gap first. Free with free(); NULL when
 * memory is out or there are no seams. */
size_t *sw_seams_worst_first(const sw_inspection *inspection);
/* Something is to be sanded or cut, so that cautions are due. */
bool sw_any_sanding(const sw_inspection *inspection);
/* The first advice that asks for something; NULL when there is none. */
const sw_advice *sw_first_advice(const sw_inspection *inspection);

/* "2.31 ± 0.08" or "not seen". */
void sw_words_figure(sw_sheet *sheet, double value, double u95);
/* The same in a column of a table for the terminal. */
void sw_words_figure_cell(sw_sheet *sheet, double value, double u95, size_t columns);
/* The line of cautions below a text that tells to sand. */
void sw_words_mask(sw_sheet *sheet);
/* All cautions in a paragraph, for paper. */
extern const char sw_cautions_paper[];
/* A line of them beside a next step that sands or cuts, and all of them one by one, NULL behind the last: for pages. */
extern const char sw_cautions_short[];
extern const char *const sw_cautions[];
/* The widest place of a seam: ", 120 mm from its north end"; nothing for a closed or unseen one. */
void sw_words_place(sw_sheet *sheet, const sw_seam *seam);
/* The verdict on the whole table, one sentence. */
/* "3 x 3 tiles of 299 mm, by cards of 100/60 mm": what was read, so that a wrong size of card or tile is noticed before anything is
 * believed. The size told, where one was, and the one measured where that differs. */
void sw_words_table(sw_sheet *sheet, const sw_inspection *inspection);
void sw_words_verdict(sw_sheet *sheet, const sw_inspection *inspection);
/* "Not seen: all of B2-B3, 34 % of A2-A3." Returns false, and writes nothing, when everything was seen. */
bool sw_words_unseen(sw_sheet *sheet, const sw_inspection *inspection);
/* How well several photos agree, one sentence; only for an inspection that has a repeatability. */
void sw_words_repeat(sw_sheet *sheet, const sw_inspection *inspection);
/* Tops whose height is known, and the highest and lowest of them. */
typedef struct sw_tops {
    size_t known;
    const sw_tile *highest, *lowest; /* NULL when none is known */
} sw_tops;

sw_tops sw_tops_of(const sw_inspection *inspection);
/* "1.4": a height or step, with hundredths where its ± is below 0.1. with_sign: "+1.4", and 0 has none. */
void sw_words_rounded(sw_sheet *sheet, double value, double u95, bool with_sign);
/* The same with its ±: "1.4 ± 0.2". */
void sw_words_height(sw_sheet *sheet, double value, double u95, bool with_sign);
/* How high the tops stand, one sentence. Returns false, and writes nothing, where fewer than two heights are known. */
bool sw_words_tops(sw_sheet *sheet, const sw_inspection *inspection);
/* The steps against the limit, one sentence; only where lippage_mm was asked for. */
void sw_words_steps(sw_sheet *sheet, const sw_inspection *inspection);
/* "plane B1 down by 2.2 mm", "pack B3 up by 0.8 mm". */
void sw_words_top_deed(sw_sheet *sheet, const sw_inspection *inspection, const sw_top_advice *advice);
/* The tile whose top is higher along the seam where the step is largest; NULL where the step is not known or no larger than
 * its uncertainty. */
const sw_tile *sw_higher_tile(const sw_inspection *inspection, const sw_seam *seam);
/* "Used what a try square said: B1 east leans 1.9 mm, C1 west is square." */
void sw_words_answers(sw_sheet *sheet, const sw_lean_answer *answers, size_t count, const sw_inspection *first);
/* What is to be done with one edge, without the reason: "true up A1 east: take off at most ...". */
void sw_words_deed(sw_sheet *sheet, const sw_inspection *inspection, const sw_advice *advice);
/* The one order of work: "Order of work: push; photograph; ..." */
void sw_words_order(sw_sheet *sheet);
/* While a seam is over: how the next step begins, the rest being what to do at the worst. Else nothing. */
void sw_words_begin(sw_sheet *sheet, const sw_inspection *inspection);
/* The one next step, with its reason. */
void sw_words_next(sw_sheet *sheet, const sw_inspection *inspection);

#endif
