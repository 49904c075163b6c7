#include "table/darkness.h"

#include <math.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "table/block.h"

/* Places along the line, and how far across it they reach. */
enum { PLACES = 24, ACROSS = 41 };
static const double ACROSS_MM = SW_SLIP_MM + 2;

double sw_darkness(const sw_photo *photo, const sw_scale *scale, bool upright, double at, double from, double to)
{
    double dark[PLACES], light[ACROSS];
    size_t n = 0;
    for (int i = 0; i < PLACES; i++) {
        double along = from + (i + 0.5) / PLACES * (to - from), least = INFINITY;
        size_t k = 0;
        for (int j = 0; j < ACROSS; j++) {
            double across = at + (2.0 * j / (ACROSS - 1) - 1) * ACROSS_MM;
            sw_point mm = upright ? (sw_point){across, along} : (sw_point){along, across};
            sw_point px = sw_scale_to_px(scale, mm);
            int x = (int)lround(px.x), y = (int)lround(px.y);
            if (x < 0 || y < 0 || x >= photo->width_px || y >= photo->height_px ||
                sw_scale_covers(scale, mm, ACROSS_MM))
                continue;
            light[k++] = photo->linear[sw_photo_at(photo, x, y)];
            least = fmin(least, light[k - 1]);
        }
        double usual = k ? sw_median(light, k) : 0;
        if (usual > 0)
            dark[n++] = 1 - least / usual;
    }
    return n ? sw_median(dark, n) : 0;
}
