/* guard.h - the guard band of every verdict, and of every decision about sanding; and what is not known between two figures. */
#ifndef SW_MATHS_GUARD_H
#define SW_MATHS_GUARD_H

/* As a share of the 95 % uncertainty U = 2 u (JCGM 100, 6.3.3): 5 % of a normal distribution lies above 1.645 u, more
 * exactly 1.6448 u (JCGM 106; ISO 14253-1:2017). */
static const double SW_GUARD = 1.6448 / 2;

/* Standard uncertainty of a figure that may lie anywhere between two, none likelier than another, as a share of their difference: 1 / sqrt(3)
 * (JCGM 100, 4.3.7). */
static const double SW_BETWEEN = 0.57735026918962576451;

#endif
