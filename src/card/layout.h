/* layout.h - what one card on a page and several on a sheet have in common: where things lie, and drawing them. */
#ifndef SW_CARD_LAYOUT_H
#define SW_CARD_LAYOUT_H

#include <cairo.h>
#include <stdbool.h>

#include "card/text.h"

/* Home printers leave 3 to 5 mm of the sheet's edge blank (from memory; nothing depends on it but what gets printed).
 */
static const double SW_CARD_EDGE_MM = 5.0;
/* White around a card's black square inside the cut line: the 10 mm a card must keep, and 2 mm for an unsteady hand. */
static const double SW_CARD_WHITE_MM = 12.0;
/* Between a card's cut line and the rulers, which must not stay on the card. */
static const double SW_CARD_CLEAR_MM = 2.0;

typedef struct sw_card_sizes {
    double font_mm, title_mm, leading_mm, gap_mm;
} sw_card_sizes;

/* Lengths in mm, x to the right, y down from the page's top left. */
typedef struct sw_card_layout {
    double page_width, page_height;
    double pattern_x, pattern_y, pattern_width, pattern_height;
    double level_x, level_y;     /* left end of the level ruler's line */
    double upright_x, upright_y; /* top end of the upright ruler's line */
    double text_x, text_y, text_width;
    sw_card_sizes sizes;
} sw_card_layout;

/* Sets the paragraphs from the layout's text place downwards, draws them unless only measuring; returns their height.
 */
double sw_card_set_text(cairo_t *cr, const sw_card_layout *l, const sw_card_paragraph *paragraphs, int count,
                        bool draw);

/* A card's black square with its top left corner at (x, y), and the cut line around it. */
void sw_card_draw_square(cairo_t *cr, double x, double y, const sw_card *card);

void sw_card_draw_rulers(cairo_t *cr, const sw_card_layout *l);

#endif
