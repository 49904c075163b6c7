/* tops.h - how high each tile's top stands and how it is tilted, from what photos show of rims and cards. README.md says how. */
#ifndef SW_TOPS_TOPS_H
#define SW_TOPS_TOPS_H

#include "table/tops.h"
#include "tops/sights.h"

/* Fits cameras, tops and cards together; how much tops spread in height and slope is learnt from them. The mm frame's plane becomes the median top's. agree (may be NULL) is the
 * share of rims, 0 to 1, in which photos agree. SW_NO_MEMORY; SW_NOT_FOUND when the photos do not fit one table. */
sw_status sw_tops_fit(const sw_sights *sights, sw_tops *tops, double *agree);

/* The same from the cards of one photo, without its rims: SW_NOT_FOUND where they lie on one tile only. */
sw_status sw_tops_of_cards(const sw_scale *scale, int columns, int rows, double tile_mm, sw_tops *tops);

/* The tops of the first photo as they lie in a photo whose table must be turned by quarter turns counter-clockwise (sw_view_turn) to lie
 * like the first one's: turned clockwise. */
void sw_tops_turn(const sw_tops *from, int quarter_turns, sw_tops *to);

#endif
