#include "photo/crossing.h"

#include <math.h>
#include <string.h>

/* Taps below this do not move an edge by a thousandth of a pixel. */
static const double TAP_THAT_COUNTS = 3e-4;

sw_soften sw_soften_make(double amount, double radius_px)
{
    enum { RING = 128 }; /* frequencies of the inverse transform; the filter is far shorter */
    sw_soften soften = {0};
    soften.tap[0] = 1;
    if (!(amount > 0) || !(radius_px > 0))
        return soften;
    double sum = 0;
    for (int n = 0; n <= SW_SOFTEN_REACH; n++) {
        double tap = 0;
        for (int k = 0; k < RING; k++) {
            double w = 2 * M_PI * (k < RING / 2 ? k : k - RING) / RING;
            tap += cos(w * n) / (1 + amount - amount * exp(-0.5 * w * w * radius_px * radius_px));
        }
        soften.tap[n] = tap / RING;
        if (fabs(soften.tap[n]) > TAP_THAT_COUNTS)
            soften.reach = n;
    }
    for (int n = 0; n <= soften.reach; n++)
        sum += (n ? 2 : 1) * soften.tap[n];
    for (int n = 0; n <= soften.reach; n++)
        soften.tap[n] /= sum;
    return soften;
}

int sw_crossing_stored(const sw_photo *photo, bool along_row, int line, int start, int count, double *out)
{
    int size = along_row ? photo->width_px : photo->height_px;
    int lines = along_row ? photo->height_px : photo->width_px;
    size_t stride = along_row ? 1 : (size_t)photo->width_px;
    int outside = line < 0 || line >= lines ? count : 0;
    line = line < 0 ? 0 : line >= lines ? lines - 1 : line;
    size_t base = along_row ? (size_t)line * (size_t)photo->width_px : (size_t)line;
    int missed = 0;
    for (int i = 0; i < count; i++) {
        int at = start + i;
        missed += at < 0 || at >= size;
        at = at < 0 ? 0 : at >= size ? size - 1 : at;
        size_t place = base + (size_t)at * stride;
        out[i] = photo->bits == 8 ? photo->luma8[place] : photo->luma16[place];
    }
    return outside ? outside : missed;
}

int sw_crossing_read(const sw_photo *photo, const sw_soften *soften, bool along_row, int line, int start, int count,
                     double *out)
{
    double stored[SW_CROSSING_MAX + 2 * SW_SOFTEN_REACH];
    int reach = soften->reach;
    sw_crossing_stored(photo, along_row, line, start - reach, count + 2 * reach, stored);
    for (int i = 0; i < count; i++) {
        const double *at = stored + i + reach;
        double sum = soften->tap[0] * at[0];
        for (int n = 1; n <= reach; n++)
            sum += soften->tap[n] * (at[n] + at[-n]);
        out[i] = sw_linear_of(photo, sum);
    }
    int size = along_row ? photo->width_px : photo->height_px;
    int lines = along_row ? photo->height_px : photo->width_px;
    if (line < 0 || line >= lines)
        return count;
    int before = start < 0 ? -start : 0, after = start + count > size ? start + count - size : 0;
    return before + after > count ? count : before + after;
}
