/* smoothed.c - noise along the cards' sides, far from them and near.
 *
 * Filters that keep edges (bilateral, non-local means, guided) average what looks alike. On an even face all that is near looks alike, beside an edge only
 * part of it; so noise goes away with the distance from an edge. A camera's own noise depends on the light alone. Noise is read from
 * second differences a - 2 b + c of three pixels along a side, in which levels and slopes cancel; of white noise of variance v they have 6 v. */
#include "scale/smoothed.h"

#include <math.h>
#include <stdbool.h>

/* Distances from the side, px: beyond what blur and sharpening reach; as far as filters that are usual do not. */
enum { NEAR_FROM = 4, NEAR_TO = 6, FAR_FROM = 8, FAR_TO = 10 };
/* Share of a face's width beyond which another edge is near, and share of a side left out at each end. */
static const double FACE_SHARE = 0.42, END_SHARE = 0.1;
/* Steeper sides than this against rows or columns leave three pixels along them at unlike distances. */
static const double SLOPE_MOST = 0.35;
/* Differences beyond this, levels, are dust and print. */
static const double DIFFERENCE_MOST = 12;

/* Noise of clean photos on even faces, RMS of black and paper: 0.49 to 1.4 levels (samples, practice, study), of filtered ones 0.17 to 0.3. */
static const double SMOOTH_LEAST = 0.3, SMOOTH_MOST = 0.45;
/* Near the edges filters leave 1.6 to 3 times as much; pictures that were drawn have none anywhere. */
static const double GROWTH_LEAST = 1.3;
/* Compression rounds noise away by itself, and by blocks: from a step of 12 levels on (quality 79) it may be that; up to 9 (quality 84) clean photos
 * keep their noise. */
static const double STEP_FINE = 9, STEP_COARSE = 12;
/* What such filters take off a gap: 0.09 to 0.2 px (adverse photos). */
static const double SMOOTHED_U_PX = 0.1;
/* With so large a misfit they take up to 2 px off narrow gaps; weaker ones leave 0.002 to 0.0075. */
static const double MISFIT_MOST = 0.008;

typedef struct sums {
    double square[2], count[2]; /* near, far */
} sums;

static double level_at(const sw_photo *photo, bool along_row, int line, int at)
{
    unsigned v = along_row ? sw_photo_at(photo, at, line) : sw_photo_at(photo, line, at);
    return photo->bits == 8 ? v : v / 257.0;
}

/* One place beside the side on pixel line `line`; along_row: lines are rows. */
static void add_place(const sw_photo *photo, bool along_row, int line, int at, bool far, sums *s)
{
    int lines = along_row ? photo->height_px : photo->width_px, length = along_row ? photo->width_px : photo->height_px;
    if (line < 1 || line + 1 >= lines || at < 0 || at >= length)
        return;
    double e = level_at(photo, along_row, line - 1, at) - 2 * level_at(photo, along_row, line, at) +
               level_at(photo, along_row, line + 1, at);
    if (fabs(e) > DIFFERENCE_MOST)
        return;
    s->square[far] += e * e / 6;
    s->count[far]++;
}

static void read_side(const sw_photo *photo, sw_point a, sw_point b, sums *s)
{
    bool along_row = fabs(b.y - a.y) > fabs(b.x - a.x);
    double t0 = along_row ? a.y : a.x, t1 = along_row ? b.y : b.x, c0 = along_row ? a.x : a.y,
           c1 = along_row ? b.x : b.y;
    double slope = (c1 - c0) / (t1 - t0), from = fmin(t0, t1), to = fmax(t0, t1), margin = END_SHARE * (to - from);
    if (fabs(slope) > SLOPE_MOST)
        return;
    for (int line = (int)ceil(from + margin); line <= to - margin; line++) {
        int middle = (int)lround(c0 + slope * (line - t0));
        for (int d = NEAR_FROM; d <= FAR_TO; d++) {
            if (d > NEAR_TO && d < FAR_FROM)
                continue;
            add_place(photo, along_row, line, middle - d, d >= FAR_FROM, s);
            add_place(photo, along_row, line, middle + d, d >= FAR_FROM, s);
        }
    }
}

sw_flat_noise sw_flat_noise_read(const sw_photo *photo, const sw_sighting *sightings, int count)
{
    sums s = {{0, 0}, {0, 0}};
    for (int i = 0; i < count; i++) {
        double wide = sightings[i].quad.size_px / 2;
        for (int rim = 0; rim < sightings[i].rim_count; rim++) {
            sw_point c[4];
            if (sw_sides_corners(&sightings[i].rims[rim], c))
                continue;
            if (rim > 0)
                wide = (sightings[i].quad.size_px - hypot(c[1].x - c[0].x, c[1].y - c[0].y)) / 2;
            for (int k = 0; k < 4 && FACE_SHARE * wide >= FAR_TO; k++)
                read_side(photo, c[k], c[(k + 1) % 4], &s);
        }
    }
    return (sw_flat_noise){.far = s.count[1] > 0 ? sqrt(s.square[1] / s.count[1]) : NAN,
                           .near = s.count[0] > 0 ? sqrt(s.square[0] / s.count[0]) : NAN};
}

/* 1 up to from, 0 beyond to. */
static double fades(double value, double from, double to)
{
    return fmin(fmax((to - value) / (to - from), 0), 1);
}

double sw_smoothed_u_px(const sw_flat_noise *noise, double jpeg_step)
{
    if (!(noise->far > 0) || !(noise->near > GROWTH_LEAST * noise->far))
        return 0;
    return SMOOTHED_U_PX * fades(noise->far, SMOOTH_LEAST, SMOOTH_MOST) * fades(jpeg_step, STEP_FINE, STEP_COARSE);
}

sw_status sw_smoothed_refuse(const sw_flat_noise *noise, double jpeg_step, double misfit, const char *file,
                             sw_error *err)
{
    if (!(misfit > MISFIT_MOST) || !(sw_smoothed_u_px(noise, jpeg_step) > SMOOTHED_U_PX / 2))
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: strong noise reduction has smoothed the photo and sharpened its edges, which fills narrow "
                   "gaps; take the photo in more light, with noise reduction off, and use it as the camera saved it",
                   file);
}
