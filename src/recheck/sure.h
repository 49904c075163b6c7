/* sure.h - how far off a figure may be before anybody is told so, when many figures are looked at together.
 *
 * Of hundreds of places one or the other is always beyond its own 95 %. What is said of a table shall be wrong in 5 % of
 * tables, so the bound is for the largest of all errors in it. Both functions give it in standard uncertainties.
 */
#ifndef SW_RECHECK_SURE_H
#define SW_RECHECK_SURE_H

#include <stddef.h>

/* Errors along `edges` edges of length_mm altogether that go together over together_mm. Rice (1944): a normal process of
 * unit variance rises through a level k exp(-k^2 / 2) / (2 pi l) times a mm, where its correlation falls as
 * exp(-x^2 / (2 l^2)), so that together_mm, the area under the correlation, is l sqrt(2 pi). The largest error is over k
 * with a chance of no more than (these upward crossings) + (edges that begin above k); k is where that is 5 %. */
double sw_sure_along(double length_mm, size_t edges, double together_mm);

/* Any of `count` separate figures, to one side (Bonferroni). */
double sw_sure_of(size_t count);

#endif
