#include "slot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lsq.h"
#include "stairs.h"

/* Range of the shared numbers: no darker than nothing, no wall brighter than the top. */
static const double LEAST[SW_LIGHT_NUMBERS] = {-0.05, 0, 0.01, -2.3, 0.002, -0.15},
                    MOST[SW_LIGHT_NUMBERS] = {0.5, 1.1, 0.6, 1.6, 0.2, 0.6};
/* The stations of a seam all see the same wrongs of the model (edge response, fading of the wall), so together they
 * tell less of the shared numbers than their count says: their word is discounted as if the noise were this many times
 * larger. */
static const double DISCOUNT = 8;
/* Largest change of a shared number in one round. */
static const double SHARED_STEP[SW_LIGHT_NUMBERS] = {0.1, 0.2, 0.05, 0.3, 0.02, 0.05};
/* A width over this, px, is no seam; only keeps the equations regular. */
static const double WIDEST = 30;
/* Where one looks into the slot, neighbouring stations tell the shared numbers much the same, so one in TELLING does,
 * as long as at least TELLERS do. In a slot too narrow for that each tells next to nothing, and all are needed. */
enum { TELLING = 4, TELLERS = 40 };
/* Range of the spread of the stations' bases: even light, and lit patches beside shadow. */
static const double SPREAD_LEAST = 0.01, SPREAD_MOST = 0.2;
/* Largest change of centre and width in one round, px. */
static const double STEP_MOST = 1.0;

/* The priors of a station: its centre near the path, its width finite, its base near the seam's. */
static void add_priors(const sw_slot_station *s, double base, double base_spread, double noise, sw_slot_normal *n)
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

static void eliminate(sw_slot_normal *n)
{
    double a[SW_OWN * SW_OWN];
    for (int i = 0; i < SW_OWN; i++)
        for (int j = 0; j < SW_OWN; j++)
            a[i * SW_OWN + j] = n->own[i > j ? i : j][i > j ? j : i];
    if (sw_cholesky_invert(a, SW_OWN))
        memset(a, 0, sizeof a);
    for (int i = 0; i < SW_OWN; i++)
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
            n->ratio[i][p] = 0;
            for (int j = 0; j < SW_OWN; j++) {
                n->inverse[i][j] = a[i * SW_OWN + j];
                n->ratio[i][p] += a[i * SW_OWN + j] * n->cross[j][p];
            }
        }
}

/* A fit at work. */
typedef struct fit {
    const sw_edge_table *table;
    sw_slot_station *stations;
    sw_slot_normal *normals;
    int count, far_high;
    const sw_slot_prior *prior;
    double noise, spread;
    double discount2; /* see DISCOUNT; less in proportion where only some stations tell */
    sw_slot_light *light;
} fit;

typedef struct shared_system {
    double a[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS], side[SW_LIGHT_NUMBERS];
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
    double mean[SW_LIGHT_NUMBERS], sd[SW_LIGHT_NUMBERS], now[SW_LIGHT_NUMBERS];
    numbers_of(&f->prior->mean, mean);
    numbers_of(&f->prior->sd, sd);
    numbers_of(f->light, now);
    memset(sys, 0, sizeof *sys);
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
        double w = f->discount2 * f->noise * f->noise / (sd[p] * sd[p]);
        sys->a[p][p] = w;
        sys->side[p] = w * (mean[p] - now[p]);
    }
}

static void add_station(const sw_slot_normal *n, shared_system *sys)
{
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
        sys->side[p] += n->shared_side[p];
        for (int i = 0; i < SW_OWN; i++)
            sys->side[p] -= n->ratio[i][p] * n->own_side[i];
        for (int q = 0; q <= p; q++) {
            sys->a[p][q] += n->shared[p][q];
            for (int i = 0; i < SW_OWN; i++)
                sys->a[p][q] -= n->ratio[i][p] * n->cross[i][q];
        }
    }
}

static double clamp(double v, double low, double high)
{
    return v < low ? low : v > high ? high : v;
}

/* Solves for the shared step, cut to the shared numbers' ranges. */
static void solve_shared(const fit *f, const shared_system *sys, double step[SW_LIGHT_NUMBERS],
                         double covariance[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS])
{
    double a[SW_LIGHT_NUMBERS * SW_LIGHT_NUMBERS];
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        for (int q = 0; q < SW_LIGHT_NUMBERS; q++)
            a[p * SW_LIGHT_NUMBERS + q] = p >= q ? sys->a[p][q] : sys->a[q][p];
    if (sw_cholesky_invert(a, SW_LIGHT_NUMBERS))
        memset(a, 0, sizeof a);
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
        step[p] = 0;
        for (int q = 0; q < SW_LIGHT_NUMBERS; q++) {
            step[p] += a[p * SW_LIGHT_NUMBERS + q] * sys->side[q];
            covariance[p][q] = a[p * SW_LIGHT_NUMBERS + q] * f->noise * f->noise * f->discount2;
        }
    }
    double now[SW_LIGHT_NUMBERS];
    numbers_of(f->light, now);
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        step[p] = clamp(now[p] + clamp(step[p], -SHARED_STEP[p], SHARED_STEP[p]), LEAST[p], MOST[p]) - now[p];
}

