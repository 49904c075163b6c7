/* pointed.h - a table whose four outer corners somebody pointed at. Corners are four, sensor px, NW NE SE SW as the photo is shown. */
#ifndef SW_TABLE_POINTED_H
#define SW_TABLE_POINTED_H

#include "seamwright/photo.h"
#include "table/block.h"
#include "table/strokes.h"

/* SW_BAD_INPUT: by the cards' scale they are no rectangle's, or no card lies within. */
sw_status sw_pointed_check(const sw_photo *photo, const sw_scale *scale, const sw_point *corners_px, sw_error *err);

/* Takes away the strokes that lie outside, farther than clicks may be off. */
void sw_pointed_clear(const sw_scale *scale, const sw_point *corners_px, sw_strokes *strokes);

/* Of the directions that sw_strokes_directions found, those that the corners allow, and before them the corners' own. Returns how
 * many. */
int sw_pointed_directions(const sw_scale *scale, const sw_point *corners_px, double *angles, int count);

/* The block of tiles between the corners: columns and rows as table says or, where it does not, those whose inner sides are worth
 * most. No columns where tiles would not be square or no seams show. Sets the search's pitch. */
sw_block sw_pointed_block(sw_search *s, const sw_scale *scale, const sw_point *corners_px, const sw_table *table);

#endif
