#include "slot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lsq.h"

/* The slot is cut into bins in which its brightness counts as even, finest at the rims, above all the far one, where it
 * changes most. */
enum { BINS = 8, EDGES = BINS + 1, SHARED = SW_LIGHT_NUMBERS, OWN = 3 };
static const double CUTS[EDGES] = {0, 0.04, 0.1, 0.19, 0.33, 0.55, 0.82, 0.95, 1};
/* Residuals count as outliers from about this many noise standard deviations on (Cauchy weights): pencil lines, dust.
 */
static const double OUTLIER = 4;
/* Range of the shared numbers: no darker than nothing, no wall brighter than the top. */
static const double LEAST[SHARED] = {-0.05, 0, 0.01, -2.3, 0.002, -0.15}, MOST[SHARED] = {0.5, 1.1, 0.6, 1.6, 0.2, 0.6};
/* The stations of a seam all see the same wrongs of the model (edge response, fading of the wall), so together they
 * tell less of the shared numbers than their count says: their word is discounted as if the noise were this many times
 * larger. */
static const double DISCOUNT = 8;
/* Largest change of a shared number in one round. */
static const double SHARED_STEP[SHARED] = {0.1, 0.2, 0.05, 0.3, 0.02, 0.05};
/* A width over this, px, is no seam; only keeps the equations regular. */
static const double WIDEST = 30;
/* Where one looks into the slot, neighbouring stations tell the shared numbers much the same, so one in TELLING does,
 * as long as at least TELLERS do. In a slot too narrow for that each tells next to nothing, and all are needed. */
enum { TELLING = 4, TELLERS = 40 };
/* Range of the spread of the stations' bases: even light, and lit patches beside shadow. */
static const double SPREAD_LEAST = 0.01, SPREAD_MOST = 0.2;
/* Largest change of centre and width in one round, px. */
static const double STEP_MOST = 1.0;

/* An edge is past where it is within this share of its end: far below the noise of a sample, 0.01. */
static const float SETTLED = 5e-4f;

static double gauss_step(double x)
{
    return 0.5 * erfc(-x / M_SQRT2);
}

static double gauss_density(double x)
{
    return exp(-0.5 * x * x) / sqrt(2 * M_PI);
}

void sw_edge_table_make(double blur_px, double halo, double stretch, sw_edge_table *table)
{
    double wide = sqrt(blur_px * blur_px + 1);
    table->reach = 0;
    for (int i = 0; i < SW_EDGE_GRID; i++) {
        double x = ((double)i / SW_EDGE_PER - SW_EDGE_REACH) * stretch;
        sw_edge_node *n = &table->node[i];
        n->value = (float)((1 + halo) * gauss_step(x / blur_px) - halo * gauss_step(x / wide));
        n->slope = (float)(stretch *
                           ((1 + halo) * gauss_density(x / blur_px) / blur_px - halo * gauss_density(x / wide) / wide));
        n->value_by = n->slope_by = 0;
    }
    for (int i = 0; i + 1 < SW_EDGE_GRID; i++) {
        table->node[i].value_by = table->node[i + 1].value - table->node[i].value;
        table->node[i].slope_by = table->node[i + 1].slope - table->node[i].slope;
        if (table->node[i].value < SETTLED || table->node[i].value > 1 - SETTLED)
            continue;
        table->reach = fmaxf(table->reach, fabsf((float)i / SW_EDGE_PER - SW_EDGE_REACH));
    }
}

/* The mean of h(q / t) over the bin from q0 to q1, and its derivative in t: h integrates to t (u + 1 - sqrt(1 + u^2)),
 * u = q / t, whose derivative in t is 1 - sqrt(1 + u^2) + u^2 / sqrt(1 + u^2). */
