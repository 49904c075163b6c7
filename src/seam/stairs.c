#include "seam/stairs.h"

#include <math.h>
#include <string.h>

static const double CUTS[] = {0, 0.04, 0.1, 0.19, 0.33, 0.55, 0.82, 0.95, 1};
static const double FINE_CUTS[] = {0,    0.02, 0.045, 0.075, 0.11, 0.15, 0.195, 0.245, 0.3,
                                   0.36, 0.43, 0.51,  0.6,   0.7,  0.82, 0.95,  1};
/* Slots this many blurs wide get the fine cuts: of the others a coarse bin is not wider than a blur. */
static const double FINE_BLURS = 8;
/* Residuals count as outliers from about this many noise standard deviations on (Cauchy weights): pencil lines, dust.
 */
static const double OUTLIER = 4;

/* The mean of h(q / t) over the bin from q0 to q1, and its derivative in t: h integrates to t (u + 1 - sqrt(1 + u^2)),
 * u = q / t, whose derivative in t is 1 - sqrt(1 + u^2) + u^2 / sqrt(1 + u^2). */
static double sky_mean(double q0, double q1, double t, double *by_t)
{
    double u0 = q0 / t, u1 = q1 / t, root0 = sqrt(1 + u0 * u0), root1 = sqrt(1 + u1 * u1);
    *by_t = (root0 - root1 + u1 * u1 / root1 - u0 * u0 / root0) / (q1 - q0);
    return t * (u1 - u0 + root0 - root1) / (q1 - q0);
}

/* How a lamp's light ends: in full down to 1 - PENUMBRA of where half of it is left, then less and less, as more and
 * more of the lamp (a window, a shade) hides behind the near rim. */
static const double PENUMBRA = 0.45;

static double lamp_at(double x)
{
    double left = (1 + PENUMBRA - x) / (2 * PENUMBRA);
    return left < 0 ? 0 : left > 1 ? 1 : left;
}

/* Its integral from 0 to x >= 0. */
static double lamp_integral(double x)
{
    if (x <= 1 - PENUMBRA)
        return x;
    double left = lamp_at(x);
    return 1 - left * left * PENUMBRA;
}

/* The mean of the lamp's light over the bin from q0 to q1 where half of it is left at r, and its derivative in log r.
 */
static double lamp_mean(double q0, double q1, double r, double *by_log_r)
{
    double x0 = q0 / r, x1 = q1 / r, integral = r * (lamp_integral(x1) - lamp_integral(x0));
    *by_log_r = (integral - q1 * lamp_at(x1) + q0 * lamp_at(x0)) / (q1 - q0);
    return integral / (q1 - q0);
}

void sw_light_bins(const sw_slot_light *light, double blurs, sw_bin_light *out)
{
    double end = exp(light->reach) * light->tangent;
    out->cuts = blurs < FINE_BLURS ? CUTS : FINE_CUTS;
    out->bins = (int)(blurs < FINE_BLURS ? sizeof CUTS / sizeof *CUTS : sizeof FINE_CUTS / sizeof *FINE_CUTS) - 1;
    for (int k = 0; k < out->bins; k++) {
        double q0 = out->cuts[k], q1 = out->cuts[k + 1];
        out->sky[k] = sky_mean(q0, q1, light->tangent, &out->sky_by[k]);
        out->near[k] = sky_mean(1 - q1, 1 - q0, light->near, &out->near_by[k]);
        out->lamp[k] = lamp_mean(q0, q1, end, &out->lamp_by[k]);
    }
}

void sw_stairs_build(const sw_slot_station *s, const sw_slot_light *light, const sw_bin_light *bins, bool far_high,
                     sw_stairs *out)
{
    double far = far_high ? s->high : s->low, near = far_high ? s->low : s->high;
    memset(out->level, 0, sizeof out->level);
    out->steps = bins->bins + 1;
    out->level[0][SW_AT_LEVEL] = (float)s->low;
    out->level[out->steps][SW_AT_LEVEL] = (float)s->high;
    for (int k = 0; k < bins->bins; k++) {
        float *at = out->level[far_high ? bins->bins - k : k + 1], *by = at + SW_AT_LIGHT;
        double base = far * bins->lamp[k], wall = far * bins->sky[k] + near * bins->near[k];
        by[SW_LIGHT_BASE] = (float)base;
        by[SW_LIGHT_WALL] = (float)wall;
        by[SW_LIGHT_TANGENT] =
            (float)(far * (light->wall * bins->sky_by[k] + s->base * bins->lamp_by[k] / light->tangent));
        by[SW_LIGHT_REACH] = (float)(far * s->base * bins->lamp_by[k]);
        by[SW_LIGHT_NEAR] = (float)(near * light->wall * bins->near_by[k]);
        by[SW_LIGHT_EVEN] = (float)far;
        at[SW_AT_LEVEL] = (float)(s->base * base + light->wall * wall + light->even * far);
    }
    for (int k = 0; k < out->steps; k++) {
        out->place[k] = (float)(far_high ? 1 - bins->cuts[bins->bins - k] : bins->cuts[k]);
        for (int p = 0; p < SW_VALUES; p++)
            out->rise[k][p] = out->level[k + 1][p] - out->level[k][p];
    }
}

/* The model at one sample: sums over the steps that go with an edge's value, and those that go with its slope. */
typedef struct seen_light {
    float value[SW_VALUES];
    float centre, width, blur;
} seen_light;

/* The steps that a sample `in` px behind the low rim sees in passing; those before are past, those after are not there
 * yet. A negative width turns the order round: then every step is looked at. */
