#include "seam/stairs.h"

#include <math.h>
#include <string.h>

#include "seam/stepped.h"

/* Residuals count as outliers from about this many noise standard deviations on (Cauchy weights): pencil lines, dust.
 */
static const double OUTLIER = 4;

/* A rounded rim's bins of brightness, beyond the slot's own: at the low side before them, at the high side after them. first:
 * the level that comes first. */
static void add_shoulder(const sw_shoulder *shoulder, double top, bool high, int round_number, double px_per_mm,
                         int first, sw_stairs *out)
{
    const int n = SW_SHOULDER_BINS, by_round = SW_AT_SHAPE + round_number - SW_SHAPE_STEP;
    for (int k = 0; k < n; k++) {
        float *at = out->level[high ? first + n - 1 - k : first + k];
        at[SW_AT_LEVEL] = (float)(top * shoulder->level[k]);
        for (int p = 0; p < SW_LIGHT_BLUR; p++)
            at[SW_AT_LIGHT + p] = (float)(top * shoulder->by[k][p]);
        int step = high ? first + n - 1 - k : first + k - 1; /* the one at the bin's outer end */
        double slide = (high ? 1 : -1) * shoulder->begins[k] * px_per_mm;
        out->place[step] = high ? 1 : 0;
        out->off[step] = (float)(slide * shoulder->radius_mm);
        out->slide[step][by_round] = (float)slide;
    }
}

void sw_stairs_build(const sw_slot_station *s, const sw_bin_light *bins, bool far_high, double px_per_mm,
                     sw_stairs *out)
{
    if (bins->stepped) {
        sw_stepped_build(s, bins, far_high, out);
        return;
    }
    double far = far_high ? s->high : s->low, near = far_high ? s->low : s->high;
    int before = bins->round ? SW_SHOULDER_BINS : 0;
    memset(out->level, 0, sizeof out->level);
    memset(out->off, 0, sizeof out->off);
    out->steps = SW_BINS + 1 + 2 * before;
    out->level[0][SW_AT_LEVEL] = (float)s->low;
    out->level[out->steps][SW_AT_LEVEL] = (float)s->high;
    for (int k = 0; k < SW_BINS; k++) {
        float *at = out->level[before + (far_high ? SW_BINS - k : k + 1)];
        at[SW_AT_LEVEL] = (float)(far * bins->far[k] + near * bins->near[k]);
        for (int p = 0; p < SW_LIGHT_BLUR; p++)
            at[SW_AT_LIGHT + p] = (float)(far * bins->far_by[k][p] + near * bins->near_by[k][p]);
    }
    for (int k = 0; k <= SW_BINS; k++)
        out->place[before + k] = (float)(far_high ? 1 - bins->cuts[SW_BINS - k] : bins->cuts[k]);
    if (bins->round) {
        memset(out->slide, 0, sizeof out->slide);
        add_shoulder(&bins->shoulder[!far_high], s->low, false, far_high ? SW_SHAPE_ROUND_NEAR : SW_SHAPE_ROUND_FAR,
                     px_per_mm, 1, out);
        add_shoulder(&bins->shoulder[far_high], s->high, true, far_high ? SW_SHAPE_ROUND_FAR : SW_SHAPE_ROUND_NEAR,
                     px_per_mm, before + SW_BINS + 1, out);
    }
    for (int k = 0; k < out->steps; k++)
        for (int p = 0; p < SW_VALUES; p++)
            out->rise[k][p] = out->level[k + 1][p] - out->level[k][p];
}

/* The model at one sample: sums over the steps that go with an edge's value, and those that go with its slope. */
typedef struct seen_light {
    float value[SW_VALUES];
    float centre, width, blur;
} seen_light;

/* The shared numbers that are fitted: none (the station's own only), the light, light and shape. How many values and products that
 * makes: own, shared, residual, in whole vectors of four. */
typedef enum extent { EXTENT_OWN, EXTENT_LIGHT, EXTENT_SHAPE } extent;
enum { PRODUCTS_MOST = 20 };
static inline __attribute__((always_inline)) int shared_of(extent e)
{
    return e == EXTENT_OWN ? 0 : e == EXTENT_LIGHT ? SW_LIGHT_NUMBERS : SW_SLOT_NUMBERS;
}

static inline __attribute__((always_inline)) int products_of(extent e)
{
    return e == EXTENT_OWN ? 4 : e == EXTENT_LIGHT ? 12 : PRODUCTS_MOST;
}

static inline float place_of(const sw_stairs *st, int k, float width)
{
    return st->place[k] * width + st->off[k];
}

