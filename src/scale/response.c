/* response.c - blur, sharpening and softening from the shape of a printed edge; the tone curve from how black the print
 * is.
 *
 * Model: develop.h. Fitted to the pooled edge of all reference squares: blur, halo, amount and radius of the
 * sharpening, and the edge's place. Later readings can undo sharpening, but no blur that came after the tone curve (a
 * program's); so the edge is fitted a second time with such a blur, only to see whether there is one, and how far it
 * moves rims.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "scale/develop.h"

/* Bins farther out than this, px, tell levels, not shape. */
static const double SHAPE_REACH = 6;
/* What phones do: blur 0.3 to 3 px, sharpening 0 to 2.5, its radius 0.4 to 3 px. Priors in the fit (mean, standard
 * deviation) keep amount and radius from trading places without bound when there is next to no sharpening. */
static const double PRIOR_RADIUS = 1.1, PRIOR_RADIUS_SD = 0.2;
static const double PRIOR_AMOUNT = 0.5, PRIOR_AMOUNT_SD = 0.5;
static const double PRIOR_HALO_SD = 0.3, PRIOR_HALO_BELOW_SD = 0.03; /* filters sharpen; none adds a soft skirt */
/* RMS misfit of a pooled edge that counts as one standard deviation, share of the step: JPEG and mosaic leave 0.001 to
 * 0.005. */
static const double EDGE_SD = 0.01;
/* Where the fit starts, blur (px), amount and radius (px) of sharpening: the usual first, then softer ones, then strong
 * processing; the first that fits to within GOOD (share of the step) is taken. */
static const double STARTS[][3] = {{0.8, 0.4, 1.1}, {1.6, 0.1, 1.1}, {3.0, 0.1, 1.1}, {0.7, 1.5, 2.2}}, GOOD = 0.005;
enum { START_COUNT = 4 };
/* A misfit of this share of the step says that the edges are no plain edges: what comes out is not to be used. */
static const double POOR = 0.04;
/* Levels outside the photo's range cannot be told from it. */
static const double BLUR_LEAST = 0.25, BLUR_MOST = 4, AMOUNT_MOST = 3.2, RADIUS_LEAST = 0.3, RADIUS_MOST = 4;

/* Printed black gives back 0.05 of what its paper does, at the densest 0.04: laser toner has a density of 1.35 to 1.5,
 * paper 0.08 (from memory). Sheen makes black lighter, so a lighter black tells nothing. A darker one speaks for a tone
 * curve steeper than sRGB. Inks differ by about BLACK_SD of it, tone curves by CONTRAST_SD: of what the black seems to
 * say, the share that is believed follows from both, as the logarithm of black falls by about 1.2 a unit of contrast.
 * What is believed counts from the densest print on, its uncertainty from the usual one. */
static const double BLACK_DENSEST = 0.04, BLACK_USUAL = 0.05, BLACK_SD = 0.3, CONTRAST_SD = 0.3,
                    LOG_BLACK_BY_CONTRAST = 1.2;
/* A picture whose darker half was made black shows no seams any more. */
static const double FLOOR_MOST = 0.5;

/* A softening below this, px, moves rims by less than 0.1 px; the fit must also fall to this share of its misfit with it, or the
 * misfit is of another kind: lenses of 1 px and more that nobody softened come down to 0.75 with 0.4 to 0.55 px of it (variety
 * study), photos softened by 1 px to 0.35 or less. */
static const double SOFTEN_LEAST = 0.5, SOFTEN_TELLS = 0.5;
/* Or it takes this much off the misfit's square (shares of the step), and a tenth of the misfit: pictures made smaller and larger again are no
 * Gaussian's work and leave some misfit behind (6e-6 to 7e-5 off, down to 0.55 to 0.9), photos that nobody softened come down by 1e-6 at most. Then the
 * shift that goes with it is known this much worse, share of it. */
