/* picture.h - a layout from above, as a drawing. */
#ifndef SW_REPORT_ARRANGE_PICTURE_H
#define SW_REPORT_ARRANGE_PICTURE_H

#include "report/common/sheet.h"
#include "seamwright/arrange.h"

typedef struct sw_arrange_view {
    const sw_arranged *arranged;
    const sw_inspection *first;
    double tolerance_mm;
    double units_per_mm; /* how wide a gap is drawn */
} sw_arrange_view;

/* Width of the room between two tiles, and the side of a tile, in the picture's units. */
static const double SW_ARRANGE_ROOM = 34, SW_ARRANGE_TILE = 110;

/* Tiles with their names, an arrow to where each one's old north points, words and a thick dashed rim on those that
 * moved, and each seam as wide as its widest gap. label: for readers who hear the page. */
void sw_arrange_picture(sw_sheet *sheet, const sw_arrange_view *view, const char *label);

#endif
