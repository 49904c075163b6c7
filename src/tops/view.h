/* view.h - what one photo of a table shows of its tops: its scale, and places of the rims of all tiles, in pixels. */
#ifndef SW_TOPS_VIEW_H
#define SW_TOPS_VIEW_H

#include "seam/measure.h"
#include "seamwright/scale.h"
#include "track/track.h"

/* Places along an edge at which its rim is compared between photos; counted from the west or south end. */
enum { SW_RIM_KNOTS = 6 };

/* A rim at one of its knots. */
typedef struct sw_rim_sight {
    int view, tile, side, knot; /* tile: row after row from A1; side: sw_side */
    sw_point px;
    double slope; /* of the rim there: of an upright edge x a mm of y, of a level one y a mm of x */
    double u_mm;  /* of its place across the edge */
} sw_rim_sight;

typedef struct sw_view {
    int columns, rows;
    double tile_mm;
    sw_scale scale;
    sw_rim_sight *rims;
    size_t rim_count;
} sw_view;

/* From a photo's tracks; and from its traces near rims whose gap a step hides. Free with sw_view_free. SW_NO_MEMORY. */
sw_status sw_view_make(const sw_tracks *tracks, const sw_traces *traces, const sw_scale *scale, double tile_mm,
                       sw_view *view);
sw_status sw_view_copy(const sw_view *from, sw_view *to);
void sw_view_free(sw_view *view);

/* The same table turned by quarter turns counter-clockwise, as sw_inspection_turn turns it; view is turned in place. */
void sw_view_turn(sw_view *view, int quarter_turns);

#endif
