/* motion.h - the motions of tiles as columns of a linear programme. */
#ifndef SW_PUSH_MOTION_H
#define SW_PUSH_MOTION_H

#include "push/lp.h"
#include "push/settle.h"

/* A turn's column counts mm at this radius, so that all columns are of one size. */
static const double SW_MOTION_RADIUS_MM = 100;

/* Adds three columns for each tile but the first, which stays, and returns the first column's index. */
int sw_motion_columns(sw_lp *lp, size_t tiles);

/* The motions' terms in the gap of a joint at a place: up to 6, returns how many. */
int sw_motion_terms(const sw_joint *joint, double at_mm, const sw_point *centres, int motion_column,
                    sw_lp_term terms[6]);

/* The motions found. */
void sw_motions_take(const sw_lp *lp, int first, size_t tiles, sw_motion *motions);

#endif
