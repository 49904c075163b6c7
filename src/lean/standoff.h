/* standoff.h - how far the bases of two tiles hold their tops apart. */
#ifndef SW_LEAN_STANDOFF_H
#define SW_LEAN_STANDOFF_H

#include "push/openings.h"

/* How far a joint's least gap exceeds what its top edges leave open when they are pushed together; NaN when it was not
 * seen. pushed: the inspection's tops pushed. */
double sw_standoff_left(const sw_openings *e, const sw_settled *pushed, size_t joint);
/* The same of every joint, and its ±; both have room for the inspection's seams. 0 where nothing says so with 95 %
 * confidence. */
void sw_standoffs(const sw_openings *e, const sw_settled *pushed, double *standoff_mm, double *u95_mm);

#endif
