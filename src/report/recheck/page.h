/* page.h - the parts of recheck.html. */
#ifndef SW_REPORT_RECHECK_PAGE_H
#define SW_REPORT_RECHECK_PAGE_H

#include "report/common/page.h"
#include "report/recheck/words.h"

/* What a picture shows. */
typedef struct sw_recheck_view {
    const sw_inspection *inspection;
    const sw_inspection *names; /* whose tiles the places name */
    const sw_place *places;     /* by place; NULL: each tile is its own */
    double tolerance_mm;
    double units_per_mm; /* how wide a gap is drawn */
} sw_recheck_view;

/* Width of the room between two tiles in a picture, and the side of a tile, in its units. */
static const double SW_RECHECK_ROOM = 30, SW_RECHECK_TILE = 100;

/* What the parts below need besides a page's own style. */
extern const char sw_recheck_page_style[];
/* Seams over, round by round. */
void sw_recheck_page_rounds(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before);
/* Before and after side by side, every seam's change, what came off every edge. */
void sw_recheck_page_changes(sw_sheet *sheet, const sw_recheck *recheck, const sw_inspection *before,
                             const sw_inspection *after);
/* The table from above: every seam as wide as its gap, many times larger, with the sign of its verdict. */
void sw_recheck_picture(sw_sheet *sheet, const sw_recheck_view *view, const char *title);

#endif
