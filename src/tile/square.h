/* square.h - a tile's own best square, and straightness with the noise taken out. */
#ifndef SW_TILE_SQUARE_H
#define SW_TILE_SQUARE_H

#include <stddef.h>

#include "seamwright/tile.h"

/* Fits the square (centre, turn, side) that the tile's rim points lie closest to (least squares of their distances from its four
 * sides; chips, ends and unseen places left out) and fills centre_mm, turn_rad, side_mm and every point's proud_mm. NaN when
 * a side has no points. */
void sw_square_fit(sw_tile *tile);

typedef struct sw_straightness {
    double width_mm; /* minimum zone, with what noise alone adds taken off; never below 0 */
    double u_mm;     /* standard uncertainty from the noise */
} sw_straightness;

/* Minimum zone (ISO 12780-1) of points along an edge whose places are uncertain by random_mm (standard deviation) and independent
 * every independent_mm. Noise can only widen a zone: how much is found by adding the like of it again, several times, from a fixed
 * seed. */
sw_straightness sw_straightness_of(const sw_point *points, size_t count, double random_mm, double independent_mm);

#endif