static const double SOFTEN_GAIN = 4e-6, SOFTEN_SHARE = 0.9, SOFTEN_OTHER_U = 0.5;
/* Rounds of a fit after which it is asked whether the softening is still there, and how often. */
enum { SOFTEN_ROUNDS = 5, SOFTEN_TURNS = 8 };
/* Tile tops and the dark of a slot, linear light, for which rims' shifts are worked out: between light and dark tiles
 * the shift changes by about this share. */
static const double TOP = 0.3, SLOT = 0.02, SHIFT_U_SHARE = 0.3;
/* Of the shift that sharpening makes, this share may be left when it is taken back: samples that sharpening has pushed
 * out of the file's range are lost, and JPEG blurs the rest (study of edge spread: 0 to 0.13, the more the stronger).
 */
static const double SHARPEN_U_SHARE = 0.08;

typedef struct pooled {
    double dark, bright; /* stored shares */
    double contrast;
    double place[SW_ESF_BINS], value[SW_ESF_BINS];
    int count;
} pooled;

/* Fitted numbers. */
enum { AT_BLUR, AT_AMOUNT, AT_RADIUS, AT_PLACE, AT_HALO, NUMBERS, AT_SOFTEN = NUMBERS, NUMBERS_SOFTENED };

/* parameters: log blur, amount (its square root, so that it stays positive), radius, place, halo, and perhaps
 * softening. */
static sw_response response_of(const pooled *p, const double *q, int softened)
{
    return (sw_response){.blur_px = exp(q[AT_BLUR]),
                         .halo = q[AT_HALO],
                         .sharpen = q[AT_AMOUNT] * q[AT_AMOUNT],
                         .radius_px = q[AT_RADIUS],
                         .contrast = p->contrast,
                         .soften_px = softened ? fabs(q[AT_SOFTEN]) : 0};
}

static sw_status misfit_of(const pooled *p, const double *q, int softened, double *residual)
{
    sw_response r = response_of(p, q, softened);
    double edge[SW_DEVELOP_GRID];
    if (r.blur_px < BLUR_LEAST || r.blur_px > BLUR_MOST || r.radius_px < RADIUS_LEAST || r.radius_px > RADIUS_MOST ||
        fabs(q[AT_PLACE]) > 2 || r.sharpen > AMOUNT_MOST || r.halo < -0.5 || r.halo > 1 || r.soften_px > BLUR_MOST)
        return SW_BAD_INPUT;
    sw_develop_edge(&r, sw_light_of(p->dark, p->contrast), sw_light_of(p->bright, p->contrast), edge);
    for (int i = 0; i < p->count; i++) {
        double at = (p->place[i] - q[AT_PLACE]) / SW_DEVELOP_STEP + SW_DEVELOP_HALF;
        int k = (int)floor(at);
        double part = at - k;
        double model = k < 0                      ? p->dark
                       : k >= SW_DEVELOP_GRID - 1 ? p->bright
                                                  : edge[k] + part * (edge[k + 1] - edge[k]);
        residual[i] = ((model - p->dark) / (p->bright - p->dark) - p->value[i]) / EDGE_SD;
    }
    double *prior = residual + p->count;
    prior[0] = (r.radius_px - PRIOR_RADIUS) / PRIOR_RADIUS_SD;
    prior[1] = (r.sharpen - PRIOR_AMOUNT) / PRIOR_AMOUNT_SD;
    prior[2] = r.halo / (r.halo < 0 ? PRIOR_HALO_BELOW_SD : PRIOR_HALO_SD);
    return SW_OK;
}

enum { PRIORS = 3 };

static sw_status misfit_plain(void *context, const double *q, double *residual, double *jacobian)
{
    (void)jacobian;
    return misfit_of(context, q, 0, residual);
}

static sw_status misfit_softened(void *context, const double *q, double *residual, double *jacobian)
{
    (void)jacobian;
    return misfit_of(context, q, 1, residual);
}

