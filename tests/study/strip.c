#include "study/strip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "seam/follow.h"
#include "seam/light.h"
#include "seam/read.h"

enum { MARGIN_PX = 30, NEAR_PX = 60, TOP = 65535 };
/* Where fits start; the figures are measure.c's own. */
enum { STARTS = 4 };
static const double START_SHARE[STARTS] = {0.03, 0.45, 0.45, 0.5}, START_SLANT[STARTS] = {1, 0.7, 1.5, 0.15},
                    BRIGHT = 0.25, STRIP_MOST = 0.5;

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

static void fill_row(const strip_scene *scene, const limit_curve *curve, int row, double middle, uint64_t *seed,
                     strip *out)
{
    const limit_slot *s = &scene->slot;
    uint16_t *v = out->photo.luma16 + (size_t)row * (size_t)out->photo.width_px;
    for (int x = 0; x < out->photo.width_px; x++) {
        double off = x - middle, light = off < 0 ? s->low : s->high;
        if (fabs(off) < LIMIT_HALF - 2)
            light = limit_at(curve, off);
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
    for (int row = 0; row < height; row++)
        fill_row(scene, curve, row, middle.x + s->slope * (row - middle.y), seed, out);
    free(curve);
    return 0;
}

void strip_free(strip *s)
{
    sw_photo_free(&s->photo);
}

/* How much farther out than it looks the far rim is to lie where a lamp lights its wall, share of the width. */
static double lit_start(const sw_trace *trace, const sw_slot_light *light)
{
    double lit = fmin(STRIP_MOST, fabs(trace->tangent) * exp(-light->slant));
    return light->share * exp(light->slant) > BRIGHT ? lit / (1 - lit) : 0;
}

/* From a wide slot's starts the fit of least cost, as measure.c does. */
static int best_start(const sw_cavity *cavity, sw_seam_reading *reading, const sw_trace *trace,
                      const sw_slot_prior *prior, sw_slot_result *best, double *far_wider)
{
    for (int k = 0; k < STARTS; k++) {
        sw_slot_result result = {.light = prior->mean};
        result.light.share = START_SHARE[k];
        result.light.slant = log(START_SLANT[k]);
        if (sw_seam_fit(cavity, reading, trace, prior, lit_start(trace, &result.light), 0, &result))
            return -1;
        if (k > 0 && result.cost > best->cost)
            continue;
        *best = result;
        *far_wider = sw_seam_far_wider(reading, trace);
    }
    return 0;
}

static int fit(const strip *s, const sw_slot_prior *prior, sw_trace *trace)
{
    sw_seam_reading *reading = NULL;
    sw_slot_result result = {.light = prior->mean};
    sw_cavity cavity;
    double far_wider = lit_start(trace, &prior->mean);
    sw_cavity_make(&cavity);
    int status = sw_trace_read_seam(&s->photo, &s->scale, NULL, trace, &reading, NULL) || !reading;
    if (!status && !strip_is_narrow(sw_seam_rough_width(reading, trace), s->scale.blur_px))
        status = best_start(&cavity, reading, trace, prior, &result, &far_wider);
    status = status || sw_seam_fit(&cavity, reading, trace, prior, far_wider, 1, &result);
    if (!status)
        sw_seam_hand_over(reading, &result, trace);
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

sw_slot_prior strip_prior(double tangent)
{
    const sw_trace trace = {.tangent = tangent};
    sw_table_light even = {.floors = {0}};
    sw_slot_prior prior;
    for (int facing = 0; facing < SW_FACINGS; facing++)
        even.floors[facing] = 1;
    sw_light_prior(&even, &trace, sw_facing_of(&trace, 1), &prior);
    return prior;
}

int strip_is_narrow(double width_px, double blur_px)
{
    return width_px < 4.5 * blur_px;
}
