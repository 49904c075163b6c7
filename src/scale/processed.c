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

/* Corners of clean photos, sharpened, noisy, shaken and JPEG ones among them, are round by 0 to 0.02 of the step; medians over 3, 5 and 7 px
 * make 0.08, 0.19 and 0.24 (adverse photos). A median over 3 px takes 0.12 px off a gap, RMS, and one over 5 px wipes out all that are
 * narrower. */
static const double ROUNDING_USUAL = 0.025, ROUNDING_MOST = 0.13, FILLED_PX = 2;
/* Where neither blur nor sharpening makes edges such as these, something else did that went by what it found in each place: filters that smooth what is
 * even and keep edges (bilateral, guided, diffusion) leave misfits of 0.0045 to 0.012 and take 0.1 to 0.4 px off gaps, strong compression 0.007 to 0.01. Clean
 * photos are under EDGE_USUAL but for strongly sharpened ones, whose edges are lost in part, too (adverse photos, samples, practice). */
static const double EDGE_USUAL = 0.003, EDGE_U_PX = 50;
/* A shake along a diagonal smears edges along rows and columns alike, so the cards tell the blur of seams that run as they do. Beside a
 * card that is turned by 6 degrees, as by hand, its correlation r makes a seam's blur differ by r sin(12 degrees) / 2. Correlations under SLANT_USUAL are
 * clean photos', and under as many of their own uncertainty noise. */
static const double SLANT_USUAL = 0.12, SLANT_SURE = 3, SLANT_U = 0.1;
/* Paper of clean photos is even to 0.005, with much noise to 0.03 (logarithm). Local tone mapping that makes it 0.39 uneven moves a gap by
 * 0.1 to 0.19 px, 0.75 by 0.14 to 0.32 px. A jaggedness of clean photos is 0.01 to 0.06; 24 levels a channel make 0.2 to 0.3 and move gaps by up to
 * 0.1 px (adverse photos). */
static const double PAPER_USUAL = 0.05, PAPER_U_PX = 0.4, JAGGED_USUAL = 0.1, JAGGED_U_PX = 0.5;
/* The palest print gives back this share of its paper's light; usual is 0.05 (response.c). */
static const double BLACK_PALEST = 0.08;

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

sw_status sw_filter_refuse(const sw_corner_shape *shape, const char *file, sw_error *err)
{
    if (shape->rounding <= ROUNDING_MOST)
        return SW_OK;
    return sw_fail(
        err, SW_BAD_INPUT,
        "%s: the cards' corners are rounded, as noise reduction does it, which fills narrow gaps; take the photo "
        "in more light, with noise reduction off, and use it as the camera saved it",
        file);
}

double sw_filter_u_px(const sw_corner_shape *shape, double misfit)
{
    return hypot(FILLED_PX * beyond(shape->rounding - shape->rounding_u, ROUNDING_USUAL),
                 EDGE_U_PX * beyond(misfit, EDGE_USUAL));
}

double sw_levels_u_px(double paper, double jaggedness)
{
    return hypot(PAPER_U_PX * beyond(fabs(paper), PAPER_USUAL), JAGGED_U_PX * beyond(jaggedness, JAGGED_USUAL));
}

double sw_slant_u_rel(const sw_corner_shape *shape)
{
    double slant = fabs(shape->slant);
    return slant > SLANT_USUAL && slant > SLANT_SURE * shape->slant_u ? SLANT_U * slant : 0;
}

double sw_haze(const sw_sighting *sightings, int count)
{
    double most = 0;
    for (int i = 0; i < count; i++) {
        const sw_rim_square *rim = &sightings[i].rims[0];
        if (!sightings[i].light && isfinite(rim->dark) && isfinite(rim->bright))
            most = fmax(most, (rim->dark - BLACK_PALEST * rim->bright) / (1 - BLACK_PALEST));
    }
    return most;
}
