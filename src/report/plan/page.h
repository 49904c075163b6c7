/* page.h - the parts of plan.html. Each part writes itself into the sheet; plan_page.c sets their order. */
#ifndef SW_REPORT_PLAN_PAGE_H
#define SW_REPORT_PLAN_PAGE_H

#include "report/common/page.h"
#include "report/plan/words.h"

/* What the page needs besides sw_page_style. */
extern const char sw_plan_page_style[];

/* One line a seam: the main thing. Nothing when there is nothing to do. */
void sw_plan_page_work(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first);
/* What other limits would cost. */
void sw_plan_page_limits(sw_sheet *sheet, const sw_plan *plan);
/* A card for each edge: what, why, and what comes off drawn along the edge. */
void sw_plan_page_edges(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first);
/* The picture of what comes off one edge, along to scale, across many times larger. */
void sw_plan_page_profile(sw_sheet *sheet, const sw_edge_plan *edge, const char *name);
/* The picture of a side face in section, with the wedge that a bevel takes off. */
void sw_plan_page_wedge(sw_sheet *sheet, const sw_edge_plan *edge, double height_mm);
/* The table from above with the edges to sand and bevel. */
void sw_plan_page_table(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first);
void sw_plan_page_seams(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first);
/* The common square; nothing for a plan for one layout. */
void sw_plan_page_any(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first);
/* Which edges lean: what is known, how to find out. Nothing when none may. */
void sw_plan_page_leans(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first);

#endif