static void move_station(sw_slot_station *s, const sw_slot_normal *n, const double step[SW_LIGHT_NUMBERS])
{
    double d[SW_OWN];
    for (int i = 0; i < SW_OWN; i++) {
        d[i] = 0;
        for (int j = 0; j < SW_OWN; j++)
            d[i] += n->inverse[i][j] * n->own_side[j];
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
            d[i] -= n->ratio[i][p] * step[p];
    }
    s->centre += clamp(d[0], -STEP_MOST, STEP_MOST);
    s->width += clamp(d[1], -STEP_MOST, STEP_MOST);
    s->base = clamp(s->base + clamp(d[2], -0.2, 0.2), 2 * LEAST[SW_LIGHT_BASE], 2 * MOST[SW_LIGHT_BASE]);
}

/* The shared numbers' pull on the width is that of a telling station nearby. */
static void note_variances(sw_slot_station *s, const sw_slot_normal *n, const sw_slot_normal *teller, double noise)
{
    double v = noise * noise;
    s->rms = sqrt(n->squares / fmax(n->weight, 1));
    s->variance[0] = n->inverse[0][0] * v;
    s->variance[1] = n->inverse[0][1] * v;
    s->variance[2] = n->inverse[1][1] * v;
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        s->shared[p] = -teller->ratio[1][p];
}

/* The spread of the telling stations' bases about their mean, from the fit: what they show plus what they cannot. */
static double spread_of(const sw_slot_station *stations, const sw_slot_normal *n, int count, double base, double noise)
{
    double sum = 0, used = 0;
    for (int i = 0; i < count; i++)
        if (stations[i].tells) {
            sum += (stations[i].base - base) * (stations[i].base - base) + n[i].inverse[2][2] * noise * noise;
            used++;
        }
    return clamp(sqrt(sum / fmax(1, used)), SPREAD_LEAST, SPREAD_MOST);
}

static void weigh(const fit *f, const sw_bin_light *bins, int i, int all)
{
    sw_stairs st;
    sw_stairs_build(&f->stations[i], f->light, bins, f->far_high, &st);
    st.sharp = (float)exp(-f->light->blur);
    st.reach = f->table->reach / st.sharp;
    if (all)
        sw_stairs_sum_all(f->table, &f->stations[i], &st, f->noise, &f->normals[i]);
    else
        sw_stairs_sum_own(f->table, &f->stations[i], &st, f->noise, &f->normals[i]);
    add_priors(&f->stations[i], f->light->base, f->spread, f->noise, &f->normals[i]);
    eliminate(&f->normals[i]);
}

static void move_light(sw_slot_light *light, const double step[SW_LIGHT_NUMBERS])
{
    light->base += step[SW_LIGHT_BASE];
    light->wall += step[SW_LIGHT_WALL];
    light->tangent += step[SW_LIGHT_TANGENT];
    light->reach += step[SW_LIGHT_REACH];
    light->near += step[SW_LIGHT_NEAR];
    light->blur += step[SW_LIGHT_BLUR];
}

/* The shared numbers, from the telling stations, whose own numbers are fitted on the way. */
static void fit_shared(fit *f, int rounds, double covariance[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS])
{
    for (int round = 0; round <= rounds; round++) {
        shared_system sys;
        double step[SW_LIGHT_NUMBERS];
        sw_bin_light bins;
        start_system(f, &sys);
        sw_light_bins(f->light, &bins);
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
static void fit_own(fit *f, const sw_bin_light *bins, int i, int rounds)
{
    const double held[SW_LIGHT_NUMBERS] = {0};
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
                double covariance[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS])
{
    fit f = {table, stations, NULL, count, far_high, prior, noise, prior->base_spread, 0, light};
    sw_bin_light bins;
    int teller = pick_tellers(&f);
    if (teller < 0)
        return -1;
    f.normals = calloc((size_t)count, sizeof *f.normals);
    if (!f.normals)
        return -2;
    fit_shared(&f, rounds, covariance);
    sw_light_bins(light, &bins);
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
