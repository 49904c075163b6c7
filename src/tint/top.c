#include <math.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "tint/colours.h"

/* Patches a side of the tile, how near to its edges the outermost lie (share of half its side), and their size, mm. */
enum { PATCHES = 16 };
static const double OUTERMOST = 0.9, PATCH_MM = 5;
/* White about a card and its shadow, mm. */
static const double CARD_CLEAR_MM = 14;
/* Colours are read from luma upwards of this: below it stored values are too coarse. */
static const double LUMA_LEAST = 12;
/* A running median over some stations leaves so much of the noise. */
static const double LEFT_OF_NOISE = 0.6;
/* Fewer patches make no median. */
enum { PATCHES_LEAST = 20 };

/* Mean tint of a square patch; NaN outside the photo or where it is dark. */
static sw_tint patch_tint(const sw_photo *photo, sw_point px, int half)
{
    const sw_tint none = {NAN, NAN};
    int x0 = (int)floor((px.x - half) / 2), x1 = (int)floor((px.x + half) / 2), y0 = (int)floor((px.y - half) / 2),
        y1 = (int)floor((px.y + half) / 2);
    double blue = 0, red = 0, luma = 0, n = 0;
    if (!(x0 >= 0 && y0 >= 0 && x1 < photo->chroma_width_px && y1 < photo->chroma_height_px))
        return none;
    for (int y = y0; y <= y1; y++)
        for (int x = x0; x <= x1; x++) {
            const uint8_t *c = photo->chroma + 2 * ((size_t)y * (size_t)photo->chroma_width_px + (size_t)x);
            blue += c[0] - 128.0;
            red += c[1] - 128.0;
            luma += sw_photo_at(photo, 2 * x, 2 * y);
            n++;
        }
    luma /= photo->bits == 8 ? 1 : 257;
    return luma > LUMA_LEAST * n ? (sw_tint){blue / luma, red / luma} : none;
}

/* What was read of a top's patches. */
typedef struct patches {
    double blue[PATCHES * PATCHES], red[PATCHES * PATCHES], sums[2 * PATCHES * PATCHES];
    size_t n, sum_n;
} patches;

static void read_patch(const sw_photo *photo, sw_point px, int half, bool along_row, patches *p)
{
    sw_tint tint = patch_tint(photo, px, half);
    if (isnan(tint.blue))
        return;
    p->blue[p->n] = tint.blue;
    p->red[p->n++] = tint.red;
    int x = (int)lround(px.x), y = (int)lround(px.y);
    sw_chroma sum = sw_tint_of_plain_top(photo, along_row, along_row ? y : x, along_row ? x : y, SW_TINT_TOP_PX);
    if (isnan(sum.blue))
        return;
    p->sums[p->sum_n++] = sum.blue;
    p->sums[p->sum_n++] = sum.red;
}

static void summarize(patches *p, sw_top_tint *top)
{
    double work[PATCHES * PATCHES];
    for (size_t i = 0; i < p->n; i++)
        work[i] = p->blue[i];
    top->usual.blue = sw_median(work, p->n);
    for (size_t i = 0; i < p->n; i++)
        work[i] = p->red[i];
    top->usual.red = sw_median(work, p->n);
    for (size_t i = 0; i < p->n; i++)
        work[i] = hypot(p->blue[i] - top->usual.blue, p->red[i] - top->usual.red);
    top->spread = sw_median(work, p->n);
    top->noise = p->sum_n ? LEFT_OF_NOISE * sw_mad_sigma(p->sums, p->sum_n, 0) : NAN;
}

void sw_top_tint_read(const sw_photo *photo, const sw_scale *scale, sw_point middle_mm, double half_mm,
                      sw_top_tint *top)
{
    patches p = {.n = 0};
    int half = (int)fmax(1, PATCH_MM / 2 * scale->px_per_mm);
    *top = (sw_top_tint){{NAN, NAN}, NAN, NAN};
    for (int k = 0; photo->chroma && k < PATCHES * PATCHES; k++) {
        double u = OUTERMOST * (2.0 * (k / PATCHES) / (PATCHES - 1) - 1),
               v = OUTERMOST * (2.0 * (k % PATCHES) / (PATCHES - 1) - 1);
        sw_point mm = {middle_mm.x + u * half_mm, middle_mm.y + v * half_mm};
        if (!sw_scale_covers(scale, mm, CARD_CLEAR_MM))
            read_patch(photo, sw_scale_to_px(scale, mm), half, k % 2, &p);
    }
    if (p.n >= PATCHES_LEAST)
        summarize(&p, top);
}
