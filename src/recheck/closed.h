/* closed.h - how well a rim is known where its seam is closed.
 *
 *     open: two rims, each an edge of its own          closed: one faint line; where in it do the tiles meet?
 *      ______|    |______                               _______||_______
 *
 * A gap much narrower than the picture's blur shows how wide it is by its darkness, but hardly where it lies: one tile's
 * rim is then read too far out and the other's as much too far in. Between two photos that looks as if something came
 * off the one.
 */
#ifndef SW_RECHECK_CLOSED_H
#define SW_RECHECK_CLOSED_H

#include "seamwright/inspection.h"

/* The seam that an edge lies at, NULL at the table's rim. */
const sw_seam *sw_seam_at(const sw_inspection *ins, int tile, sw_side side);

/* From here on the line may be followed anywhere between the two tiles: the error is no longer a normal one (1 mm was
 * seen), and nothing is concluded from such a place. mm; a gap of 0.03 mm at 2.4 px per mm. */
static const double SW_CLOSED_UNTOLD_MM = 0.08;

/* Standard uncertainty that this adds to a rim's place, at_mm from the seam's north or west end; 0 without a seam, and
 * where nothing near was seen. By the least gap near, as what is read wrong spreads. */
double sw_closed_u_mm(const sw_inspection *ins, const sw_seam *seam, double at_mm);

#endif
