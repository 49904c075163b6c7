/* lens.h - a lens's numbers in a row; the distortion polynomial and its derivatives, for those that call it a million
 * times. */
#ifndef SW_SCALE_LENS_H
#define SW_SCALE_LENS_H

#include <stdbool.h>

#include "seamwright/scale.h"

/* The numbers in the order of SW_LENS_*, and back. */
void sw_lens_numbers(const sw_lens *lens, double numbers[SW_LENS_NUMBERS]);
void sw_lens_take_numbers(const double numbers[SW_LENS_NUMBERS], sw_lens *lens);

/* What a fit to squares leaves out of the lens and is uncertain all the same: a profile's own numbers; of an unknown lens the centre and k3.
 * Lower root of its covariance. */
void sw_lens_unfitted_root(const sw_lens *lens, double root[SW_LENS_NUMBERS][SW_LENS_NUMBERS]);

/* A distorted point of the normal plane with the derivatives of the distortion there:
 * xx = dx'/dx, xy = dx'/dy = dy'/dx, yy = dy'/dy. */
typedef struct sw_bent {
    double x, y;
    double xx, xy, yy;
} sw_bent;

/* With g = 1 + k1 r2 + k2 r2^2 + k3 r2^3 and h = dg/dr2: dx'/dx = g + 2 h x^2 + 2 p1 y + 6 p2 x,
 * dx'/dy = dy'/dx = 2 h x y + 2 p1 x + 2 p2 y, dy'/dy = g + 2 h y^2 + 6 p1 y + 2 p2 x. */
static inline sw_bent sw_lens_bend(const sw_lens *lens, double x, double y)
{
    double r2 = x * x + y * y;
    double g = 1 + r2 * (lens->k1 + r2 * (lens->k2 + r2 * lens->k3));
    double h = lens->k1 + r2 * (2 * lens->k2 + r2 * 3 * lens->k3);
    double p1 = lens->p1, p2 = lens->p2;
    return (sw_bent){
        .x = x * g + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
        .y = y * g + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y,
        .xx = g + 2 * h * x * x + 2 * p1 * y + 6 * p2 * x,
        .xy = 2 * h * x * y + 2 * p1 * x + 2 * p2 * y,
        .yy = g + 2 * h * y * y + 6 * p1 * y + 2 * p2 * x,
    };
}

/* One-to-one round the centre needs both eigenvalues of the (symmetric) Jacobian positive. */
static inline bool sw_lens_one_to_one(sw_bent b)
{
    return b.xx * b.yy - b.xy * b.xy > 0 && b.xx + b.yy > 0;
}

#endif
