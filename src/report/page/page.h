/* page.h - the parts of report.html. Each part writes itself into the sheet; page.c sets their order. */
#ifndef SW_REPORT_PAGE_PAGE_H
#define SW_REPORT_PAGE_PAGE_H

#include "report/common/page.h"
#include "seamwright/report.h"

void sw_page_edges(sw_sheet *sheet, const sw_inspection *inspection);
/* order: all seams, worst first. */
void sw_page_seam_list(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order);
void sw_page_seams(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order);
void sw_page_chip(sw_sheet *sheet, const sw_inspection *inspection, const sw_chip *chip);
void sw_page_plot(sw_sheet *sheet, const sw_seam *seam, double tolerance_mm);
void sw_page_tiles(sw_sheet *sheet, const sw_inspection *inspection);
/* The picture of one tile, its outline's errors drawn so many times larger. */
void sw_page_outline(sw_sheet *sheet, const sw_inspection *inspection, int tile, int times);
/* Half-way marks; nothing when there are none. */
void sw_page_marks(sw_sheet *sheet, const sw_inspection *inspection);
/* How high the tops stand, with a picture, and the steps against a limit; nothing where no heights are known and no limit
 * was given. */
void sw_page_tops(sw_sheet *sheet, const sw_inspection *inspection);
/* The picture: tops coloured and numbered by height, steps along the seams; with a legend. */
void sw_page_tops_picture(sw_sheet *sheet, const sw_inspection *inspection);
extern const char sw_page_tops_style[];
/* Several photos; nothing for one. */
void sw_page_repeat(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order);
void sw_page_scale(sw_sheet *sheet, const sw_inspection *inspection);
/* What the ± of a few figures is made of. */
void sw_page_budgets(sw_sheet *sheet, const sw_inspection *inspection);
void sw_page_reading(sw_sheet *sheet, const sw_inspection *inspection);

#endif
