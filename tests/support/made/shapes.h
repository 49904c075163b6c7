/* shapes.h - shapes of edges for made_shape, over u mm from the middle of an edge of 300 mm. */
#ifndef SW_SUPPORT_MADE_SHAPES_H
#define SW_SUPPORT_MADE_SHAPES_H

static inline double wedge(double u, const double *slope)
{
    return *slope * u;
}

/* height in the middle, 0 at the corners. */
static inline double bowed(double u, const double *height)
{
    return *height * (1 - u * u / (150.0 * 150.0));
}

static inline double offset(double u, const double *by)
{
    (void)u;
    return *by;
}

#endif
