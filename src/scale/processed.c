#include "scale/processed.h"

#include <math.h>

/* Way from 20 to 80 % of a Gaussian's step, standard deviations: twice the 0.8 quantile of the normal distribution. */
static const double WAY_20_80 = 1.6832;
/* Bins with fewer crossings than this share of the fullest are uneven samples of the side's phases. */
static const double BIN_SHARE = 0.1;

/* Clean photos' sides differ by 0.00 to 0.03 between directions and between cards, and their pooled edge misfits by 0.001 to 0.005
 * (practice photos, samples, study). Beyond the usual it counts as uncertainty; a shake of 4 px gives 0.8, a double exposure a misfit
 * of 0.03, a picture half out of focus by 2 px 0.54. */
static const double UNEVEN_USUAL = 0.05, MISFIT_USUAL = 0.005;
static const double DIRECTION_MOST = 0.3, PLACE_MOST = 0.3, MISFIT_MOST = 0.02;
/* A misfit of this share of the step is what a blur wrong by its whole self leaves, RMS over 12 px: 0.08 (a Gaussian of 2 px
 * against one of 1 px). */
static const double MISFIT_WHOLE = 0.08;

/* Where the edge passes this share of its step for the first time (NaN: nowhere); bins of fewer crossings than least are skipped. */
static double place_of(const sw_esf *esf, double share, double least)
{
    double before = NAN, before_at = NAN;
    for (int i = 0; i < SW_ESF_BINS; i++) {
        if (esf->count[i] < least)
            continue;
        double value = esf->sum[i] / esf->count[i], at = (i - SW_ESF_BINS / 2 + 0.5) / 5;
        if (before < share && value >= share)
            return before_at + (share - before) / (value - before) * (at - before_at);
        before = value;
        before_at = at;
    }
    return NAN;
}

double sw_edge_width(const sw_esf *esf)
{
    double most = 0;
    for (int i = 0; i < SW_ESF_BINS; i++)
        most = fmax(most, esf->count[i]);
    double least = fmax(1, BIN_SHARE * most);
    return (place_of(esf, 0.8, least) - place_of(esf, 0.2, least)) / WAY_20_80;
}

void sw_esf_add(const sw_esf *part, sw_esf *sum)
{
    for (int i = 0; i < SW_ESF_BINS; i++) {
        sum->sum[i] += part->sum[i];
        sum->count[i] += part->count[i];
    }
    sum->dark += part->dark;
    sum->bright += part->bright;
    sum->weight += part->weight;
}

/* Mean softness of a sighting's sides whose numbers are first, first + 2 (all: step 1); NaN where none was read. */
static double mean_width(const sw_sighting *s, int first, int step)
{
    double sum = 0, n = 0;
    for (int rim = 0; rim < s->rim_count; rim++)
        for (int which = first; which < 4; which += step)
            if (isfinite(s->rims[rim].width_px[which])) {
                sum += s->rims[rim].width_px[which];
                n++;
            }
    return n > 0 ? sum / n : NAN;
}

sw_unevenness sw_blur_unevenness(const sw_sighting *sightings, int count)
{
    double least = INFINITY, most = 0, level = 0, upright = 0, n = 0;
    for (int i = 0; i < count; i++) {
        double all = mean_width(&sightings[i], 0, 1), l = mean_width(&sightings[i], 0, 2),
               u = mean_width(&sightings[i], 1, 2);
        if (!isfinite(l) || !isfinite(u))
            continue;
        least = fmin(least, all);
        most = fmax(most, all);
        level += l;
        upright += u;
        n++;
    }
    if (n < 1 || !(level + upright > 0))
        return (sw_unevenness){0, 0};
    return (sw_unevenness){2 * fabs(level - upright) / (level + upright), 2 * n * (most - least) / (level + upright)};
}

sw_status sw_blur_refuse(const sw_unevenness *uneven, double misfit, const char *file, sw_error *err)
{
    if (uneven->direction > DIRECTION_MOST)
        return sw_fail(
            err, SW_BAD_INPUT,
            "%s: the photo is shaken, edges are smeared in one direction; rest the phone on something or take "
            "it in more light",
            file);
    if (uneven->place > PLACE_MOST)
        return sw_fail(
            err, SW_BAD_INPUT,
            "%s: part of the photo is out of focus, one card is much more blurred than another; hold the phone "
            "level, wipe the lens and focus on the tiles",
            file);
    if (misfit > MISFIT_MOST)
        return sw_fail(
            err, SW_BAD_INPUT,
            "%s: the cards' edges look doubled or smeared; hold the phone still and use the photo as the camera "
            "saved it",
            file);
    return SW_OK;
}

/* What is beyond the usual. */
static double beyond(double value, double usual)
{
    return fmax(0, value - usual);
}

double sw_blur_u_rel(const sw_unevenness *uneven, double misfit)
{
    double places = hypot(beyond(uneven->direction, UNEVEN_USUAL), beyond(uneven->place, UNEVEN_USUAL));
    return hypot(places, beyond(misfit, MISFIT_USUAL) / MISFIT_WHOLE);
}
