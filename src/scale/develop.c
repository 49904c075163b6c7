#include "scale/develop.h"

#include <math.h>

enum { TAPS_MOST = 140, HALVINGS = 50, PER_PX = 10, AT_ONCE = 8 };

double sw_tone(double v, double contrast)
{
    return v + 2 * contrast * v * (1 - v) * (v - 0.5);
}

double sw_tone_back(double v, double contrast)
{
    double low = 0, high = 1;
    if (!(contrast > 0) || v <= 0 || v >= 1)
        return v;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (low + high) / 2;
        if (sw_tone(middle, contrast) < v)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

double sw_stored_of(double linear, double contrast)
{
    double v = linear <= 0.0031308 ? 12.92 * fmax(linear, 0) : 1.055 * pow(linear, 1 / 2.4) - 0.055;
    return contrast > 0 ? sw_tone(v, contrast) : v;
}

double sw_light_of(double stored, double contrast)
{
    double v = sw_tone_back(fmin(fmax(stored, 0), 1), contrast);
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

/* Gaussian of sigma_px over the grid; beyond its ends the end values go on. AT_ONCE points are summed side by side, a fixed
 * number, so that compilers make vectors of them. */
static void smooth(const double *in, double sigma_px, double *out)
{
    double taps[TAPS_MOST + 1], sum = 0, wide[TAPS_MOST + SW_DEVELOP_GRID + AT_ONCE + TAPS_MOST];
    int reach = (int)fmin(TAPS_MOST, ceil(3.5 * sigma_px / SW_DEVELOP_STEP));
    for (int k = 0; k <= reach; k++) {
        double x = k * SW_DEVELOP_STEP / sigma_px;
        taps[k] = exp(-0.5 * x * x);
        sum += k ? 2 * taps[k] : taps[k];
    }
    for (int i = 0; i < reach + SW_DEVELOP_GRID + AT_ONCE + reach; i++)
        wide[i] = in[i < reach ? 0 : i - reach < SW_DEVELOP_GRID ? i - reach : SW_DEVELOP_GRID - 1];
    for (int i = 0; i < SW_DEVELOP_GRID; i += AT_ONCE) {
        const double *at = wide + reach + i;
        double value[AT_ONCE];
        for (int n = 0; n < AT_ONCE; n++)
            value[n] = taps[0] * at[n];
        for (int k = 1; k <= reach; k++)
            for (int n = 0; n < AT_ONCE; n++)
                value[n] += taps[k] * (at[n - k] + at[n + k]);
        for (int n = 0; n < AT_ONCE && i + n < SW_DEVELOP_GRID; n++)
            out[i + n] = value[n] / sum;
    }
}

void sw_develop_edge(const sw_response *r, double dark, double bright, double stored[SW_DEVELOP_GRID])
{
    double soft[SW_DEVELOP_GRID], wide = sw_halo_blur(r->blur_px);
    for (int i = 0; i < SW_DEVELOP_GRID; i++) {
        double x = -(i - SW_DEVELOP_HALF) * SW_DEVELOP_STEP / M_SQRT2;
        double step = 0.5 * ((1 + r->halo) * erfc(x / r->blur_px) - r->halo * erfc(x / wide));
        stored[i] = sw_stored_of(dark + (bright - dark) * step, r->contrast);
    }
    if (r->sharpen > 0) {
        smooth(stored, r->radius_px, soft);
        for (int i = 0; i < SW_DEVELOP_GRID; i++)
            stored[i] = fmin(fmax(stored[i] + r->sharpen * (stored[i] - soft[i]), 0), 1);
    }
    if (r->soften_px > 0) {
        smooth(stored, r->soften_px, soft);
        for (int i = 0; i < SW_DEVELOP_GRID; i++)
            stored[i] = soft[i];
    }
}

double sw_develop_shift(const sw_response *made, const sw_response *read, double dark, double bright)
{
    double stored[SW_DEVELOP_GRID], area = 0;
    sw_develop_edge(made, dark, bright, stored);
    sw_soften soften = sw_soften_make(read->sharpen, read->radius_px);
    double low = sw_light_of(stored[0], read->contrast),
           high = sw_light_of(stored[SW_DEVELOP_GRID - 1], read->contrast);
    for (int i = 0; i < SW_DEVELOP_GRID; i++) {
        double value = soften.tap[0] * stored[i];
        for (int n = 1; n <= soften.reach; n++) {
            int before = i - PER_PX * n, after = i + PER_PX * n;
            value += soften.tap[n] *
                     (stored[before < 0 ? 0 : before] + stored[after < SW_DEVELOP_GRID ? after : SW_DEVELOP_GRID - 1]);
        }
        double expected = i > SW_DEVELOP_HALF ? 1 : i == SW_DEVELOP_HALF ? 0.5 : 0;
        area += expected - (sw_light_of(value, read->contrast) - low) / (high - low);
    }
    return area * SW_DEVELOP_STEP;
}
