/* uncorrected.c - the program with the edge response's correction taken out: the baseline of the study of edge spread.
 *
 * The linker hands every call of sw_response_fit to this wrapper (--wrap). It fits what there is without a model of
 * sharpening and tone curve: one Gaussian to the printed edges as they stand, in linear light by the sRGB curve. */
#include <math.h>

#include "scale/squares.h"

sw_response __real_sw_response_fit(const sw_esf *esf, int printed);
sw_response __wrap_sw_response_fit(const sw_esf *esf, int printed);

enum { REACH_BINS = 30 }; /* 6 px on either side, as the fit that this stands in for */

static double encode(double linear)
{
    return linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

static double decode(double stored)
{
    return stored <= 0.04045 ? stored / 12.92 : pow((stored + 0.055) / 1.055, 2.4);
}

/* Sum of squares of the pooled edge against a Gaussian one. */
static double misfit(const sw_esf *esf, double blur_px, double place_px)
{
    double dark = esf->dark / esf->weight, bright = esf->bright / esf->weight, sum = 0;
    double low = encode(dark), high = encode(bright);
    for (int i = SW_ESF_BINS / 2 - REACH_BINS; i < SW_ESF_BINS / 2 + REACH_BINS; i++) {
        if (esf->count[i] < 1)
            continue;
        double linear = decode(low + (high - low) * esf->sum[i] / esf->count[i]);
        double x = (i - SW_ESF_BINS / 2 + 0.5) / 5 - place_px;
        double off = (linear - dark) / (bright - dark) - 0.5 * erfc(-x / blur_px / sqrt(2.0));
        sum += off * off;
    }
    return sum;
}

sw_response __wrap_sw_response_fit(const sw_esf *esf, int printed)
{
    sw_response found = __real_sw_response_fit(esf, printed);
    if (found.poor)
        return found;
    double best = INFINITY;
    sw_response plain = {.blur_px = 1, .radius_px = found.radius_px, .misfit = found.misfit};
    for (double blur = 0.3; blur < 3; blur += 0.02)
        for (double place = -0.6; place < 0.6; place += 0.02) {
            double sum = misfit(esf, blur, place);
            if (sum < best) {
                best = sum;
                plain.blur_px = blur;
            }
        }
    return plain;
}
