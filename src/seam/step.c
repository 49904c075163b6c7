#include "seam/step.h"

#include <math.h>

#include "photo/crossing.h"
#include "table/heights.h"

/* A step hides something worth a word when it could hide this much, mm; and all of the gap when less than so many px of
 * it are left: that little is what the dark foot of a step looks like. */
static const double HIDES_MM = 0.1, OPEN_LEAST_PX = 1.5;
/* Brighter than this share of the far top is no gap: its far wall gets at most half the top's light (slot.h), less
 * below the rim. */
static const double SHADE = 0.5;
/* So many px of it, and so large a share of what was read as gap, are more than the blur of the far rim makes. */
static const double SHADE_PX = 1.5, SHADE_SHARE = 0.3;
/* A smaller share of such stations is chips and pencil, which are looked after elsewhere; with a larger one than MANY
 * the whole seam is in doubt, the rest being lucky. */
static const double FEW = 0.15, MANY = 0.4;
/* Pixel lines on either side of a station's own that are looked at, too. */
enum { LINES = 1 };

/* Length of what is too bright for a gap between the rims, px, on one pixel line. */
static double shade_on(const sw_photo *photo, const sw_soften *soften, const sw_trace *t, const sw_trace_place *p,
                       int line)
{
    double v[SW_CROSSING_MAX], far_light = t->tangent >= 0 ? p->high : p->low, shift = t->slope * (line - p->line),
                               shade = 0;
    int start = (int)ceil(p->rim_low_px + shift), count = (int)floor(p->rim_high_px + shift) - start + 1;
    if (count < 1 || count > SW_CROSSING_MAX)
        return count < 1 ? 0 : count;
    sw_crossing_read(photo, soften, t->along_row, line, start, count, v);
    for (int i = 0; i < count; i++)
        shade += v[i] > SHADE * far_light;
    return shade;
}

static bool is_shade(const sw_photo *photo, const sw_soften *soften, const sw_trace *t, const sw_trace_place *p)
{
    double open_px = p->rim_high_px - p->rim_low_px, shade = 0;
    for (int k = -LINES; k <= LINES; k++)
        shade += shade_on(photo, soften, t, p, (int)lround(p->line) + k) / (2 * LINES + 1);
    return shade >= SHADE_PX && shade >= SHADE_SHARE * open_px;
}

static void judge(const sw_photo *photo, const sw_scale *scale, const double rise_mm[2], sw_trace *t)
{
    double second_far = t->reversed ? -t->tangent : t->tangent, hides = (rise_mm[0] - rise_mm[1]) * second_far;
    if (t->kind != SW_TRACE_SEAM || !(hides > HIDES_MM))
        return;
    sw_soften soften = sw_soften_make(scale->sharpen, scale->sharpen_radius_px / t->stretch);
    double seen = 0, doubtful = 0;
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        if (!p->seen)
            continue;
        seen++;
        p->seen = p->rim_high_px - p->rim_low_px >= OPEN_LEAST_PX;
        p->shaded = p->seen && is_shade(photo, &soften, t, p);
        doubtful += !p->seen || p->shaded;
    }
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        p->seen &= doubtful <= MANY * seen && (!p->shaded || doubtful < FEW * seen);
    }
}

void sw_steps_judge(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, sw_traces *traces)
{
    double rise_mm[2];
    for (int i = 1; i < grid->columns; i++)
        for (int r = 0; r < grid->rows; r++) {
            sw_heights_beside(grid, true, i, r, rise_mm);
            judge(photo, scale, rise_mm, &traces->upright[i * grid->rows + r]);
        }
    for (int i = 0; i < grid->columns; i++)
        for (int r = 1; r < grid->rows; r++) {
            sw_heights_beside(grid, false, i, r, rise_mm);
            judge(photo, scale, rise_mm, &traces->level[i * (grid->rows + 1) + r]);
        }
}
