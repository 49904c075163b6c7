/* words.h - names and summary figures that more than one writer needs. */
#ifndef SW_REPORT_COMMON_WORDS_H
#define SW_REPORT_COMMON_WORDS_H

#include "report/common/sheet.h"
#include "seamwright/report.h"

/* A seam whose widest gap shows as 0.00 mm is closed: it has no widest place to point at. */
static const double SW_CLOSED_BELOW_MM = 0.005;

enum { EDGE_NAME_ROOM = 24 }; /* "Z99 north" with room to spare */

/* "A1 east" into name; "" for an index that is no tile. Returns name. */
const char *sw_edge_name(const sw_inspection *inspection, int tile, sw_side side, char name[EDGE_NAME_ROOM]);
/* Name of the seam an advice is about; "" when it is about none (an edge at the table's rim). */
const char *sw_advice_seam(const sw_inspection *inspection, const sw_advice *advice);
/* "100/60", "100", "99.6x99.8/59.7x59.9" as the command line takes it. */
void sw_reference_name(const sw_reference *reference, char *name, size_t room);
/* "profile", "estimated", "none". */
const char *sw_lens_source_name(sw_lens_source source);

/* Share (0 to 1) of a seam's stations that are unseen; 1 for a seam without stations. */
double sw_seam_unseen(const sw_seam *seam);
/* Indices of all seams: over before too close to call before within, each wider gap first. Free with free(); NULL when
 * memory is out or there are no seams. */
size_t *sw_seams_worst_first(const sw_inspection *inspection);
/* 1 when something is to be sanded or cut, so that safety notes are due. */
int sw_words_sanding(const sw_inspection *inspection);
/* The first advice that asks for something; NULL when there is none. */
const sw_advice *sw_first_advice(const sw_inspection *inspection);

/* "2.31 ± 0.08" or "not seen". */
void sw_words_figure(sw_sheet *sheet, double value, double u95);
/* The widest place of a seam: ", 120 mm from its north end"; nothing for a closed or unseen one. */
void sw_words_place(sw_sheet *sheet, const sw_seam *seam);
/* The verdict on the whole table, one sentence. */
void sw_words_verdict(sw_sheet *sheet, const sw_inspection *inspection);
/* "Not seen: all of B2-B3, 34 % of A2-A3." Returns 0, and writes nothing, when everything was seen. */
int sw_words_unseen(sw_sheet *sheet, const sw_inspection *inspection);
/* How well several photos agree, one sentence; only for an inspection that has a repeatability. */
void sw_words_repeat(sw_sheet *sheet, const sw_inspection *inspection);
/* What is to be done with one edge, without the reason: "true up A1 east: take off at most ...". */
void sw_words_deed(sw_sheet *sheet, const sw_inspection *inspection, const sw_advice *advice);
/* The one next step, with its reason. */
void sw_words_next(sw_sheet *sheet, const sw_inspection *inspection);

#endif
