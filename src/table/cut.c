#include "table/cut.h"

#include <math.h>
#include <stdbool.h>

static bool inside_photo(const sw_photo *photo, const sw_scale *scale, sw_point mm)
{
    sw_point px = sw_scale_to_px(scale, mm);
    return px.x >= 2 && px.y >= 2 && px.x <= photo->width_px - 3 && px.y <= photo->height_px - 3;
}

/* Whether a seam line that ends at `end` goes on in direction (dx, dy) until the photo's rim: then tiles are cut off
 * there. */
static bool runs_off(const sw_photo *photo, const sw_scale *scale, const sw_evidence *e, bool upright, sw_point end,
                     double d, double pitch)
{
    double length = 0;
    while (length < pitch && inside_photo(photo, scale,
                                          upright ? (sw_point){end.x, end.y + d * (length + 5)}
                                                  : (sw_point){end.x + d * (length + 5), end.y}))
        length += 5;
    if (length >= pitch || length < 40)
        return false;
    double from = upright ? end.y : end.x, across = upright ? end.x : end.y, to = from + d * length;
    double low = fmin(from, to), high = fmax(from, to);
    double beside = (sw_fit_side(e, across - 6 * SW_SLIP_MM, SW_SLIP_MM, low, high).share +
                     sw_fit_side(e, across + 6 * SW_SLIP_MM, SW_SLIP_MM, low, high).share) /
                    2;
    return sw_fit_side(e, across, SW_SLIP_MM, low, high).share > 0.6 + 0.5 * beside;
}

/* Counts lines that run off the photo on each side: west, east, north, south; most of a side's lines make it cut off.
 */
const char *sw_cut_side(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b)
{
    int off[4] = {0};
    for (int r = 0; r <= b->rows; r++) {
        off[0] += runs_off(photo, scale, &s->level, false, (sw_point){b->x[0], b->y[r]}, -1, s->pitch);
        off[1] += runs_off(photo, scale, &s->level, false, (sw_point){b->x[b->columns], b->y[r]}, 1, s->pitch);
    }
    for (int c = 0; c <= b->columns; c++) {
        off[2] += runs_off(photo, scale, &s->upright, true, (sw_point){b->x[c], b->y[0]}, 1, s->pitch);
        off[3] += runs_off(photo, scale, &s->upright, true, (sw_point){b->x[c], b->y[b->rows]}, -1, s->pitch);
    }
    static const char *const names[] = {"left", "right", "top", "bottom"};
    const double x[2] = {b->x[0], b->x[b->columns]}, y[2] = {b->y[0], b->y[b->rows]};
    for (int i = 0; i < 2; i++) {
        if (!inside_photo(photo, scale, (sw_point){x[i], y[0]}) && !inside_photo(photo, scale, (sw_point){x[i], y[1]}))
            return names[i];
        if (!inside_photo(photo, scale, (sw_point){x[0], y[i]}) && !inside_photo(photo, scale, (sw_point){x[1], y[i]}))
            return names[2 + i];
    }
    for (int i = 0; i < 4; i++)
        if (off[i] * 2 > (i < 2 ? b->rows : b->columns) + 1)
            return names[i];
    return NULL;
}
