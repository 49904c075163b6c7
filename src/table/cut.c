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

/* Counts lines that run off the photo on each side: west, east, north, south. A side is cut off where most of its lines
 * do, or both rims of the table: seams that are nearly closed hardly show. */
const char *sw_cut_side(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b)
{
    int off[4] = {0}, rims[4] = {0};
    for (int side = 0; side < 4; side++) {
        bool along = side < 2, far = side % 2;
        int last = along ? b->rows : b->columns;
        for (int k = 0; k <= last; k++) {
            sw_point end =
                along ? (sw_point){b->x[far ? b->columns : 0], b->y[k]} : (sw_point){b->x[k], b->y[far ? b->rows : 0]};
            double d = side == 1 || side == 2 ? 1 : -1;
            int runs = runs_off(photo, scale, along ? &s->level : &s->upright, !along, end, d, s->pitch);
            off[side] += runs;
            rims[side] += runs && (k == 0 || k == last);
        }
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
        if (off[i] * 2 > (i < 2 ? b->rows : b->columns) + 1 || rims[i] == 2)
            return names[i];
    return NULL;
}
