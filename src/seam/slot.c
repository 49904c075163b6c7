#include "seam/slot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "seam/stairs.h"

const double SW_SLOT_LEAST[SW_SLOT_NUMBERS] = {0, 0.05, 0.01, -3, 0.002, 0, 0.05, -0.02, -0.15, -30, 0, 0, 0, -3},
             SW_SLOT_MOST[SW_SLOT_NUMBERS] = {0.95, 0.8, 0.6, 1.1, 0.2, 0.9, 0.95, 0.5, 0.6, 30, 3, 3, 0.95, 1.1};
/* The stations of a seam all see the same wrongs of the model (edge response, fading of the wall), so together they
 * tell less of the shared numbers than their count says: their word is discounted as if the noise were this many times
 * larger. */
static const double DISCOUNT = 5;
/* Where a lamp is supposed on the far wall, its rim may lie far from the start and looks like an outlier there: in the
 * first rounds this many times more counts as noise than does. Elsewhere that only lets the fit of a wide slot run off
 * (study_bound: 1 seam in 24 of 12 px, wrong by 0.8 px). */
enum { LOOSE_ROUNDS = 3 };
static const double LOOSE[LOOSE_ROUNDS] = {10, 5, 2};
/* Steps that go to and fro are shortened, down to this. */
static const double PACE_LEAST = 0.2;
/* The edge table ends about this many blurs from the edge. */
static const double EDGE_REACH_BLURS = 3.3;
/* Largest change of a shared number in one round. */
static const double SHARED_STEP[SW_SLOT_NUMBERS] = {0.1,  0.1,  0.05, 0.3, 0.02, 0.1, 0.2,
                                                    0.05, 0.05, 0.5,  0.1, 0.1,  0.1, 0.3};
/* A width over this, px, is no seam; only keeps the equations regular. */
static const double WIDEST = 30;
/* Where one looks into the slot, neighbouring stations tell the shared numbers much the same, so one in TELLING does,
 * as long as at least TELLERS do. In a slot too narrow for that each tells next to nothing, and all are needed. */
enum { TELLING = 4, TELLERS = 40 };
/* To tell of the light so many of them will do. */
enum { LISTENED = 24 };
/* A gap beside a step counts as no narrower, mm. */
static const double GAP_LEAST_MM = 0.1;
/* A slot between round rims counts as no narrower than this, mm: a feather's breadth; light falls in over the shoulders. */
static const double LEAST_WIDTH_MM = 0.05;
/* Largest change of centre and width in one round, px. */
static const double STEP_MOST = 1.0;
/* Rounds end when no station's width and no shared number moves by more than this (px; or this share of a full step).
 */
static const double SETTLED = 2e-3, LISTENING_SETTLED = 6e-3;

/* The priors of a station: its centre near the path, its width finite. */
static void add_priors(const sw_slot_station *s, double noise, sw_slot_normal *n)
{
    double v = noise * noise, centre = v / (s->centre_prior_sd * s->centre_prior_sd);
    n->own[0][0] += centre;
    n->own_side[0] += centre * (s->centre_prior - s->centre);
    n->own[1][1] += v / (WIDEST * WIDEST);
}

static void eliminate(sw_slot_normal *n, int numbers)
{
    double a[SW_OWN * SW_OWN];
    for (int i = 0; i < SW_OWN; i++)
        for (int j = 0; j < SW_OWN; j++)
            a[i * SW_OWN + j] = n->own[i > j ? i : j][i > j ? j : i];
    if (sw_cholesky_invert(a, SW_OWN))
        memset(a, 0, sizeof a);
    for (int i = 0; i < SW_OWN; i++)
        for (int p = 0; p < numbers; p++) {
            n->ratio[i][p] = 0;
            for (int j = 0; j < SW_OWN; j++) {
                n->inverse[i][j] = a[i * SW_OWN + j];
                n->ratio[i][p] += a[i * SW_OWN + j] * n->cross[j][p];
            }
        }
}

