/* top_light.h - how light a tile's top is, place by place: what a station's sides are held against. */
#ifndef SW_SEAM_TOP_LIGHT_H
#define SW_SEAM_TOP_LIGHT_H

#include "seamwright/scale.h"
#include "table/grid.h"
#include "tint/tint.h"

enum { SW_TOP_LIGHT_NUMBERS = 6 };

/* A tile's light as a parabola over its top, logarithm of linear light; lamps and lenses make no more of it than that. */
typedef struct sw_top_light {
    sw_point middle; /* mm */
    double half_mm;  /* half of the tile's side: places count in it */
    double c[SW_TOP_LIGHT_NUMBERS];
    double
        spread; /* of patches as large as a finger nail about it: grain, stains, print; NaN: nothing of the tile was seen */
    sw_top_tint tint;
    bool printed; /* it has print or coarse grain, or a good part of the table's tops have */
} sw_top_light;

/* Reads the tile in a column and row of the grid; cards are left out. */
void sw_top_light_read(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, int column, int row,
                       sw_top_light *top);

/* Says which of the table's tops count as printed: more may touch a seam beside them than is found. */
void sw_top_light_find_printed(sw_top_light *tops, int count);

/* Logarithm of the light that the tile's top has at a place, mm; NaN where nothing is known. */
double sw_top_light_at(const sw_top_light *top, sw_point mm);

/* Light of the floor beside the table, logarithm: NaN where it does not show. */
typedef struct sw_floor_light {
    double least, mean, most; /* over the table's four sides: shade and lamp */
} sw_floor_light;

/* Whether a tile is not there: in its place lies what lies beside the table, and most tiles are not like that. */
bool sw_top_light_missing(const sw_top_light *tops, int count, int tile, const sw_floor_light *floor);

#endif