/* Bins with enough crossings and near enough; false when there is too little to go by. */
static bool load(const sw_esf *esf, pooled *p)
{
    if (esf->weight < 1)
        return false;
    double dark = esf->dark / esf->weight, bright = esf->bright / esf->weight, most = 0;
    p->dark = sw_stored_of(dark, 0);
    p->bright = sw_stored_of(bright, 0);
    for (int i = 0; i < SW_ESF_BINS; i++)
        most = fmax(most, esf->count[i]);
    for (int i = 0; i < SW_ESF_BINS; i++) {
        double place = (i - SW_ESF_BINS / 2 + 0.5) / 5;
        if (fabs(place) > SHAPE_REACH || esf->count[i] < 0.2 * most)
            continue;
        p->place[p->count] = place;
        p->value[p->count++] = esf->sum[i] / esf->count[i];
    }
    return p->count >= 20 && bright - dark >= 0.02;
}

/* The steepness at which black would be this share of white. */
static double contrast_for(const pooled *p, double share)
{
    double low = 0, high = SW_CONTRAST_MOST;
    if (sw_light_of(p->dark, 0) >= share * sw_light_of(p->bright, 0))
        return 0;
    for (int i = 0; i < 30; i++) {
        double c = (low + high) / 2;
        if (sw_light_of(p->dark, c) > share * sw_light_of(p->bright, c))
            high = c;
        else
            low = c;
    }
    return low;
}

/* Of the steepness that black seems to tell this share is believed. */
static double believed(void)
{
    const double curves = CONTRAST_SD * LOG_BLACK_BY_CONTRAST;
    return curves * curves / (curves * curves + BLACK_SD * BLACK_SD);
}

/* Standard uncertainty of the steepness that is believed, if print is as black as this. */
static double contrast_u_for(const pooled *p, double share)
{
    return contrast_for(p, share) * sqrt(believed() * (1 - believed()));
}

/* The stored level below which all was made black, the rest stretched, if black was the densest print before; 0 where it is no deeper. */
static double floor_for(const pooled *p)
{
    double low = 0, high = FLOOR_MOST;
    if (sw_light_of(p->dark, 0) >= BLACK_DENSEST * sw_light_of(p->bright, 0))
        return 0;
    for (int i = 0; i < 30; i++) {
        double f = (low + high) / 2;
        if (sw_light_of(f + (1 - f) * p->dark, 0) < BLACK_DENSEST * sw_light_of(f + (1 - f) * p->bright, 0))
            low = f;
        else
            high = f;
    }
    return low;
}

static double fit_plain(pooled *p, double *q)
{
    double best = INFINITY;
    for (int k = 0; k < START_COUNT; k++) {
        double at[NUMBERS] = {log(STARTS[k][0]), sqrt(STARTS[k][1]), STARTS[k][2], 0, 0}, cost = 0;
        /* The model is interpolated between grid points, so its derivative jumps by a little: the fit may end at the
         * best place and still not call it a minimum. Only its cost counts. */
        sw_lsq_fit(misfit_plain, p, (size_t)p->count + PRIORS, NUMBERS, true, 30, at, NULL, &cost);
        if (!(cost < best))
            continue;
        best = cost;
        memcpy(q, at, sizeof at);
        if (EDGE_SD * EDGE_SD * cost < GOOD * GOOD * p->count)
            break;
    }
    return EDGE_SD * sqrt(best / p->count);
}

/* Cost of the fit that begins at `at`. Most edges speak for no softening, so it is given up as soon as it has none left;
 * it would only creep back to the plain one. */
static double follow_softened(pooled *p, double *at)
{
    double cost = INFINITY;
    for (int turn = 0; turn < SOFTEN_TURNS && (turn == 0 || fabs(at[AT_SOFTEN]) >= SOFTEN_LEAST); turn++)
        if (!sw_lsq_fit(misfit_softened, p, (size_t)p->count + PRIORS, NUMBERS_SOFTENED, true, SOFTEN_ROUNDS, at, NULL,
                        &cost))
            break;
    return cost;
}

