/* sight_line.h - sight lines where they meet tops, and how that moves with everything that is fitted. */
#ifndef SW_TOPS_SIGHT_LINE_H
#define SW_TOPS_SIGHT_LINE_H

#include "tops/fit.h"

/* A sight line: its point of the normal plane, and how that moves with the lens's numbers. */
typedef struct sw_sight_line {
    int view;
    sw_point normal, by[SW_LENS_NUMBERS];
} sw_sight_line;

/* A linearised observation: one number, what it depends on. own: of the tile's block, SW_TOP_NUMBERS and from card_at on
 * SW_CARD_NUMBERS more. */
typedef struct sw_observation {
    int tile, view, card_at; /* 0: no card */
    double own[SW_TOP_NUMBERS], card[SW_CARD_NUMBERS], camera[SW_CAMERA_NUMBERS], lens[SW_LENS_NUMBERS], thickness;
    double rest, weight;
} sw_observation;

/* A sight line's place on its top, and its derivatives: columns x and y. */
typedef struct sw_met {
    sw_point at, own[SW_TOP_NUMBERS], camera[SW_CAMERA_NUMBERS], lens[SW_LENS_NUMBERS];
} sw_met;

/* Corners of a card, outer and inner ones. */
enum { SW_CARD_CORNERS = 8 };

/* Makes fitting->lines for the lens as it is; takes and gives no room. */
void sw_sight_lines_make(sw_fitting *fitting);

/* One of them as the lens is by now. */
sw_sight_line sw_sight_line_now(const sw_fitting *fitting, size_t line);

/* over_mm: how far above the tile's top what is seen lies. */
void sw_meet_all(const sw_fitting *fitting, const sw_sight_line *line, int tile, double over_mm, sw_met *met);

/* The part of a met place along a direction, of unit length. */
sw_observation sw_along(const sw_fitting *fitting, const sw_met *met, sw_point way, int tile, int view);

#endif
