/* page.h - what every page has: its head, headline, signs, figures and cautions. */
#ifndef SW_REPORT_COMMON_PAGE_H
#define SW_REPORT_COMMON_PAGE_H

#include "report/common/sheet.h"
#include "report/common/words.h"
#include "seamwright/inspection.h"

/* The page's looks: screen from 390 px up, and paper. */
extern const char sw_page_style[];

/* From the doctype to the body's start; the title is "what file". more_style goes behind sw_page_style. */
void sw_page_head(sw_sheet *sheet, const char *what, const char *file, const char *more_style);
/* "over", "within", "close": the verdict as a class of the style sheet. */
const char *sw_page_class(sw_verdict verdict);
/* A tick, a cross or a question mark as a picture, so that no font is needed for it. */
void sw_page_sign(sw_sheet *sheet, sw_verdict verdict);
/* Plain text, escaped, with figures, their ± and their unit kept on one line. */
void sw_page_text(sw_sheet *sheet, const char *plain);
/* A page's header begins with the verdict, its sign and its words, and with `more` words below unless NULL. Both sheets
 * are freed. */
void sw_page_verdict(sw_sheet *sheet, sw_verdict verdict, sw_sheet *words, sw_sheet *more);
/* Opens the section of the next step, with what to do. What comes behind it closes the section. */
void sw_page_next(sw_sheet *sheet, const char *deed);
/* Ends the page: "Made by ..." and `figures`, which says what files beside it hold them. */
void sw_page_foot(sw_sheet *sheet, const char *figures);
/* Puts the words of another sheet, which is freed, through sw_page_text. */
void sw_page_plain(sw_sheet *sheet, sw_sheet *plain);
/* In a picture: a verdict's sign in its disc at (x, y). */
void sw_page_disc(sw_sheet *sheet, sw_verdict verdict, double x, double y);
/* In a picture: a seam's sign in its disc at (x, y), and its widest gap beside it, `clear` px farther off than 13. */
void sw_page_seam_sign(sw_sheet *sheet, sw_verdict verdict, double x, double y, bool upright, double max_mm,
                       double clear);
/* "2.31 ± 0.08", kept on one line where there is room, or "not seen". */
void sw_page_figure(sw_sheet *sheet, double value, double u95);
/* The same with its unit, when it was seen. */
void sw_page_figure_mm(sw_sheet *sheet, double value, double u95, const char *mm);
/* The same as a cell of a table. */
void sw_page_figure_cell(sw_sheet *sheet, double value, double u95);
/* Sentences to keep in mind, as a list; nothing when there are none. */
void sw_page_mind(sw_sheet *sheet, const sw_notes *notes);
/* The one order of work, a sentence a step. */
void sw_page_order(sw_sheet *sheet);
/* All cautions, as a section of their own. */
void sw_page_safety(sw_sheet *sheet);
/* The short line of cautions beside a next action that sands. */
void sw_page_mask(sw_sheet *sheet);

#endif