/* Softening, if the edge speaks for it; q is the plain fit. True, the response with it, and how far the shift that goes with it may be off,
 * share of it. */
static bool fit_softened(pooled *p, const double *q, double plain, sw_response *made, double *shift_u)
{
    double best = INFINITY, found[NUMBERS_SOFTENED] = {0};
    for (int k = 0; k < 5; k++) {
        static const double SHARES[] = {0.4, 0.8, 0.95, 0.8, 0.95}; /* of the whole blur, at the start */
        double at[NUMBERS_SOFTENED] = {0}, share = SHARES[k];
        memcpy(at, q, NUMBERS * sizeof *q);
        if (k > 2)
            at[AT_AMOUNT] = sqrt(PRIOR_AMOUNT); /* a softening can hide sharpening altogether */
        at[AT_SOFTEN] = share * exp(q[AT_BLUR]);
        at[AT_BLUR] = log(fmax(0.4, exp(q[AT_BLUR]) * sqrt(1 - share * share)));
        double cost = follow_softened(p, at);
        if (!(cost < best))
            continue;
        best = cost;
        memcpy(found, at, sizeof at);
    }
    double softened = EDGE_SD * sqrt(best / p->count);
    bool gains = softened < SOFTEN_SHARE * plain && plain * plain - softened * softened > SOFTEN_GAIN;
    if (!(softened < SOFTEN_TELLS * plain || gains) || fabs(found[AT_SOFTEN]) < SOFTEN_LEAST)
        return false;
    *made = response_of(p, found, 1);
    *shift_u = softened < SOFTEN_TELLS * plain ? SHIFT_U_SHARE : SOFTEN_OTHER_U;
    return true;
}

/* What is left of all this at a tile's rim once the plain fit is taken back, and how uncertain that is. */
static void work_out_shift(const sw_response *made, const sw_response *taken_back, double contrast_u, double shift_u,
                           sw_response *read)
{
    sw_response steeper = *made, not_taken = *taken_back;
    steeper.contrast = fmin(made->contrast + contrast_u, SW_CONTRAST_MOST);
    not_taken.sharpen = 0;
    double shift = sw_develop_shift(made, taken_back, SLOT, TOP);
    double by_contrast = sw_develop_shift(&steeper, taken_back, SLOT, TOP) - shift;
    double by_sharpening = sw_develop_shift(taken_back, &not_taken, SLOT, TOP);
    read->rim_shift_px = shift;
    read->rim_shift_u_px = sqrt(shift_u * shift_u * shift * shift + by_contrast * by_contrast +
                                SHARPEN_U_SHARE * SHARPEN_U_SHARE * by_sharpening * by_sharpening);
}

sw_response sw_response_fit(const sw_esf *esf, bool printed)
{
    const sw_response none = {.blur_px = 0.8, .radius_px = PRIOR_RADIUS, .misfit = NAN, .poor = true};
    pooled p = {0};
    double q[NUMBERS] = {0}, contrast_u = 0, shift_u = SHIFT_U_SHARE;
    if (!load(esf, &p))
        return none;
    if (printed) {
        p.contrast = contrast_for(&p, BLACK_DENSEST) * believed();
        contrast_u = contrast_u_for(&p, BLACK_USUAL);
    }
    double misfit = fit_plain(&p, q);
    if (!(misfit < POOR))
        return none;
    sw_response read = response_of(&p, q, 0), taken_back = read, made = read;
    read.misfit = misfit;
    read.contrast_u = printed ? contrast_u_for(&p, BLACK_DENSEST) : 0;
    read.black_floor = printed ? floor_for(&p) : 0;
    if (fit_softened(&p, q, misfit, &made, &shift_u))
        read.soften_px = made.soften_px;
    work_out_shift(&made, &taken_back, contrast_u, shift_u, &read);
    return read;
}
