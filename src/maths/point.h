/* point.h - points as arrows from the origin. */
#ifndef SW_MATHS_POINT_H
#define SW_MATHS_POINT_H

#include <math.h>

#include "seamwright/photo.h"

static inline sw_point sw_minus(sw_point a, sw_point b)
{
    return (sw_point){a.x - b.x, a.y - b.y};
}

static inline sw_point sw_times(sw_point a, double factor)
{
    return (sw_point){a.x * factor, a.y * factor};
}

/* The place `part` of the way from a to b. */
static inline sw_point sw_between(sw_point a, sw_point b, double part)
{
    return (sw_point){a.x + part * (b.x - a.x), a.y + part * (b.y - a.y)};
}

static inline double sw_distance(sw_point a, sw_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

#endif