static double sky_mean(double q0, double q1, double t, double *by_t)
{
    double u0 = q0 / t, u1 = q1 / t, root0 = sqrt(1 + u0 * u0), root1 = sqrt(1 + u1 * u1);
    *by_t = (root0 - root1 + u1 * u1 / root1 - u0 * u0 / root0) / (q1 - q0);
    return t * (u1 - u0 + root0 - root1) / (q1 - q0);
}

/* What of a station's light model does not change from station to station: per bin, from the far rim. */
typedef struct bin_light {
    double sky[BINS], sky_by[BINS];   /* far wall */
    double near[BINS], near_by[BINS]; /* near wall */
    double lamp[BINS], lamp_by[BINS]; /* share of b, and its derivative in the logarithm of the reach */
} bin_light;

static void light_bins(const sw_slot_light *light, bin_light *out)
{
    double reach = exp(light->reach);
    for (int k = 0; k < BINS; k++) {
        double q0 = CUTS[k], q1 = CUTS[k + 1], q = (q0 + q1) / 2 / reach, q4 = q * q * q * q, part = 1 / (1 + q4);
        out->sky[k] = sky_mean(q0, q1, light->tangent, &out->sky_by[k]);
        out->near[k] = sky_mean(1 - q1, 1 - q0, light->near, &out->near_by[k]);
        out->lamp[k] = part;
        out->lamp_by[k] = 4 * q4 * part * part;
    }
}

/* Sums over the steps of brightness that go with an edge's value: the brightness itself, and its derivatives in the
 * station's base and the shared wall, tangent, reach, near. Padded to whole vectors of four. */
enum { AT_LEVEL = 0, AT_LIGHT = 1, VALUES = 8 };

/* Steps of brightness from the low side to the high side: at place[k] (share of the width from the low rim) the
 * brightness rises by rise[k][0]. level[k][0] is the brightness before step k, level[EDGES][0] that after the last one.
 */
typedef struct staircase {
    float sharp; /* 1 over the factor on the blur */
    float reach; /* px from a step beyond which nothing more is seen of it */
    float place[EDGES], rise[EDGES][VALUES], level[EDGES + 1][VALUES];
} staircase;

static void build(const sw_slot_station *s, const sw_slot_light *light, const bin_light *bins, int far_high,
                  staircase *out)
{
    double far = far_high ? s->high : s->low, near = far_high ? s->low : s->high;
    memset(out->level, 0, sizeof out->level);
    out->level[0][AT_LEVEL] = (float)s->low;
    out->level[EDGES][AT_LEVEL] = (float)s->high;
    for (int k = 0; k < BINS; k++) {
        float *at = out->level[far_high ? BINS - k : k + 1], *by = at + AT_LIGHT;
        double base = far * bins->lamp[k], wall = far * bins->sky[k] + near * bins->near[k];
        by[SW_LIGHT_BASE] = (float)base;
        by[SW_LIGHT_WALL] = (float)wall;
        by[SW_LIGHT_TANGENT] = (float)(far * light->wall * bins->sky_by[k]);
        by[SW_LIGHT_REACH] = (float)(far * s->base * bins->lamp_by[k]);
        by[SW_LIGHT_NEAR] = (float)(near * light->wall * bins->near_by[k]);
        at[AT_LEVEL] = (float)(s->base * base + light->wall * wall);
    }
    for (int k = 0; k < EDGES; k++) {
        out->place[k] = (float)(far_high ? 1 - CUTS[EDGES - 1 - k] : CUTS[k]);
        for (int p = 0; p < VALUES; p++)
            out->rise[k][p] = out->level[k + 1][p] - out->level[k][p];
    }
}

/* Normal equations of one station: three own numbers (centre, width, base), three shared. */
typedef struct normal {
    double own[OWN][OWN], own_side[OWN];
    double cross[OWN][SHARED];
    double shared[SHARED][SHARED], shared_side[SHARED];
    double inverse[OWN][OWN], ratio[OWN][SHARED]; /* own^-1, own^-1 cross */
    double squares, weight;
} normal;

