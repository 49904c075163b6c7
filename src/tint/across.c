#include <math.h>

#include "photo/crossing.h"
#include "tint/colours.h"

/* Colours are softer than luma: files hold them at half size, and phones smooth them. So far beyond the rims they may reach, px. */
enum { BEYOND_PX = 4 };
/* Luma of tops below this, levels, is too coarse to be a measure. */
static const double LUMA_LEAST = 8;

/* Sums, then means over a stretch of a crossing. */
typedef struct stretch {
    double luma, n;
    sw_chroma c;
} stretch;

static sw_chroma chroma_at(const sw_photo *photo, bool along_row, int line, int at)
{
    int x = (along_row ? at : line) / 2, y = (along_row ? line : at) / 2;
    x = x < photo->chroma_width_px ? x : photo->chroma_width_px - 1;
    y = y < photo->chroma_height_px ? y : photo->chroma_height_px - 1;
    const uint8_t *pair = photo->chroma + 2 * ((size_t)y * (size_t)photo->chroma_width_px + (size_t)x);
    return (sw_chroma){pair[0] - 128.0, pair[1] - 128.0};
}

/* Mean over `count` of the crossing's places from `from` on; its first place stands at pixel `start`. */
static stretch mean_of(const sw_photo *photo, bool along_row, int line, int start, const double *luma, int from,
                       int count)
{
    stretch s = {0};
    for (int k = from; k < from + count; k++) {
        sw_chroma c = chroma_at(photo, along_row, line, start + k);
        s.luma += luma[k] / count;
        s.c.blue += c.blue / count;
        s.c.red += c.red / count;
    }
    return s;
}

/* Luma in levels of 8 bits; false where any of it lies outside the photo. */
static bool read_luma(const sw_photo *photo, bool along_row, int line, int start, int count, double *luma)
{
    int size = along_row ? photo->width_px : photo->height_px, lines = along_row ? photo->height_px : photo->width_px;
    if (start < 0 || count > SW_CROSSING_MAX || start + count > size || line < 0 || line >= lines)
        return false;
    sw_crossing_stored(photo, along_row, line, start, count, luma);
    for (int k = 0; photo->bits == 16 && k < count; k++)
        luma[k] /= 257;
    return true;
}

/* Adds up the colour from place `from` to before place `to` that is not its top's, as dark as the place is. */
static void add_own(const sw_photo *photo, bool along_row, const sw_tint_station *s, int start, const double *luma,
                    int from, int to, sw_tint_reading *r)
{
    double middle = (s->low_rim_px + s->high_rim_px) / 2 - start;
    for (int k = from; k < to; k++) {
        int high = k > middle;
        double share = luma[k] / r->luma[high];
        sw_chroma c = chroma_at(photo, along_row, s->line, start + k);
        r->own.blue += c.blue - share * r->top[high].blue;
        r->own.red += c.red - share * r->top[high].red;
        r->lacks += 1 - share;
        r->wide++;
    }
}

sw_tint_reading sw_tint_across(const sw_photo *photo, bool along_row, const sw_tint_station *s)
{
    double luma[SW_CROSSING_MAX];
    sw_tint_reading r = {0};
    int start = (int)floor(s->low_rim_px) - BEYOND_PX - SW_TINT_TOP_PX;
    int count = (int)ceil(s->high_rim_px) + BEYOND_PX + SW_TINT_TOP_PX + 1 - start;
    if (!s->seen || !read_luma(photo, along_row, s->line, start, count, luma))
        return r;
    for (int high = 0; high < 2; high++) {
        stretch top =
            mean_of(photo, along_row, s->line, start, luma, high ? count - SW_TINT_TOP_PX : 0, SW_TINT_TOP_PX);
        if (top.luma < LUMA_LEAST)
            return r;
        r.luma[high] = top.luma;
        r.top[high] = top.c;
    }
    add_own(photo, along_row, s, start, luma, SW_TINT_TOP_PX, count - SW_TINT_TOP_PX, &r);
    r.read = true;
    return r;
}

sw_chroma sw_tint_of_plain_top(const sw_photo *photo, bool along_row, int line, int at, int half)
{
    double luma[SW_CROSSING_MAX];
    if (2 * half > SW_CROSSING_MAX || !read_luma(photo, along_row, line, at - half, 2 * half, luma))
        return (sw_chroma){NAN, NAN};
    stretch in = mean_of(photo, along_row, line, at - half, luma, 0, half),
            beside = mean_of(photo, along_row, line, at - half, luma, half, half);
    double share = in.luma / fmax(LUMA_LEAST, beside.luma);
    return (sw_chroma){half * (in.c.blue - share * beside.c.blue), half * (in.c.red - share * beside.c.red)};
}
