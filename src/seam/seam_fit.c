/* seam_fit.c - the slot model fitted to a seam that was read. */
#include <math.h>
#include <string.h>

#include "maths/stats.h"
#include "seam/reading.h"
#include "seam/search.h"

/* How well the smoothed path tells the middle of a slot, px; only matters where there is next to no slot. */
static const double PATH_SD_PX = 2;
enum { ROUNDS = 25, ROUNDS_NARROW = 10 }; /* a narrow slot's light is nearly all prior: little moves */
/* Nowhere but beside its rims, so many px, is a gap brighter than this share of the brighter top: a far wall gets half of a top's light right
 * below the rim, less where it is deeper. The shade of a step is 0.4 to 0.7 as bright as the top. */
static const double RIM_PX = 1.5, GAP_BRIGHT = 0.35;
/* How far off a rough width may be: px, and share of it. Beyond it another line was taken for the rim. */
static const double WIDTH_OFF_PX = 1.5, WIDTH_OFF = 0.3;

/* Beside a step half-way brightness tells little of the rims: they are looked for with the model itself. */
static sw_status fit_stepped(const sw_cavity *cavity, sw_seam_reading *w, const sw_trace *t, const sw_slot_prior *prior,
                             bool all, sw_slot_result *result)
{
    bool far_high = t->tangent >= 0;
    double face = fmax(0, result->light.step) * prior->view * prior->px_per_mm;
    sw_status status =
        sw_slot_search(cavity, &w->table, w->stations, w->count, far_high, prior, &result->light, t->noise, all);
    if (status)
        return status;
    for (int i = 0; i < w->count; i++) {
        sw_slot_station *s = &w->stations[i];
        double off = WIDTH_OFF_PX + WIDTH_OFF * (s->width - face);
        s->centre_prior = s->centre;
        s->centre_prior_sd = PATH_SD_PX;
        s->width_least = fmin(face - 1, s->width - off);
        s->width_most = s->width + 2 * off;
    }
    return sw_slot_fit(cavity, &w->table, w->stations, w->count, far_high, true, prior, t->noise, ROUNDS, all, result);
}

sw_status sw_seam_fit(const sw_cavity *cavity, sw_seam_reading *w, const sw_trace *t, const sw_slot_prior *prior,
                      double far_wider, bool all, sw_slot_result *result)
{
    bool far_high = t->tangent >= 0;
    if (prior->stepped)
        return fit_stepped(cavity, w, t, prior, all, result);
    for (int i = 0; i < w->count; i++) {
        sw_slot_station *s = &w->stations[i];
        const sw_rough *a = &w->roughs[i];
        double width = a->high_rim - a->low_rim, wider = far_wider * width;
        s->centre = (a->low_rim + a->high_rim) / 2 + (far_high ? wider : -wider) / 2;
        s->width = width + wider;
        s->centre_prior = w->centre[i] + (far_high ? wider : -wider) / 2;
        s->centre_prior_sd = PATH_SD_PX + fabs(wider) / 2;
        s->width_least = fmin(-1, s->width - WIDTH_OFF_PX - WIDTH_OFF * s->width);
        s->width_most = s->width + WIDTH_OFF_PX + WIDTH_OFF * s->width;
    }
    return sw_slot_fit(cavity, &w->table, w->stations, w->count, far_high, far_wider > 0, prior, t->noise,
                       t->narrow ? ROUNDS_NARROW : ROUNDS, all, result);
}

double sw_seam_far_wider(const sw_seam_reading *w, const sw_trace *t)
{
    size_t n = 0;
    for (int i = 0; i < w->count; i++) {
        const sw_slot_station *s = &w->stations[i];
        const sw_rough *a = &w->roughs[i];
        double width = a->high_rim - a->low_rim;
        if (!s->used || !s->tells || !(width > 0))
            continue;
        double out = t->tangent >= 0 ? s->centre + s->width / 2 - a->high_rim : a->low_rim - s->centre + s->width / 2;
        w->work[n++] = out / width;
    }
    return n ? sw_median(w->work, n) : 0;
}

static void hand_over_place(const sw_slot_station *s, double dark, sw_trace_place *p)
{
    double cc = s->variance[0], cw = s->variance[1], ww = s->variance[2];
    p->rim_low_px = p->path_px + s->centre - s->width / 2;
    p->rim_high_px = p->path_px + s->centre + s->width / 2;
    p->sd_low_px = sqrt(fmax(0, cc - cw + ww / 4));
    p->sd_high_px = sqrt(fmax(0, cc + cw + ww / 4));
    p->cov_px2 = cc - ww / 4;
    memcpy(p->width_by, s->shared, sizeof p->width_by);
    p->low = s->low;
    p->high = s->high;
    p->rms = s->rms;
    p->missing_px = s->missing;
    p->bright = 0;
    p->dark = dark;
}

/* Share of the samples between the rims, but for a free wall's, that are too bright for a gap. */
static double bright_share(const sw_slot_station *s, const sw_trace *t, double step_mm)
{
    double face = fmax(0, step_mm) * fabs(t->tangent) * t->px_per_mm, bright = 0, all = 0;
    double from = s->centre - s->width / 2 + RIM_PX + (t->tangent < 0 ? face : 0),
           to = s->centre + s->width / 2 - RIM_PX - (t->tangent < 0 ? 0 : face);
    for (int i = 0; i < s->count; i++) {
        if (!(s->x[i] > from && s->x[i] < to))
            continue;
        all++;
        bright += s->v[i] > GAP_BRIGHT * fmax(s->low, s->high);
    }
    return all > 0 ? bright / all : 0;
}

void sw_seam_hand_over(const sw_seam_reading *w, const sw_slot_result *result, sw_trace *t)
{
    for (int i = 0; i < t->count; i++) {
        const sw_slot_station *s = &w->stations[i];
        t->places[i].seen = s->used && isfinite(s->centre) && isfinite(s->width);
        if (t->places[i].seen)
            hand_over_place(s, w->roughs[i].dark / fmin(s->low, s->high), &t->places[i]);
        if (t->places[i].seen && t->stepped)
            t->places[i].bright = bright_share(s, t, result->light.step);
    }
    t->light = result->light;
    memcpy(t->light_covariance, result->covariance, sizeof t->light_covariance);
}
