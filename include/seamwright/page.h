/* page.h - the page: one self-contained HTML file without network that shows a report, a plan, a comparison or an
 * arrangement. */
#ifndef SEAMWRIGHT_PAGE_H
#define SEAMWRIGHT_PAGE_H

#include "seamwright/arrange.h"
#include "seamwright/plan.h"
#include "seamwright/recheck.h"
#include "seamwright/report.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Which part of the page is open. */
typedef enum sw_page_open {
    SW_PAGE_REPORT = 0,
    SW_PAGE_PLAN,       /* needs plan */
    SW_PAGE_COMPARISON, /* needs recheck and before */
    SW_PAGE_ARRANGEMENT /* needs arrangement */
} sw_page_open;

/* What a page shows. NULL: nothing of it. Only read. */
typedef struct sw_page {
    sw_page_open open;
    const sw_inspection
        *inspection;     /* never NULL; the first one that a plan or an arrangement is made from, the later one
                                        of a comparison */
    const sw_plan *plan; /* made from `inspection` */
    const sw_recheck *recheck;
    const sw_inspection *before; /* that recheck compares with */
    const sw_arrangement *arrangement;
    /* Files that sw_report_table_picture and sw_report_seams_picture wrote. One that is not there, or is no picture of its
     * inspection, is left out of the page. */
    const char *table_picture, *seams_picture, *before_seams_picture;
} sw_page;

/* SW_CANNOT_WRITE, SW_CANNOT_READ (a picture), SW_NO_MEMORY; SW_BAD_INPUT: what `open` needs is NULL. */
SW_API sw_status sw_report_page(const sw_page *page, const char *path, sw_error *err);

/* All that one inspection gives. NULL, but for `inspection`: nothing of it. Only read. */
typedef struct sw_results {
    const sw_inspection *inspection;
    const sw_photo *photo;       /* with it come pictures and pages */
    const sw_comparison *since;  /* recheck.json, and recheck.html with pictures */
    const char *before_pictures; /* the folder that holds the earlier inspection's pictures */
    const sw_plan *plan;         /* made from `inspection`: plan.json, and with pictures strips.pdf */
    const sw_paper *paper;       /* for the strips; never NULL where there are pictures and a plan */
} sw_results;

/* As sw_report_write, with all the rest in the same step. */
SW_API sw_status sw_report_write_all(const sw_results *results, const char *folder, sw_error *err);
/* As sw_report_text, with the comparison, if there is one, and where the work list is. */
SW_API char *sw_report_text_all(const sw_results *results, const char *folder);

#ifdef __cplusplus
}
#endif
#endif
