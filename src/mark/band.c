#include "mark/band.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "mark/tick.h"
#include "scale/frame.h"

/* A mark is looked for within this share of the edge from its half: 24 mm of 300. Marks are a few mm off at worst, 10
 * mm when a rule was misread by a centimetre; farther out a line is not meant for the half, and chance finds more. */
static const double REACH = 0.08;
/* Rows begin so far inside the rim: beyond the blur and the sharpening of gap and rim, px, and beyond a worn rim, mm.
 */
static const double RIM_PX = 3.5, RIM_MM = 1;
/* Rows end so far inside: ticks are 6 to 15 mm long (how makers draw them; the project's own scenario). */
static const double DEEP_MM = 13.5;
/* Samples lie a pixel apart, but no closer than this: a pencil line is 0.3 mm wide or more. */
static const double PITCH_LEAST_MM = 0.15;
/* The way from mm to pixels is worked out every so many columns and linear between: a lens bends that by under 0.01 px.
 */
enum { KNOT = 8 };
/* Around a chip, so far along and this deep, walls and shade are no top: chips are 1 to 3 mm deep. */
static const double CHIP_BESIDE_MM = 1.5, CHIP_DEEP_MM = 4.5;
/* White round a card beyond its square (10 mm at least, as the cards' instructions say; more is seldom left): its rim
 * may look like a stroke. */
static const double CARD_WHITE_MM = 16;
/* So many seen places of the rim make its line. */
enum { RIM_LEAST = 8 };

sw_point sw_band_place(const sw_band_frame *f, double along, double depth)
{
    double in = f->rim[0] + f->rim[1] * along + depth;
    return (sw_point){f->half.x + along * f->u.x + in * f->inward.x, f->half.y + along * f->u.y + in * f->inward.y};
}

/* Straight line through the rim's places about the half. */
static sw_status fit_rim(const sw_edge *edge, sw_band_frame *f)
{
    double n = 0, x = 0, xx = 0, y = 0, xy = 0;
    for (size_t i = 0; i < edge->point_count; i++) {
        const sw_rim_point *p = &edge->points[i];
        double dx = p->mm.x - f->half.x, dy = p->mm.y - f->half.y, at = dx * f->u.x + dy * f->u.y;
        if (p->state != SW_STATION_OK || !(fabs(at) < f->reach_mm))
            continue;
        double in = dx * f->inward.x + dy * f->inward.y;
        n++;
        x += at;
        xx += at * at;
        y += in;
        xy += at * in;
    }
    double spread = n * xx - x * x;
    if (n < RIM_LEAST || !(spread > 0))
        return SW_NOT_FOUND;
    f->rim[1] = (n * xy - x * y) / spread;
    f->rim[0] = (y - f->rim[1] * x) / n;
    return SW_OK;
}

