#include "seam/stairs.h"

#include <math.h>
#include <string.h>

/* Residuals count as outliers from about this many noise standard deviations on (Cauchy weights): pencil lines, dust.
 */
static const double OUTLIER = 4;

void sw_stairs_build(const sw_slot_station *s, const sw_bin_light *bins, bool far_high, sw_stairs *out)
{
    double far = far_high ? s->high : s->low, near = far_high ? s->low : s->high;
    memset(out->level, 0, sizeof out->level);
    out->steps = SW_BINS + 1;
    out->level[0][SW_AT_LEVEL] = (float)s->low;
    out->level[out->steps][SW_AT_LEVEL] = (float)s->high;
    for (int k = 0; k < SW_BINS; k++) {
        float *at = out->level[far_high ? SW_BINS - k : k + 1];
        at[SW_AT_LEVEL] = (float)(far * bins->far[k] + near * bins->near[k]);
        for (int p = 0; p < SW_LIGHT_BLUR; p++)
            at[SW_AT_LIGHT + p] = (float)(far * bins->far_by[k][p] + near * bins->near_by[k][p]);
    }
    for (int k = 0; k < out->steps; k++) {
        out->place[k] = (float)(far_high ? 1 - bins->cuts[SW_BINS - k] : bins->cuts[k]);
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

/* Sums of weighted products of a sample's derivatives and its residual: own, shared, residual, 0. */
enum {
    AT_SHARED = SW_OWN,
    AT_REST_ALL = SW_OWN + SW_LIGHT_NUMBERS,
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

static inline void add_toll(float weight, toll *t)
{
    t->product *= (double)weight;
    if (t->product < 1e-200) {
        t->sum -= log(t->product);
        t->product = 1;
    }
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
        model_sample(table, st, width, s->x[i] - low, all ? SW_VALUES : SW_AT_LIGHT, &m);
        const float *by = m.value + SW_AT_LIGHT;
        float rest = s->v[i] - m.value[SW_AT_LEVEL], w = weight_of(rest, scale);
        float d[PRODUCTS_ALL] = {m.centre, m.width};
        for (int p = 0; all && p < SW_LIGHT_BLUR; p++)
            d[AT_SHARED + p] = by[p];
        if (all)
            d[AT_SHARED + SW_LIGHT_BLUR] = m.blur;
        d[at_rest] = rest;
        add_products(d, w, size, sums);
        weight += w;
        add_toll(w, &paid);
    }
    memset(n, 0, sizeof *n);
    for (int a = 0; a < SW_OWN; a++) {
        n->own_side[a] = sums[at_rest * size + a];
        for (int b = 0; b <= a; b++)
            n->own[a][b] = sums[a * size + b];
        for (int p = 0; all && p < SW_LIGHT_NUMBERS; p++)
            n->cross[a][p] = sums[(AT_SHARED + p) * size + a];
    }
    for (int p = 0; all && p < SW_LIGHT_NUMBERS; p++) {
        n->shared_side[p] = sums[at_rest * size + AT_SHARED + p];
        for (int q = 0; q <= p; q++)
            n->shared[p][q] = sums[(AT_SHARED + p) * size + AT_SHARED + q];
    }
    n->squares = sums[at_rest * size + at_rest];
    n->weight = weight;
    n->cost = OUTLIER * OUTLIER * (paid.sum - log(paid.product));
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
