/* parts.h - putting the parts of a figure's uncertainty together. */
#ifndef SW_TILE_PARTS_H
#define SW_TILE_PARTS_H

#include "seamwright/budget.h"

/* Variances, part by part, become standard uncertainties. degrees_of_freedom is set to 0. */
void sw_parts_from(const double variance[SW_PART_COUNT], sw_parts *parts);

/* Sets noise and texture: of this variance so much is noise (more than all counts as all), the rest is texture. */
void sw_parts_random(double variance, double noise_variance, sw_parts *parts);

/* Makes parts of one photo those of a figure joined from several: noise and texture together become u_random, the others, in
 * their old proportion, what is missing to u. Parts that are all 0 stay so. */
void sw_parts_rescale(double u, double u_random, sw_parts *parts);

/* Adds a standard uncertainty to one part of a figure's, and works out its u95 anew, where it has one. */
void sw_parts_add(double u, sw_part part, sw_parts *parts, double *u95);

#endif
