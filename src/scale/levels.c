#include "scale/levels.h"

#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"
#include "scale/plane.h"

/* Patches on the paper inside a frame, half sides of the inner square: half a patch's side, and how far from the middle those near the
 * black lie: past any blur. */
static const double PATCH_HALF = 0.06, NEAR = 0.7;
enum { PATCH_POINTS = 7, LEVELS = 256 };
/* Levels so near to the ends of the range are heaped up there by clipping. */
enum { CLIPPED = 10 };
/* So many levels may stand out by the even faces that are in every photo: paper, black, tops, floor, each up to three levels wide. */
enum { EVEN_FACES = 12 };

/* Mean light about a place of the square, u and v from -1 to 1; NaN outside the photo. */
static double patch_light(const sw_photo *photo, const double h[3][3], double u, double v)
{
    double sum = 0;
    for (int i = 0; i < PATCH_POINTS; i++)
        for (int j = 0; j < PATCH_POINTS; j++) {
            double step = 2 * PATCH_HALF / (PATCH_POINTS - 1);
            sw_point px = sw_plane_apply(h, (sw_point){u - PATCH_HALF + i * step, v - PATCH_HALF + j * step});
            int x = (int)lround(px.x), y = (int)lround(px.y);
            if (x < 0 || y < 0 || x >= photo->width_px || y >= photo->height_px)
                return NAN;
            sum += photo->linear[sw_photo_at(photo, x, y)];
        }
    return sum / (PATCH_POINTS * PATCH_POINTS);
}

double sw_paper_unevenness(const sw_photo *photo, const sw_sighting *sightings, int count)
{
    double off[SW_SQUARES_MAX];
    size_t n = 0;
    for (int i = 0; i < count; i++) {
        sw_point inner[4];
        double h[3][3];
        if (sightings[i].rim_count < 2 || sw_sides_corners(&sightings[i].rims[1], inner) ||
            sw_plane_of_square(1, 1, inner, h))
            continue;
        double middle = patch_light(photo, h, 0, 0);
        double near = (patch_light(photo, h, NEAR, 0) + patch_light(photo, h, -NEAR, 0) +
                       patch_light(photo, h, 0, NEAR) + patch_light(photo, h, 0, -NEAR)) /
                      4;
        if (middle > 0 && near > 0)
            off[n++] = log(near / middle);
    }
    return n ? sw_median(off, n) : 0;
}

static int larger_first(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

double sw_levels_jaggedness(const sw_photo *photo)
{
    double count[LEVELS] = {0}, jagged[LEVELS], sum = 0, all = 0;
    int n = 0;
    if (photo->bits != 8)
        return 0;
    for (int y = 0; y < photo->height_px; y++)
        for (int x = 0; x < photo->width_px; x++)
            count[sw_photo_at(photo, x, y)]++;
    for (int i = CLIPPED; i < LEVELS - CLIPPED; i++) {
        jagged[n++] = fabs(count[i] - (count[i - 1] + count[i + 1]) / 2);
        all += count[i];
    }
    qsort(jagged, (size_t)n, sizeof *jagged, larger_first);
    for (int i = EVEN_FACES; i < n; i++)
        sum += jagged[i];
    return all > 0 ? sum / all : 0;
}