/* The steps that a sample `in` px behind the low rim sees in passing; those before are past, those after are not there
 * yet. A negative width turns the order round: then every step is looked at. */
static inline __attribute__((always_inline)) void model_sample(const sw_edge_table *table, const sw_stairs *st,
                                                               float width, float in, const extent e, seen_light *out)
{
    const int values = e == EXTENT_OWN ? SW_AT_LIGHT : e == EXTENT_LIGHT ? SW_LIGHT_VALUES : SW_VALUES;
    int from = 0, to = st->steps;
    while (width >= 0 && from < st->steps && in - place_of(st, from, width) > st->reach)
        from++;
    while (width >= 0 && to > from && in - place_of(st, to - 1, width) < -st->reach)
        to--;
    float centre = 0, wide = 0, blur = 0, sum[SW_VALUES];
    for (int p = 0; p < values; p++)
        sum[p] = st->level[from][p];
    for (int k = from; k < to; k++) {
        float slope, at = (in - place_of(st, k, width)) * st->sharp, value = sw_edge_at(table, at, &slope);
        float fall = st->rise[k][SW_AT_LEVEL] * slope;
        for (int p = 0; p < values; p++)
            sum[p] += st->rise[k][p] * value;
        for (int p = 0; e == EXTENT_SHAPE && p < values; p++)
            sum[p] -= fall * st->sharp * st->slide[k][p];
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

/* A sample's derivatives in the own and the shared numbers, and its residual. */
static inline __attribute__((always_inline)) void line_up(const seen_light *m, float rest, const extent e,
                                                          float d[PRODUCTS_MOST])
{
    const int shared = shared_of(e);
    d[0] = m->centre;
    d[1] = m->width;
    for (int p = 0; p < shared; p++)
        d[SW_OWN + p] = p == SW_LIGHT_BLUR
                            ? m->blur
                            : m->value[p < SW_LIGHT_BLUR ? SW_AT_LIGHT + p : SW_AT_SHAPE + p - SW_SHAPE_STEP];
    d[SW_OWN + shared] = rest;
}

/* Inlined for each extent, so that the compiler knows the size of what it sums. */
static inline __attribute__((always_inline)) void sum_samples(const sw_edge_table *table, const sw_slot_station *s,
                                                              const sw_stairs *st, double noise, const extent e,
                                                              sw_slot_normal *n)
{
    const int size = products_of(e), shared = shared_of(e), at_rest = SW_OWN + shared;
    float sums[PRODUCTS_MOST * PRODUCTS_MOST] = {0}, scale = (float)(1 / (OUTLIER * noise));
    float low = (float)(s->centre - s->width / 2), width = (float)s->width, weight = 0;
    toll paid = {0, 1};
    for (int i = 0; i < s->count; i++) {
        seen_light m;
        model_sample(table, st, width, s->x[i] - low, e, &m);
        float rest = s->v[i] - m.value[SW_AT_LEVEL], w = weight_of(rest, scale), d[PRODUCTS_MOST] = {0};
        line_up(&m, rest, e, d);
        add_products(d, w, size, sums);
        weight += w;
        add_toll(w, &paid);
    }
    memset(n, 0, sizeof *n);
    for (int a = 0; a < SW_OWN; a++) {
        n->own_side[a] = sums[at_rest * size + a];
        for (int b = 0; b <= a; b++)
            n->own[a][b] = sums[a * size + b];
        for (int p = 0; p < shared; p++)
            n->cross[a][p] = sums[(SW_OWN + p) * size + a];
    }
    for (int p = 0; p < shared; p++) {
        n->shared_side[p] = sums[at_rest * size + SW_OWN + p];
        for (int q = 0; q <= p; q++)
            n->shared[p][q] = sums[(SW_OWN + p) * size + SW_OWN + q];
    }
    n->squares = sums[at_rest * size + at_rest];
    n->weight = weight;
    n->cost = OUTLIER * OUTLIER * (paid.sum - log(paid.product));
}

void sw_stairs_sum_own(const sw_edge_table *table, const sw_slot_station *s, const sw_stairs *st, double noise,
                       sw_slot_normal *n)
{
    sum_samples(table, s, st, noise, EXTENT_OWN, n);
}

void sw_stairs_sum_all(const sw_edge_table *table, const sw_slot_station *s, const sw_stairs *st, double noise,
                       sw_slot_normal *n)
{
    if (st->shaped)
        sum_samples(table, s, st, noise, EXTENT_SHAPE, n);
    else
        sum_samples(table, s, st, noise, EXTENT_LIGHT, n);
}