/* The model at one sample: sums over the steps that go with an edge's value, and those that go with its slope. */
typedef struct sample {
    float value[VALUES];
    float centre, width, blur;
} sample;

/* The steps that a sample `in` px behind the low rim sees in passing; those before are past, those after are not there
 * yet. A negative width turns the order round: then every step is looked at. */
static inline void model_sample(const sw_edge_table *table, const staircase *st, float width, float in, int values,
                                sample *out)
{
    int from = 0, to = EDGES;
    while (width >= 0 && from < EDGES && in - st->place[from] * width > st->reach)
        from++;
    while (width >= 0 && to > from && in - st->place[to - 1] * width < -st->reach)
        to--;
    float centre = 0, wide = 0, blur = 0, sum[VALUES];
    for (int p = 0; p < values; p++)
        sum[p] = st->level[from][p];
    for (int k = from; k < to; k++) {
        float slope, at = (in - st->place[k] * width) * st->sharp, value = sw_edge_at(table, at, &slope);
        float fall = st->rise[k][AT_LEVEL] * slope;
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
enum { AT_SHARED = OWN, AT_REST_ALL = OWN + SHARED - 1, PRODUCTS_ALL = 12, AT_REST_OWN = OWN, PRODUCTS_OWN = 4 };

static inline void add_products(const float *d, float weight, int size, float *sums)
{
    for (int a = 0; a < size; a++) {
        float wd = weight * d[a];
        for (int b = 0; b < size; b++)
            sums[a * size + b] += wd * d[b];
    }
}

static inline float weight_of(float rest, float scale)
{
    return 1 / (1 + rest * scale * rest * scale);
}

/* Sums of a station's samples for its own numbers; the shared ones count as known. */
static void accumulate_own(const sw_edge_table *table, const sw_slot_station *s, const staircase *st, double noise,
                           normal *n)
{
    float sums[PRODUCTS_OWN * PRODUCTS_OWN] = {0}, scale = (float)(1 / (OUTLIER * noise));
    float low = (float)(s->centre - s->width / 2), width = (float)s->width, weight = 0;
    for (int i = 0; i < s->count; i++) {
        sample m;
        model_sample(table, st, width, s->x[i] - low, 2, &m);
        float rest = s->v[i] - m.value[AT_LEVEL], w = weight_of(rest, scale);
        float d[PRODUCTS_OWN] = {m.centre, m.width, m.value[AT_LIGHT + SW_LIGHT_BASE], rest};
        add_products(d, w, PRODUCTS_OWN, sums);
        weight += w;
    }
    memset(n, 0, sizeof *n);
    for (int a = 0; a < OWN; a++) {
        n->own_side[a] = sums[a * PRODUCTS_OWN + AT_REST_OWN];
        for (int b = 0; b <= a; b++)
            n->own[a][b] = sums[a * PRODUCTS_OWN + b];
    }
    n->squares = sums[PRODUCTS_OWN * AT_REST_OWN + AT_REST_OWN];
    n->weight = weight;
}

/* The same for own and shared numbers. */
static void accumulate_all(const sw_edge_table *table, const sw_slot_station *s, const staircase *st, double noise,
                           normal *n)
{
    float sums[PRODUCTS_ALL * PRODUCTS_ALL] = {0}, scale = (float)(1 / (OUTLIER * noise));
    float low = (float)(s->centre - s->width / 2), width = (float)s->width, weight = 0;
    for (int i = 0; i < s->count; i++) {
        sample m;
        model_sample(table, st, width, s->x[i] - low, VALUES, &m);
        const float *by = m.value + AT_LIGHT;
        float rest = s->v[i] - m.value[AT_LEVEL], w = weight_of(rest, scale);
        float d[PRODUCTS_ALL] = {m.centre,
                                 m.width,
                                 by[SW_LIGHT_BASE],
                                 by[SW_LIGHT_WALL],
                                 by[SW_LIGHT_TANGENT],
                                 by[SW_LIGHT_REACH],
                                 by[SW_LIGHT_NEAR],
                                 m.blur,
                                 rest};
        add_products(d, w, PRODUCTS_ALL, sums);
        weight += w;
    }
    memset(n, 0, sizeof *n);
    for (int a = 0; a < OWN; a++) {
        const float *row = sums + a * PRODUCTS_ALL;
        n->own_side[a] = row[AT_REST_ALL];
        for (int b = 0; b <= a; b++)
            n->own[a][b] = row[b];
        for (int p = 1; p < SHARED; p++)
            n->cross[a][p] = row[AT_SHARED + p - 1];
    }
    for (int p = 1; p < SHARED; p++) {
        const float *row = sums + (AT_SHARED + p - 1) * PRODUCTS_ALL;
        n->shared_side[p] = row[AT_REST_ALL];
        for (int q = 1; q <= p; q++)
            n->shared[p][q] = row[AT_SHARED + q - 1];
    }
    n->squares = sums[AT_REST_ALL * PRODUCTS_ALL + AT_REST_ALL];
    n->weight = weight;
}

/* The priors of a station: its centre near the path, its width finite, its base near the seam's. */
static void add_priors(const sw_slot_station *s, double base, double base_spread, double noise, normal *n)
{
    double v = noise * noise, centre = v / (s->centre_prior_sd * s->centre_prior_sd),
           spread = v / (base_spread * base_spread);
    n->own[0][0] += centre;
    n->own_side[0] += centre * (s->centre_prior - s->centre);
    n->own[1][1] += v / (WIDEST * WIDEST);
    n->own[2][2] += spread;
    n->own_side[2] += spread * (base - s->base);
    n->shared[0][0] += spread;
    n->shared_side[0] += spread * (s->base - base);
    n->cross[2][0] -= spread;
}

static void eliminate(normal *n)
{
    double a[OWN * OWN];
    for (int i = 0; i < OWN; i++)
        for (int j = 0; j < OWN; j++)
            a[i * OWN + j] = n->own[i > j ? i : j][i > j ? j : i];
    if (sw_cholesky_invert(a, OWN))
        memset(a, 0, sizeof a);
    for (int i = 0; i < OWN; i++)
        for (int p = 0; p < SHARED; p++) {
            n->ratio[i][p] = 0;
            for (int j = 0; j < OWN; j++) {
                n->inverse[i][j] = a[i * OWN + j];
                n->ratio[i][p] += a[i * OWN + j] * n->cross[j][p];
            }
        }
}

/* A fit at work. */
typedef struct fit {
    const sw_edge_table *table;
    sw_slot_station *stations;
    normal *normals;
    int count, far_high;
    const sw_slot_prior *prior;
    double noise, spread;
    double discount2; /* see DISCOUNT; less in proportion where only some stations tell */
    sw_slot_light *light;
} fit;

typedef struct shared_system {
    double a[SHARED][SHARED], side[SHARED];
} shared_system;

static void numbers_of(const sw_slot_light *light, double *n)
{
    n[SW_LIGHT_BASE] = light->base;
    n[SW_LIGHT_WALL] = light->wall;
    n[SW_LIGHT_TANGENT] = light->tangent;
    n[SW_LIGHT_REACH] = light->reach;
    n[SW_LIGHT_NEAR] = light->near;
    n[SW_LIGHT_BLUR] = light->blur;
}

static void start_system(const fit *f, shared_system *sys)
{
    double mean[SHARED], sd[SHARED], now[SHARED];
    numbers_of(&f->prior->mean, mean);
    numbers_of(&f->prior->sd, sd);
    numbers_of(f->light, now);
    memset(sys, 0, sizeof *sys);
    for (int p = 0; p < SHARED; p++) {
        double w = f->discount2 * f->noise * f->noise / (sd[p] * sd[p]);
        sys->a[p][p] = w;
        sys->side[p] = w * (mean[p] - now[p]);
    }
}

static void add_station(const normal *n, shared_system *sys)
{
    for (int p = 0; p < SHARED; p++) {
        sys->side[p] += n->shared_side[p];
        for (int i = 0; i < OWN; i++)
            sys->side[p] -= n->ratio[i][p] * n->own_side[i];
        for (int q = 0; q <= p; q++) {
            sys->a[p][q] += n->shared[p][q];
            for (int i = 0; i < OWN; i++)
                sys->a[p][q] -= n->ratio[i][p] * n->cross[i][q];
        }
    }
}

static double clamp(double v, double low, double high)
{
    return v < low ? low : v > high ? high : v;
}

/* Solves for the shared step, cut to the shared numbers' ranges. */
static void solve_shared(const fit *f, const shared_system *sys, double step[SHARED], double covariance[SHARED][SHARED])
{
    double a[SHARED * SHARED];
    for (int p = 0; p < SHARED; p++)
        for (int q = 0; q < SHARED; q++)
            a[p * SHARED + q] = p >= q ? sys->a[p][q] : sys->a[q][p];
    if (sw_cholesky_invert(a, SHARED))
        memset(a, 0, sizeof a);
    for (int p = 0; p < SHARED; p++) {
        step[p] = 0;
        for (int q = 0; q < SHARED; q++) {
            step[p] += a[p * SHARED + q] * sys->side[q];
            covariance[p][q] = a[p * SHARED + q] * f->noise * f->noise * f->discount2;
        }
    }
    double now[SHARED];
    numbers_of(f->light, now);
    for (int p = 0; p < SHARED; p++)
        step[p] = clamp(now[p] + clamp(step[p], -SHARED_STEP[p], SHARED_STEP[p]), LEAST[p], MOST[p]) - now[p];
}

static void move_station(sw_slot_station *s, const normal *n, const double step[SHARED])
{
    double d[OWN];
    for (int i = 0; i < OWN; i++) {
        d[i] = 0;
        for (int j = 0; j < OWN; j++)
            d[i] += n->inverse[i][j] * n->own_side[j];
        for (int p = 0; p < SHARED; p++)
            d[i] -= n->ratio[i][p] * step[p];
    }
    s->centre += clamp(d[0], -STEP_MOST, STEP_MOST);
    s->width += clamp(d[1], -STEP_MOST, STEP_MOST);
    s->base = clamp(s->base + clamp(d[2], -0.2, 0.2), 2 * LEAST[SW_LIGHT_BASE], 2 * MOST[SW_LIGHT_BASE]);
}

/* The shared numbers' pull on the width is that of a telling station nearby. */
static void note_variances(sw_slot_station *s, const normal *n, const normal *teller, double noise)
{
    double v = noise * noise;
    s->rms = sqrt(n->squares / fmax(n->weight, 1));
    s->variance[0] = n->inverse[0][0] * v;
    s->variance[1] = n->inverse[0][1] * v;
    s->variance[2] = n->inverse[1][1] * v;
    for (int p = 0; p < SHARED; p++)
        s->shared[p] = -teller->ratio[1][p];
}

/* The spread of the telling stations' bases about their mean, from the fit: what they show plus what they cannot. */
static double spread_of(const sw_slot_station *stations, const normal *n, int count, double base, double noise)
{
    double sum = 0, used = 0;
    for (int i = 0; i < count; i++)
        if (stations[i].tells) {
            sum += (stations[i].base - base) * (stations[i].base - base) + n[i].inverse[2][2] * noise * noise;
            used++;
        }
    return clamp(sqrt(sum / fmax(1, used)), SPREAD_LEAST, SPREAD_MOST);
}

static void weigh(const fit *f, const bin_light *bins, int i, int all)
{
    staircase st;
    build(&f->stations[i], f->light, bins, f->far_high, &st);
    st.sharp = (float)exp(-f->light->blur);
    st.reach = f->table->reach / st.sharp;
    if (all)
        accumulate_all(f->table, &f->stations[i], &st, f->noise, &f->normals[i]);
    else
        accumulate_own(f->table, &f->stations[i], &st, f->noise, &f->normals[i]);
    add_priors(&f->stations[i], f->light->base, f->spread, f->noise, &f->normals[i]);
    eliminate(&f->normals[i]);
}

static void move_light(sw_slot_light *light, const double step[SHARED])
{
    light->base += step[SW_LIGHT_BASE];
    light->wall += step[SW_LIGHT_WALL];
    light->tangent += step[SW_LIGHT_TANGENT];
    light->reach += step[SW_LIGHT_REACH];
    light->near += step[SW_LIGHT_NEAR];
    light->blur += step[SW_LIGHT_BLUR];
}

/* The shared numbers, from the telling stations, whose own numbers are fitted on the way. */
static void fit_shared(fit *f, int rounds, double covariance[SHARED][SHARED])
{
    for (int round = 0; round <= rounds; round++) {
        shared_system sys;
        double step[SHARED];
        bin_light bins;
        start_system(f, &sys);
        light_bins(f->light, &bins);
        for (int i = 0; i < f->count; i++)
            if (f->stations[i].tells) {
                weigh(f, &bins, i, 1);
                add_station(&f->normals[i], &sys);
            }
        solve_shared(f, &sys, step, covariance);
        if (round == rounds)
            break;
        for (int i = 0; i < f->count; i++)
            if (f->stations[i].tells)
                move_station(&f->stations[i], &f->normals[i], step);
        move_light(f->light, step);
        if (round >= 1 && !f->prior->spread_known)
            f->spread = spread_of(f->stations, f->normals, f->count, f->light->base, f->noise);
    }
}

/* A station that was not fitted yet, with the shared numbers held. */
static void fit_own(fit *f, const bin_light *bins, int i, int rounds)
{
    const double held[SHARED] = {0};
    f->stations[i].base = f->light->base;
    for (int round = 0; round < rounds; round++) {
        weigh(f, bins, i, 0);
        move_station(&f->stations[i], &f->normals[i], held);
    }
}

/* Picks the telling stations, evenly spread over the used ones. Returns the first one's index, -1 when there is none.
 */
static int pick_tellers(fit *f)
{
    int used = 0, told = 0, first = -1;
    for (int i = 0; i < f->count; i++)
        used += f->stations[i].used != 0;
    int every = f->prior->spread_known || used < TELLERS ? 1 : used / TELLERS > TELLING ? TELLING : used / TELLERS;
    for (int i = 0, at = 0; i < f->count; i++) {
        sw_slot_station *s = &f->stations[i];
        s->base = f->light->base;
        s->tells = s->used && at++ % every == 0;
        told += s->tells;
        first = s->tells && first < 0 ? i : first;
    }
    f->discount2 = DISCOUNT * DISCOUNT * told / fmax(1, used);
    return first;
}

int sw_slot_fit(const sw_edge_table *table, sw_slot_station *stations, int count, int far_high,
                const sw_slot_prior *prior, double noise, int rounds, sw_slot_light *light,
                double covariance[SHARED][SHARED])
{
    fit f = {table, stations, NULL, count, far_high, prior, noise, prior->base_spread, 0, light};
    bin_light bins;
    int teller = pick_tellers(&f);
    if (teller < 0)
        return -1;
    f.normals = calloc((size_t)count, sizeof *f.normals);
    if (!f.normals)
        return -2;
    fit_shared(&f, rounds, covariance);
    light_bins(light, &bins);
    for (int i = 0; i < count; i++) {
        if (!stations[i].used)
            continue;
        if (stations[i].tells)
            teller = i;
        else
            fit_own(&f, &bins, i, rounds);
        note_variances(&stations[i], &f.normals[i], &f.normals[teller], noise);
    }
    free(f.normals);
    return 0;
}
