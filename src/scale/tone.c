#include "scale/tone.h"

#include <math.h>

#include "scale/develop.h"

/* Black that is deeper than print may be the work of a steeper curve or of a floor below which all is black: which of them, nobody knows. Of the
 * difference between the two this share counts. */
static const double FLOOR_SHARE = 0.8;
/* Step of the slope, share of the range. */
static const double STEP = 0.01;

/* Slope of the logarithm of light at a stored value. */
static double slope(double stored, double contrast, double floor)
{
    double low = floor + (1 - floor) * fmax(stored - STEP, STEP / 2),
           high = floor + (1 - floor) * fmin(stored + STEP, 1);
    return log(sw_light_of(high, contrast) / sw_light_of(low, contrast)) / (high - low) * (1 - floor);
}

double sw_tone_u_rel(const sw_scale *scale, double top)
{
    double stored = sw_stored_of(top, scale->contrast), taken = slope(stored, scale->contrast, 0);
    double steeper = slope(stored, fmin(scale->contrast + scale->contrast_u, SW_CONTRAST_MOST), 0) / taken - 1;
    double floored = slope(stored, 0, scale->black_floor) / taken - 1;
    return hypot(steeper, FLOOR_SHARE * (scale->black_floor > 0 ? floored : 0));
}