static inline void model_sample(const sw_edge_table *table, const sw_stairs *st, float width, float in, int values,
                                seen_light *out)
{
    int from = 0, to = st->steps;
    while (width >= 0 && from < st->steps && in - st->place[from] * width > st->reach)
        from++;
    while (width >= 0 && to > from && in - st->place[to - 1] * width < -st->reach)
        to--;
    float centre = 0, wide = 0, blur = 0, sum[SW_VALUES];
    for (int p = 0; p < values; p++)
        sum[p] = st->level[from][p];
    for (int k = from; k < to; k++) {
        float slope, at = (in - st->place[k] * width) * st->sharp, value = sw_edge_at(table, at, &slope);
        float fall = st->rise[k][SW_AT_LEVEL] * slope;
        for (int p = 0; p < values; p++)
            sum[p] += st->rise[k][p] * value;
        blur -= fall * at;
        centre -= fall;
        wide -= fall * (st->place[k] - 0.5f);
    }
    for (int p = 0; p < values; p++)
        out->value[p] = sum[p];
    out->centre = centre * st->sharp;
    out->width = wide * st->sharp;
    out->blur = blur;
}

/* Sums of weighted products of a sample's derivatives and its residual: own, shared from the wall on, residual, 0. */
enum {
    AT_SHARED = SW_OWN,
    AT_REST_ALL = SW_OWN + SW_LIGHT_NUMBERS - 1,
    PRODUCTS_ALL = 12,
    AT_REST_OWN = SW_OWN,
    PRODUCTS_OWN = 4
};

static inline void add_products(const float *d, float weight, int size, float *sums)
{
    /* lower triangle, in whole vectors of four; size is a multiple of four */
    for (int a = 0; a < size; a++) {
        float wd = weight * d[a];
        for (int b = 0; b < a / 4 * 4 + 4; b++)
            sums[a * size + b] += wd * d[b];
    }
}

/* What residuals cost (Cauchy): each its square while small, in units of the noise, growing slower beyond OUTLIER; all
 * together OUTLIER^2 times the sum of log(1 + (r / OUTLIER)^2), kept as a product, as logarithms are slow. */
typedef struct toll {
    double sum, product;
} toll;

static inline void add_toll(float rest, float scale, toll *t)
{
    t->product *= 1 + (double)(rest * scale) * (rest * scale);
    if (t->product > 1e200) {
        t->sum += log(t->product);
        t->product = 1;
    }
}

static double toll_of(const toll *t)
{
    return OUTLIER * OUTLIER * (t->sum + log(t->product));
}

static inline float weight_of(float rest, float scale)
{
    return 1 / (1 + rest * scale * rest * scale);
}

/* Inlined twice, so that the compiler knows the size of what it sums. */
static inline __attribute__((always_inline)) void sum_samples(const sw_edge_table *table, const sw_slot_station *s,
                                                              const sw_stairs *st, double noise, const bool all,
                                                              sw_slot_normal *n)
{
    const int size = all ? PRODUCTS_ALL : PRODUCTS_OWN, at_rest = all ? AT_REST_ALL : AT_REST_OWN;
    float sums[PRODUCTS_ALL * PRODUCTS_ALL] = {0}, scale = (float)(1 / (OUTLIER * noise));
    float low = (float)(s->centre - s->width / 2), width = (float)s->width, weight = 0;
    toll paid = {0, 1};
    for (int i = 0; i < s->count; i++) {
        seen_light m;
        model_sample(table, st, width, s->x[i] - low, all ? SW_VALUES : SW_AT_LIGHT + 1, &m);
        const float *by = m.value + SW_AT_LIGHT;
        float rest = s->v[i] - m.value[SW_AT_LEVEL], w = weight_of(rest, scale);
        float d[PRODUCTS_ALL] = {m.centre, m.width, by[SW_LIGHT_BASE]};
        for (int p = SW_LIGHT_WALL; all && p < SW_LIGHT_BLUR; p++)
            d[AT_SHARED + p - 1] = by[p];
        if (all)
            d[AT_SHARED + SW_LIGHT_BLUR - 1] = m.blur;
        d[at_rest] = rest;
        add_products(d, w, size, sums);
        weight += w;
        add_toll(rest, scale, &paid);
    }
    memset(n, 0, sizeof *n);
    for (int a = 0; a < SW_OWN; a++) {
        n->own_side[a] = sums[at_rest * size + a];
        for (int b = 0; b <= a; b++)
            n->own[a][b] = sums[a * size + b];
        for (int p = 1; all && p < SW_LIGHT_NUMBERS; p++)
            n->cross[a][p] = sums[(AT_SHARED + p - 1) * size + a];
    }
    for (int p = 1; all && p < SW_LIGHT_NUMBERS; p++) {
        n->shared_side[p] = sums[at_rest * size + AT_SHARED + p - 1];
        for (int q = 1; q <= p; q++)
            n->shared[p][q] = sums[(AT_SHARED + p - 1) * size + AT_SHARED + q - 1];
    }
    n->squares = sums[at_rest * size + at_rest];
    n->weight = weight;
    n->cost = toll_of(&paid);
}

void sw_stairs_sum_own(const sw_edge_table *table, const sw_slot_station *s, const sw_stairs *st, double noise,
                       sw_slot_normal *n)
{
    sum_samples(table, s, st, noise, false, n);
}

void sw_stairs_sum_all(const sw_edge_table *table, const sw_slot_station *s, const sw_stairs *st, double noise,
                       sw_slot_normal *n)
{
    sum_samples(table, s, st, noise, true, n);
}
