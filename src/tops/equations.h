/* equations.h - the normal equations: what a tile has of its own is taken out, so that only the common numbers are solved for together
 * and the cost grows with the tiles, not with their square. */
#ifndef SW_TOPS_EQUATIONS_H
#define SW_TOPS_EQUATIONS_H

#include "tops/sight_line.h"

void sw_equations_clear(sw_fitting *fitting);

void sw_equations_add(sw_fitting *fitting, const sw_observation *observation);

/* Several observations of one unknown place, whose weighted mean is 0: they are added, and the place is taken out. */
void sw_equations_add_alike(sw_fitting *fitting, const sw_observation *observations, int count);

void sw_equations_prior(double value, double sd, double *own, double *side, double *cost);

/* Takes the tiles' own numbers out of the common equations; fitting->all becomes the common numbers' covariance. SW_NOT_FOUND where they
 * leave something open. */
sw_status sw_equations_solve(sw_fitting *fitting);

/* Moves everything; how far, in units of what would matter (0.01 mm of a top, its like of slopes). */
double sw_equations_move(sw_fitting *fitting);

#endif
