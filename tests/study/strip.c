#include "study/strip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "seam/follow.h"
#include "seam/light.h"
#include "seam/read.h"

enum { MARGIN_PX = 30, NEAR_PX = 60, TOP = 65535 };

double strip_chance(uint64_t *seed)
{
    /* splitmix64 (Steele, Lea and Flood 2014). */
    uint64_t z = *seed += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

double strip_normal(uint64_t *seed)
{
    double r = sqrt(-2 * log(strip_chance(seed)));
    return r * cos(2 * M_PI * strip_chance(seed));
}

static int take_photo(int width, int height, sw_photo *photo)
{
    photo->width_px = width;
    photo->height_px = height;
    photo->bits = 16;
    photo->luma16 = malloc((size_t)width * (size_t)height * sizeof *photo->luma16);
    photo->linear = malloc((TOP + 1) * sizeof *photo->linear);
    photo->orientation = 1;
    if (!photo->luma16 || !photo->linear)
        return -1;
    for (int i = 0; i <= TOP; i++)
        photo->linear[i] = (float)i / TOP;
    return 0;
}

/* A scale of which everything is known: an ideal lens, the photo's plane the table. */
static void lay_scale(const strip_scene *scene, sw_point middle, sw_scale *scale)
{
    const double k = STRIP_PX_PER_MM;
    const double to_plane[3][3] = {{k, 0, middle.x}, {0, -k, middle.y}, {0, 0, 1}};
    const double to_mm[3][3] = {{1 / k, 0, -middle.x / k}, {0, -1 / k, middle.y / k}, {0, 0, 1}};
    scale->lens.fx = scale->lens.fy = 1;
    scale->px_per_mm = k;
    scale->blur_px = scene->slot.blur_px;
    memcpy(scale->to_plane, to_plane, sizeof to_plane);
    memcpy(scale->to_mm, to_mm, sizeof to_mm);
}

static void fill_row(const strip_scene *scene, const limit_curve *curve, int row, double middle, double base,
                     uint64_t *seed, strip *out)
{
    const limit_slot *s = &scene->slot;
    uint16_t *v = out->photo.luma16 + (size_t)row * (size_t)out->photo.width_px;
    for (int x = 0; x < out->photo.width_px; x++) {
        double off = x - middle, light = off < 0 ? s->low : s->high;
        if (fabs(off) < LIMIT_HALF - 2)
            light = limit_at(curve, off, base);
        if (fabs(off) < NEAR_PX) /* farther out nothing is read */
            light += scene->sigma * strip_normal(seed);
        v[x] = (uint16_t)lround(fmin(1, fmax(0, light)) * TOP);
    }
}

int strip_draw(const strip_scene *scene, uint64_t *seed, strip *out)
{
    const limit_slot *s = &scene->slot;
    double stretch = 1 / sqrt(1 + s->slope * s->slope), length = STRIP_SEAM_MM - 1e-3;
    int tall = STRIP_SEAM_MM * STRIP_PX_PER_MM, height = tall + 2 * MARGIN_PX,
        width = 2 * (int)(fabs(s->slope) * tall / 2 + NEAR_PX + MARGIN_PX);
    sw_point middle = {width / 2 + scene->middle_px, height / 2};
    limit_curve *curve = malloc(sizeof *curve);
    memset(out, 0, sizeof *out);
    if (!curve || take_photo(width, height, &out->photo)) {
        free(curve);
        strip_free(out);
        return -1;
    }
    limit_draw(s, curve);
    lay_scale(scene, middle, &out->scale);
    /* Along the seam, in px: one row further is slope px to the side; north is the photo's top. */
    sw_point along = {s->slope * stretch, -stretch};
    out->side.from = (sw_point){-along.x * length / 2, -along.y * length / 2};
    out->side.to = (sw_point){along.x * length / 2, along.y * length / 2};
    out->camera[2] = 1250;
    out->camera[0] = (s->far_high ? -1 : 1) * scene->tangent * out->camera[2] / stretch;
    double per_station = STRIP_PX_PER_MM * stretch, first = middle.y - tall / 2 * stretch, base = s->light.base;
    for (int row = 0, station = -1; row < height; row++) {
        int at = (int)floor((row - first) / per_station);
        if (at != station)
            base = fmax(0, s->light.base + scene->base_spread * strip_normal(seed));
        station = at;
        fill_row(scene, curve, row, middle.x + s->slope * (row - middle.y), base, seed, out);
    }
    free(curve);
    return 0;
}

void strip_free(strip *s)
{
    sw_photo_free(&s->photo);
}

static int fit(const strip *s, const sw_slot_prior *prior, sw_trace *trace)
{
    sw_seam_reading *reading = NULL;
    sw_slot_result result = {.light = prior->mean};
    int status = sw_trace_read_seam(&s->photo, &s->scale, trace, &reading, NULL) || !reading ||
                 sw_seam_fit(reading, trace, prior, 0, 1, &result);
    if (!status)
        sw_seam_hand_over(reading, &result, 1, trace);
    sw_seam_reading_free(reading);
    return status;
}

int strip_read(const strip *s, const sw_slot_prior *prior, sw_trace *trace, sw_track *track)
{
    if (sw_trace_lay(&s->photo, &s->scale, &s->side, 1, SW_TRACE_SEAM, 1, s->camera, trace, NULL))
        return -1;
    if (sw_trace_follow(&s->photo, trace, NULL) || fit(s, prior, trace) ||
        sw_track_make(trace, &s->scale, &s->side, NULL, track, NULL)) {
        sw_trace_free(trace);
        return -1;
    }
    return 0;
}

sw_slot_prior strip_prior(double tangent, int narrow)
{
    const sw_trace trace = {.tangent = tangent};
    const sw_light_word none = {.slots = 0};
    sw_slot_prior prior;
    sw_light_prior(&trace, SW_DIM, narrow, &none, &prior);
    return prior;
}

int strip_is_narrow(double width_px, double blur_px)
{
    return width_px < 4.5 * blur_px;
}
