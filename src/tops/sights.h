/* sights.h - what photos of one table show of its tops: rims and cards, in pixels, tile by tile.
 *
 * All views speak of the same tiles: a photo of the table turned by quarter turns has its tiles and its scale's frame turned back
 * first. The common mm frame is the first view's.
 */
#ifndef SW_TOPS_SIGHTS_H
#define SW_TOPS_SIGHTS_H

#include "tops/view.h"

/* A card on a tile. Cards that lie in the same place in several views have the same number. */
typedef struct sw_card_sight {
    int view, tile, card;
    sw_point corners_px[2][4]; /* outer and inner, NW NE SE SW as the card lies in the first view that shows it */
    int rims;                  /* 1 plain, 2 frame */
    double u_px;               /* of a corner */
} sw_card_sight;

typedef struct sw_sights {
    int columns, rows;
    double tile_mm;
    int views;
    sw_scale *scales; /* of each view, in the turned-back frame; its own plane need not be that of the others */
    sw_rim_sight *rims;
    size_t rim_count;
    sw_card_sight *cards;
    size_t card_count;
    int card_numbers; /* different cards */
} sw_sights;

/* Room for so many views; free with sw_sights_free. SW_NO_MEMORY. */
sw_status sw_sights_start(int columns, int rows, double tile_mm, int views, sw_sights *sights);
void sw_sights_free(sw_sights *sights);

/* Takes over what a view shows; it must have as many columns and rows. Views come in order, no more than there is room for. */
void sw_sights_add(sw_sights *sights, const sw_view *view);

#endif