sw_status sw_band_frame_of(const sw_tile *tile, sw_side side, double rise_mm, sw_band_frame *f)
{
    const int here = (int)side, next = (here + 1) % 4, back = side == SW_SOUTH || side == SW_WEST;
    const int from = back ? next : here, to = back ? here : next;
    sw_point a = tile->corners[from].mm, b = tile->corners[to].mm, far = tile->corners[(side + 2) % 4].mm;
    memset(f, 0, sizeof *f);
    f->length_mm = hypot(b.x - a.x, b.y - a.y);
    if (!(f->length_mm > 0) || !isfinite(far.x))
        return SW_NOT_FOUND;
    f->half = (sw_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
    f->u = (sw_point){(b.x - a.x) / f->length_mm, (b.y - a.y) / f->length_mm};
    f->inward = (sw_point){-f->u.y, f->u.x};
    if ((far.x - a.x) * f->inward.x + (far.y - a.y) * f->inward.y < 0)
        f->inward = (sw_point){-f->inward.x, -f->inward.y};
    f->reach_mm = REACH * f->length_mm;
    f->rise_mm = rise_mm;
    return fit_rim(&tile->edges[side], f);
}

/* The squares that may reach into the band: most edges have none, and then nothing is asked place by place. */
static int near_cards(const sw_scale *scale, const sw_band_frame *f, const sw_band *s, const sw_square **near)
{
    int n = 0;
    double across = s->columns * s->pitch_mm;
    for (int i = 0; i < sw_scale_cards(scale); i++) {
        const sw_square *card = sw_scale_card(scale, i);
        const sw_point *c = card->corners_mm;
        double half = sw_distance(c[0], c[2]) / 2 + M_SQRT2 * CARD_WHITE_MM;
        if (sw_distance(sw_square_middle(card), f->half) < half + across / 2 + DEEP_MM)
            near[n++] = card;
    }
    return n;
}

/* Linear light between four pixels; NaN outside the photo. */
static float light_at(const sw_photo *photo, double x, double y)
{
    if (!(x >= 0 && y >= 0 && x < photo->width_px - 1 && y < photo->height_px - 1))
        return NAN;
    int c = (int)x, r = (int)y;
    float fx = (float)(x - c), fy = (float)(y - r);
    const float *lin = photo->linear;
    float top = lin[sw_photo_at(photo, c, r)] * (1 - fx) + lin[sw_photo_at(photo, c + 1, r)] * fx;
    float low = lin[sw_photo_at(photo, c, r + 1)] * (1 - fx) + lin[sw_photo_at(photo, c + 1, r + 1)] * fx;
    return top * (1 - fy) + low * fy;
}

static void read_row(const sw_photo *photo, const sw_scale *scale, const sw_band_frame *f, const sw_band *s, int row)
{
    float *out = s->light + (size_t)row * (size_t)s->columns;
    double depth = sw_band_depth(s, row);
    sw_point next = sw_scale_to_px(scale, sw_band_place(f, s->first_mm, depth));
    for (int c = 0; c < s->columns; c += KNOT) {
        sw_point here = next;
        next = sw_scale_to_px(scale, sw_band_place(f, sw_band_along(s, c + KNOT), depth));
        double dx = (next.x - here.x) / KNOT, dy = (next.y - here.y) / KNOT;
        for (int k = 0; k < KNOT && c + k < s->columns; k++)
            out[c + k] = light_at(photo, here.x + k * dx, here.y + k * dy);
    }
}

static void hide(sw_band *s, double from, double to, double deep)
{
    for (int r = 0; r < s->rows && sw_band_depth(s, r) < deep; r++)
        for (int c = (int)fmax(0, ceil((from - s->first_mm) / s->pitch_mm));
             c < s->columns && sw_band_along(s, c) <= to; c++)
            s->light[(size_t)r * (size_t)s->columns + (size_t)c] = NAN;
}

/* Chips and cards. */
static void hide_others(const sw_scale *scale, const sw_band_frame *f, const sw_edge *edge, sw_band *s)
{
    const sw_square *near[sizeof scale->squares / sizeof *scale->squares + SW_CARDS_LEFT_OUT_MOST];
    int cards = near_cards(scale, f, s, near);
    for (size_t i = 0; i < edge->point_count; i++)
        if (edge->points[i].state == SW_STATION_CHIP) {
            double at = edge->points[i].at_mm - f->length_mm / 2;
            hide(s, at - CHIP_BESIDE_MM, at + CHIP_BESIDE_MM, CHIP_DEEP_MM);
        }
    for (int r = 0; cards && r < s->rows; r++)
        for (int c = 0; c < s->columns; c++)
            for (int k = 0; k < cards; k++)
                if (sw_square_covers(near[k], sw_band_place(f, sw_band_along(s, c), sw_band_depth(s, r)),
                                     CARD_WHITE_MM))
                    s->light[(size_t)r * (size_t)s->columns + (size_t)c] = NAN;
}

sw_status sw_band_read(const sw_photo *photo, const sw_scale *scale, const sw_band_frame *f, const sw_edge *edge,
                       sw_band *s, sw_error *err)
{
    double across = f->reach_mm + SW_TICK_SLANT * DEEP_MM + SW_TICK_BESIDE_MM;
    memset(s, 0, sizeof *s);
    s->pitch_mm = fmax(PITCH_LEAST_MM, 1 / scale->px_per_mm);
    s->first_depth_mm = fmax(RIM_MM, RIM_PX / scale->px_per_mm);
    s->rows = (int)fmax(0, (DEEP_MM - s->first_depth_mm) / s->pitch_mm);
    s->columns = 2 * (int)ceil(across / s->pitch_mm) + 1;
    s->first_mm = -(s->columns - 1) / 2 * s->pitch_mm;
    s->light = malloc((size_t)s->rows * (size_t)s->columns * sizeof *s->light + 1);
    if (!s->light)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the half-way marks", photo->file);
    for (int r = 0; r < s->rows; r++)
        read_row(photo, scale, f, s, r);
    hide_others(scale, f, edge, s);
    return SW_OK;
}

void sw_band_free(sw_band *s)
{
    free(s->light);
    memset(s, 0, sizeof *s);
}
