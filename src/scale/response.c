/* response.c - blur and sharpening from the shape of a printed edge.
 *
 * Model of a phone's picture path, of which only what edges show is kept: a sharp step in linear light, blurred by a Gaussian
 * (lens, pixel, colour mosaic together), of which a share may come with a halo (colour mosaics are often filled in by filters
 * that sharpen), put through the tone curve, then sharpened in stored values by v + a (v - G v).
 * Four numbers (blur, halo, a, radius of G) and the edge's place are fitted to the pooled edge of all reference squares.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lsq.h"
#include "squares.h"

/* Grid of the model: step and half length, px. */
static const double STEP = 0.1;
enum { HALF = 140, GRID = 2 * HALF + 1, TAPS_MOST = 90 };
/* Bins farther out than this, px, tell levels, not shape. */
static const double SHAPE_REACH = 6;
/* What phones do: blur 0.3 to 3 px, sharpening 0 to 2.5, its radius 0.4 to 3 px. Priors in the fit (mean, standard deviation)
 * keep amount and radius from trading places without bound when there is next to no sharpening. */
static const double PRIOR_RADIUS = 1.1, PRIOR_RADIUS_SD = 0.2;
static const double PRIOR_AMOUNT = 0.5, PRIOR_AMOUNT_SD = 0.5;
static const double PRIOR_HALO_SD = 0.3, PRIOR_HALO_BELOW_SD = 0.03; /* filters sharpen; none adds a soft skirt */
/* RMS misfit of a pooled edge that counts as one standard deviation, share of the step: JPEG and mosaic leave about this. */
static const double EDGE_SD = 0.01;
/* Where the fit starts, blur in px: the usual first, then softer ones; the first that fits to within GOOD EDGE_SD is taken. */
static const double STARTS[] = {0.8, 1.6, 3.0}, GOOD = 0.5;
enum { START_COUNT = 3 };
/* A misfit of this many EDGE_SD says that the edges are no plain edges: what comes out is not to be used. */
static const double POOR = 4;
/* Levels outside the photo's range cannot be told from it. */
static const double BLUR_LEAST = 0.25, BLUR_MOST = 4;

typedef struct pooled {
    const sw_photo *photo;
    double dark, bright;     /* linear */
    double place[SW_ESF_BINS], value[SW_ESF_BINS], weight[SW_ESF_BINS];
    int count;
} pooled;

/* Linear light to stored share 0..1: the sRGB curve of IEC 61966-2-1. */
static double encode(double linear)
{
    return linear <= 0.0031308 ? 12.92 * fmax(linear, 0) : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

static void model_edge(const pooled *p, double blur, double halo, double amount, double radius, double *edge)
{
    double stored[GRID], taps[TAPS_MOST];
    for (int i = 0; i < GRID; i++) {
        double x = -(i - HALF) * STEP / M_SQRT2;
        double step = 0.5 * ((1 + halo) * erfc(x / blur) - halo * erfc(x / sw_halo_blur(blur)));
        stored[i] = encode(p->dark + (p->bright - p->dark) * step);
    }
    double low = encode(p->dark), high = encode(p->bright);
    int reach = (int)fmin(TAPS_MOST - 1, ceil(3.5 * radius / STEP));
    double sum = 0;
    for (int k = 0; k <= reach; k++) {
        taps[k] = exp(-0.5 * (k * STEP / radius) * (k * STEP / radius));
        sum += k ? 2 * taps[k] : taps[k];
    }
    for (int i = 0; i < GRID; i++) {
        double smooth = taps[0] * stored[i];
        for (int k = 1; k <= reach; k++)
            smooth += taps[k] * ((i >= k ? stored[i - k] : low) + (i + k < GRID ? stored[i + k] : high));
        edge[i] = (stored[i] + amount * (stored[i] - smooth / sum) - low) / (high - low);
    }
}

/* parameters: log blur, amount (its square root, so that it stays positive), radius, place, halo. */
static int misfit(void *context, const double *q, double *residual, double *jacobian)
{
    (void)jacobian;
    const pooled *p = context;
    double blur = exp(q[0]), edge[GRID];
    if (blur < BLUR_LEAST || blur > BLUR_MOST || q[2] < 0.3 || q[2] > 4 || fabs(q[3]) > 2 || fabs(q[1]) > 1.7 || q[4] < -0.5 || q[4] > 1)
        return -1;
    model_edge(p, blur, q[4], q[1] * q[1], q[2], edge);
    for (int i = 0; i < p->count; i++) {
        double at = (p->place[i] - q[3]) / STEP + HALF;
        int k = (int)floor(at);
        double part = at - k;
        double model = k < 0 ? 0 : k >= GRID - 1 ? 1 : edge[k] + part * (edge[k + 1] - edge[k]);
        residual[i] = (model - p->value[i]) * p->weight[i] / EDGE_SD;
    }
    residual[p->count] = (q[2] - PRIOR_RADIUS) / PRIOR_RADIUS_SD;
    residual[p->count + 1] = (q[1] * q[1] - PRIOR_AMOUNT) / PRIOR_AMOUNT_SD;
    residual[p->count + 2] = q[4] / (q[4] < 0 ? PRIOR_HALO_BELOW_SD : PRIOR_HALO_SD);
    return 0;
}

sw_response sw_response_fit(const sw_photo *photo, const sw_esf *esf)
{
    pooled p = {.photo = photo};
    sw_response response = {.blur_px = 0.8, .sharpen = 0, .radius_px = PRIOR_RADIUS, .misfit = NAN, .poor = 1};
    if (esf->weight < 1)
        return response;
    p.dark = esf->dark / esf->weight;
    p.bright = esf->bright / esf->weight;
    double most = 0;
    for (int i = 0; i < SW_ESF_BINS; i++)
        most = fmax(most, esf->count[i]);
    for (int i = 0; i < SW_ESF_BINS; i++) {
        double place = (i - SW_ESF_BINS / 2 + 0.5) / 5;
        if (fabs(place) > SHAPE_REACH || esf->count[i] < 0.2 * most)
            continue;
        p.place[p.count] = place;
        p.value[p.count] = esf->sum[i] / esf->count[i];
        p.weight[p.count++] = 1;
    }
    if (p.count < 20 || p.bright - p.dark < 0.02)
        return response;
    double best = INFINITY;
    for (int k = 0; k < START_COUNT; k++) {
        double q[5] = {log(STARTS[k]), STARTS[k] > 1 ? 0.3 : 0.6, PRIOR_RADIUS, 0, 0}, cost = 0;
        /* The model is interpolated between grid points, so its derivative jumps by a little: the fit may end at the best
         * place and still not call it a minimum (-1). Only a lack of memory or a poor fit is a failure here. */
        if (sw_lsq_fit(misfit, &p, (size_t)p.count + 3, 5, 1, 30, q, NULL, &cost) == -2 || !(cost < best))
            continue;
        best = cost;
        response = (sw_response){exp(q[0]), q[4], q[1] * q[1], q[2], EDGE_SD * sqrt(cost / p.count), 0};
        if (cost < GOOD * GOOD * p.count)
            break;
    }
    if (!(best < POOR * POOR * p.count))
        response = (sw_response){0.8, 0, 0, PRIOR_RADIUS, NAN, 1};
    return response;
}