/* A fit at work. */
typedef struct slot_fit {
    const sw_cavity *cavity;
    const sw_edge_table *table;
    sw_slot_station *stations;
    sw_slot_normal *normals;
    int count, numbers; /* numbers: of the shared ones so many are fitted */
    bool far_high, loose, all;
    const sw_slot_prior *prior;
    sw_slot_other other; /* the prior's, with the tops' ratio */
    double noise;
    double discount2; /* see DISCOUNT; less in proportion where only some stations tell */
    double blurs;     /* about how many the slot is wide */
    sw_slot_light *light;
} slot_fit;

typedef struct shared_system {
    double a[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS], side[SW_SLOT_NUMBERS];
} shared_system;

static void start_system(const slot_fit *f, shared_system *sys)
{
    double v = f->discount2 * f->noise * f->noise;
    for (int p = 0; p < f->numbers; p++) {
        sys->side[p] = 0;
        for (int q = 0; q < f->numbers; q++) {
            sys->a[p][q] = v * f->prior->inverse[p][q];
            sys->side[p] += sys->a[p][q] * (f->prior->mean.number[q] - f->light->number[q]);
        }
    }
}

static void add_station(const sw_slot_normal *n, int numbers, shared_system *sys)
{
    for (int p = 0; p < numbers; p++) {
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
static void solve_shared(const slot_fit *f, const shared_system *sys, double step[SW_SLOT_NUMBERS],
                         double covariance[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS])
{
    double a[SW_SLOT_NUMBERS * SW_SLOT_NUMBERS];
    int n = f->numbers;
    for (int p = 0; p < n; p++)
        for (int q = 0; q < n; q++)
            a[p * n + q] = p >= q ? sys->a[p][q] : sys->a[q][p];
    if (sw_cholesky_invert(a, (size_t)n))
        memset(a, 0, sizeof a);
    memset(covariance, 0, sizeof *covariance * SW_SLOT_NUMBERS);
    for (int p = 0; p < n; p++) {
        step[p] = 0;
        for (int q = 0; q < n; q++) {
            step[p] += a[p * n + q] * sys->side[q];
            covariance[p][q] = a[p * n + q] * f->noise * f->noise * f->discount2;
        }
    }
    const double *now = f->light->number;
    for (int p = 0; p < n; p++)
        step[p] =
            clamp(now[p] + clamp(step[p], -SHARED_STEP[p], SHARED_STEP[p]), SW_SLOT_LEAST[p], SW_SLOT_MOST[p]) - now[p];
}

/* Returns how far centre or width moved, px. */
static double move_station(sw_slot_station *s, const sw_slot_normal *n, int numbers, const double *step)
{
    double d[SW_OWN];
    for (int i = 0; i < SW_OWN; i++) {
        d[i] = 0;
        for (int j = 0; j < SW_OWN; j++)
            d[i] += n->inverse[i][j] * n->own_side[j];
        for (int p = 0; p < numbers; p++)
            d[i] -= n->ratio[i][p] * step[p];
    }
    double width = s->width, centre = clamp(d[0], -STEP_MOST, STEP_MOST);
    s->centre += centre;
    s->width = clamp(width + clamp(d[1], -STEP_MOST, STEP_MOST), s->width_least, s->width_most);
    return fmax(fabs(centre), fabs(s->width - width));
}

/* The shared numbers' pull on the width is that of a telling station nearby. */
static void note_variances(sw_slot_station *s, const sw_slot_normal *n, const sw_slot_normal *teller, double noise)
{
    double v = noise * noise;
    s->rms = sqrt(n->squares / fmax(n->weight, 1));
    s->variance[0] = n->inverse[0][0] * v;
    s->variance[1] = n->inverse[0][1] * v;
    s->variance[2] = n->inverse[1][1] * v;
    for (int p = 0; p < SW_SLOT_NUMBERS; p++)
        s->shared[p] = -teller->ratio[1][p];
}

/* looseness: see LOOSE. */
static void weigh(const slot_fit *f, const sw_bin_light *bins, int i, bool all, double looseness)
{
    sw_stairs st;
    st.shaped = f->prior->shaped && all;
    sw_stairs_build(&f->stations[i], bins, f->far_high, f->prior->px_per_mm, &st);
    st.sharp = (float)exp(-f->light->blur);
    st.reach = f->table->reach / st.sharp;
    (all ? sw_stairs_sum_all : sw_stairs_sum_own)(f->table, &f->stations[i], &st, looseness * f->noise, &f->normals[i]);
    add_priors(&f->stations[i], f->noise, &f->normals[i]);
    eliminate(&f->normals[i], f->numbers);
}

/* How much lighter the near top is than the far one. */
static double top_ratio(const slot_fit *f)
{
    double low = 0, high = 0;
    for (int i = 0; i < f->count; i++)
        if (f->stations[i].used) {
            low += f->stations[i].low;
            high += f->stations[i].high;
        }
    return low > 0 && high > 0 ? (f->far_high ? low / high : high / low) : 1;
}

/* Mean width of the used stations as they are, px along the crossing. */
static double width_of(const slot_fit *f)
{
    double sum = 0, used = 0;
    for (int i = 0; i < f->count; i++)
        if (f->stations[i].used) {
            sum += fabs(f->stations[i].width);
            used++;
        }
    return fmax(0.1, sum / fmax(1, used));
}

/* The slot's brightness in the light as it is now. */
static void light_up(slot_fit *f, sw_bin_light *bins)
{
    const sw_slot_prior *p = f->prior;
    double width_mm = p->px_per_mm > 0 ? width_of(f) / p->px_per_mm : 0;
    f->other.width_mm = p->round ? fmax(LEAST_WIDTH_MM, width_mm) : 0;
    f->other.gap_mm = p->stepped ? fmax(GAP_LEAST_MM, width_mm - f->light->step * p->view) : 0;
    sw_light_bins(f->cavity, f->light, &f->other, bins);
    bins->stepped = p->stepped;
    if (p->stepped)
        sw_stepped_light(f->light, p->view, p->px_per_mm, &bins->step);
}

/* The shared numbers, from the telling stations, whose own numbers are fitted on the way. */
static void fit_shared(slot_fit *f, int rounds, double covariance[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS])
{
    bool settled = false;
    double last[SW_SLOT_NUMBERS] = {0}, pace = 1;
    for (int round = 0;; round++) {
        shared_system sys;
        double step[SW_SLOT_NUMBERS], most = 0, turn = 0;
        sw_bin_light bins;
        start_system(f, &sys);
        light_up(f, &bins);
        for (int i = 0; i < f->count; i++)
            if (f->stations[i].tells) {
                weigh(f, &bins, i, true, f->loose && round < LOOSE_ROUNDS ? LOOSE[round] : 1);
                add_station(&f->normals[i], f->numbers, &sys);
            }
        solve_shared(f, &sys, step, covariance);
        if (round == rounds || settled)
            break;
        for (int p = 0; p < f->numbers; p++)
            turn += step[p] * last[p] / (SHARED_STEP[p] * SHARED_STEP[p]);
        pace = turn < 0 ? fmax(PACE_LEAST, pace / 2) : fmin(1, pace * 1.5);
        for (int p = 0; p < f->numbers; p++)
            last[p] = step[p] *= pace;
        for (int i = 0; i < f->count; i++)
            if (f->stations[i].tells)
                most = fmax(most, move_station(&f->stations[i], &f->normals[i], f->numbers, step));
        for (int p = 0; p < f->numbers; p++) {
            f->light->number[p] += step[p];
            most = fmax(most, fabs(step[p]) / SHARED_STEP[p]);
        }
        settled = most < (f->all ? SETTLED : LISTENING_SETTLED) && (!f->loose || round >= LOOSE_ROUNDS);
    }
}

/* What is left over, and how far the shared numbers went from what was believed of them. */
static double cost_of(const slot_fit *f)
{
    double cost = 0;
    for (int p = 0; p < f->numbers; p++)
        for (int q = 0; q < f->numbers; q++)
            cost += (f->light->number[p] - f->prior->mean.number[p]) * f->prior->inverse[p][q] *
                    (f->light->number[q] - f->prior->mean.number[q]);
    for (int i = 0; i < f->count; i++)
        if (f->stations[i].tells)
            cost += f->normals[i].cost / f->discount2;
    return cost / 2;
}

/* A station that was not fitted yet, with the shared numbers held; it starts as far off its rough place as a telling
 * one nearby ended. */
static void fit_own(slot_fit *f, const sw_bin_light *bins, int i, int teller, int rounds)
{
    sw_slot_station *s = &f->stations[i];
    const sw_slot_station *near = &f->stations[teller];
    s->centre += near->centre - near->start_centre;
    s->width = clamp(s->width + near->width - near->start_width, s->width_least, s->width_most);
    for (int round = 0; round < rounds; round++) {
        weigh(f, bins, i, false, 1);
        if (move_station(&f->stations[i], &f->normals[i], 0, NULL) < SETTLED)
            break;
    }
}

/* Picks the telling stations, evenly spread over the used ones. Returns the first one's index, -1 when there is none.
 */
static int pick_tellers(slot_fit *f)
{
    int used = 0, told = 0, first = -1;
    for (int i = 0; i < f->count; i++)
        used += f->stations[i].used && !f->stations[i].aside;
    bool any = used > 0; /* else they have to tell it all the same */
    for (int i = 0; i < f->count && !any; i++)
        used += f->stations[i].used;
    int every = f->blurs < SW_WIDE_BLURS || used < TELLERS ? 1 : used / TELLERS > TELLING ? TELLING : used / TELLERS;
    every = !f->all && used / LISTENED > every ? used / LISTENED : every;
    for (int i = 0, at = 0; i < f->count; i++) {
        sw_slot_station *s = &f->stations[i];
        s->start_centre = s->centre;
        s->start_width = s->width;
        s->tells = s->used && !(any && s->aside) && at++ % every == 0;
        told += s->tells;
        first = s->tells && first < 0 ? i : first;
    }
    f->discount2 = DISCOUNT * DISCOUNT * told / fmax(1, used);
    return first;
}

sw_status sw_slot_fit(const sw_cavity *cavity, const sw_edge_table *table, sw_slot_station *stations, int count,
                      bool far_high, bool loose, const sw_slot_prior *prior, double noise, int rounds, bool all,
                      sw_slot_result *result)
{
    slot_fit f = {.cavity = cavity,
                  .table = table,
                  .stations = stations,
                  .count = count,
                  .numbers = prior->shaped ? SW_SLOT_NUMBERS : SW_LIGHT_NUMBERS,
                  .far_high = far_high,
                  .loose = loose,
                  .all = all,
                  .prior = prior,
                  .noise = noise,
                  .light = &result->light};
    sw_bin_light bins;
    f.blurs = width_of(&f) / fmax(0.1, table->reach / EDGE_REACH_BLURS);
    f.other = prior->other;
    f.other.top_ratio = top_ratio(&f);
    int teller = pick_tellers(&f);
    if (teller < 0)
        return SW_NOT_FOUND;
    f.normals = calloc((size_t)count, sizeof *f.normals);
    if (!f.normals)
        return SW_NO_MEMORY;
    fit_shared(&f, rounds, result->covariance);
    result->cost = cost_of(&f);
    light_up(&f, &bins);
    for (int i = 0; i < count; i++) {
        if (!stations[i].used || (!all && !stations[i].tells))
            continue;
        if (stations[i].tells)
            teller = i;
        else
            fit_own(&f, &bins, i, teller, rounds);
        note_variances(&stations[i], &f.normals[i], &f.normals[teller], noise);
        if (bins.stepped)
            stations[i].missing = sw_stepped_missing(&stations[i], &bins, far_high);
    }
    free(f.normals);
    return SW_OK;
}
