/* light.c - which of a picture's light squares are cut cards (README.md). */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "scale/squares.h"

/* Lines along a side on which brightness is taken, share of the side: inside, and outside from NEAR to FAR in OUTSIDE
 * steps. Gaps are up to 8 mm; cards are cut to 50 mm or more, and lie 20 mm off their tile's edges. */
static const double INSIDE = 0.06, NEAR = 0.015, FAR = 0.14;
enum { OUTSIDE = 12, ALONG = 32 };
/* The nearest line keeps clear of the blur, px. */
static const double CLEAR_PX = 4;
/* Least difference between card and tile, share of the range: below it texture and shading pass for cards. */
static const double LEAST_STEP = 0.025;
/* How far the surroundings may differ from side to side, or dip near the edge, shares of the step: shading, pencil,
 * wood grain. */
static const double MOST_UNEVEN = 0.5, MOST_DIP = 0.35;
/* A table has at least two tiles, each larger than the card, and floor round it. */
static const double MOST_OF_PICTURE = 0.45;
/* Cards are of one stuff and one size; perspective changes sizes, and shading brightness, by less than this. */
static const double SAME_LIGHT = 0.9, SAME_SIZE = 1.4;
/* What lies on something is smaller than it by more than this. */
static const double SMALLER = 0.85;

bool sw_quad_holds(const sw_quad *quad, sw_point px)
{
    int left = 0, right = 0;
    for (int i = 0; i < 4; i++) {
        const sw_point *a = &quad->corners[i], *b = &quad->corners[(i + 1) % 4];
        double side = (b->x - a->x) * (px.y - a->y) - (b->y - a->y) * (px.x - a->x);
        left += side < 0;
        right += side > 0;
    }
    return left == 0 || right == 0;
}

/* Mean stored value, share of the range, on the middle 70 % of the line parallel to a side, `out` sides outside it; NaN
 * outside the photo. */
static double line_mean(const sw_photo *photo, const sw_quad *q, int side, double out)
{
    const sw_point *a = &q->corners[side], *b = &q->corners[(side + 1) % 4], *c = &q->corners[(side + 2) % 4],
                   *d = &q->corners[(side + 3) % 4];
    double sum = 0;
    for (int i = 0; i < ALONG; i++) {
        double t = 0.15 + 0.7 * i / (ALONG - 1);
        sw_point at = {a->x + t * (b->x - a->x), a->y + t * (b->y - a->y)},
                 over = {d->x + t * (c->x - d->x), d->y + t * (c->y - d->y)};
        double x = at.x + out * (at.x - over.x), y = at.y + out * (at.y - over.y);
        if (!(x >= 0 && y >= 0 && x < photo->width_px - 1 && y < photo->height_px - 1))
            return NAN;
        sum += sw_photo_at(photo, (int)lround(x), (int)lround(y));
    }
    return sum / ALONG / ((1 << photo->bits) - 1);
}

/* A frame's white inside looks like a card on a dark tile, but beyond its black band, on all four sides, lies white
 * paper: no darker than this share of the inside (shading), within this many sides; and the band is black
 * (stored value 0.2 of white's; grey with glare). */
static const double PAPER_SHARE = 0.9, BAND_MOST = 0.8, BLACK_SHARE = 0.5;

static bool inside_of_frame(const sw_photo *photo, const sw_quad *q)
{
    enum { STEPS = 32 };
    for (int side = 0; side < 4; side++) {
        double in = line_mean(photo, q, side, -INSIDE), most = 0, least = 1;
        for (int k = 1; k <= STEPS; k++) {
            double at = line_mean(photo, q, side, BAND_MOST * k / STEPS);
            least = fmin(least, at);
            most = fmax(most, at);
        }
        if (most < PAPER_SHARE * in || least > BLACK_SHARE * in)
            return false;
    }
    return true;
}

/* The least brightness of the card beside its sides when it looks like a card, else 0. */
static double card_light(const sw_photo *photo, const sw_quad *q)
{
    double least_in = 1, least_out = 1, most_out = 0, least_step = 1, dip = 0;
    for (int side = 0; side < 4; side++) {
        double in = line_mean(photo, q, side, -INSIDE), near = 1, far = 0;
        for (int k = 0; k < OUTSIDE; k++) {
            double out = fmax(NEAR, CLEAR_PX / q->size_px),
                   at = line_mean(photo, q, side, out + (FAR - out) * k / (OUTSIDE - 1));
            if (isnan(at) || isnan(in))
                return 0;
            near = fmin(near, at);
            far += at / OUTSIDE;
        }
        least_in = fmin(least_in, in);
        least_out = fmin(least_out, far);
        most_out = fmax(most_out, far);
        least_step = fmin(least_step, in - far);
        dip = fmax(dip, far - near);
    }
    if (least_step < LEAST_STEP || most_out - least_out > MOST_UNEVEN * least_step || dip > MOST_DIP * least_step ||
        inside_of_frame(photo, q))
        return 0;
    return least_in;
}

static bool holds_another(const sw_quad *quads, int count, int which)
{
    for (int i = 0; i < count; i++)
        if (quads[i].size_px < SMALLER * quads[which].size_px && sw_quad_holds(&quads[which], quads[i].corners[0]) &&
            sw_quad_holds(&quads[which], quads[i].corners[2]))
            return true;
    return false;
}

sw_status sw_quads_find_light(const sw_photo *photo, const sw_small *small, sw_quad *out, int *kept)
{
    sw_quad quads[SW_SQUARES_MAX];
    double light[SW_SQUARES_MAX], lightest = 0, size = 0;
    int count;
    sw_status status = sw_quads_lighter(photo, small, quads, &count);
    *kept = 0;
    double most = MOST_OF_PICTURE * (photo->width_px < photo->height_px ? photo->width_px : photo->height_px);
    for (int i = 0; i < count; i++) {
        light[i] = quads[i].size_px > most ? 0 : card_light(photo, &quads[i]);
        lightest = fmax(lightest, light[i]);
    }
    for (int i = 0; i < count; i++) /* a tile that holds a card is none, whatever else it looks like */
        if (light[i] > 0 && holds_another(quads, count, i))
            light[i] = 0;
    for (int i = 0; i < count; i++)
        if (light[i] > SAME_LIGHT * lightest)
            size = fmax(size, quads[i].size_px);
    for (int i = 0; i < count; i++)
        if (light[i] > SAME_LIGHT * lightest && quads[i].size_px * SAME_SIZE > size)
            out[(*kept)++] = quads[i];
    return status;
}
