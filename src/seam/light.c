#include "seam/light.h"

#include <math.h>
#include <string.h>

#include "maths/lsq.h"

enum { N = SW_LIGHT_NUMBERS };

/* The wall just below a rim gets about half of the top's light or less, as half of its sky is the other wall; seen at
 * 0.5 to 0.65 on practice photos, at 0.3 to 0.4 on our own. */
static const double WALL = 0.4, WALL_SD = 0.1;
/* What is left of a lamp where none shines in: light passed to and fro, a lamp along the slot. Its depth, gaps, is
 * anybody's guess. */
static const double DIM_BASE = 0.04, DIM_BASE_SD = 0.07, DIM_DEPTH = 2.5, DIM_DEPTH_SD = 0.8;
/* Light that is the same all over a slot: little, unless its bottom shows. */
static const double EVEN = 0.02, EVEN_SD = 0.04;
/* A lamp's share of the light on the tops (relative spread); and how deep it shines: one gap where it stands 45 degrees
 * up. */
static const double LAMP_SHARE = 0.5, LAMP_SHARE_SD = 0.25, LIT_DEPTH = 0.9, LIT_DEPTH_SD = 0.7;
/* The lamp's share is missing from the sky's: a wall with half the rest, and what walls pass on. */
static const double LIT_WALL = 0.34, LIT_WALL_SD = 0.06;
/* In lit slots b jumps along the seam; a narrow slot cannot show it, and what seems to is the error of the edge
 * response. */
static const double BASE_SPREAD = 0.1, NARROW_SPREAD = 0.03, NARROW_SPREAD_SHARE = 0.1;
/* Far walls lean in a little, hand-cut foam by 0 to 2.5 degrees, each its own way; how steeply their light falls off is
 * not the model's to the last either (share of the view's tangent). And the least view tangent. */
static const double LEAN = 0.02, LEAN_SD = 0.015, TANGENT_SHARE_SD = 0.15, TANGENT_LEAST = 0.02;
/* Rims are a little softer than print, how much is the maker's hand. */
static const double BLUR = 0.018, BLUR_SD = 0.006;
/* A near wall is in sight only where the camera looks in less steeply than walls lean (a few degrees). */
static const double NEAR_SIGHT = 0.05, NEAR = 0.03, NEAR_SD = 0.012, NEAR_NONE = 0.004, NEAR_NONE_SD = 0.002;
/* How far slots that face the same way differ in their numbers (standard deviations; b also in proportion to itself).
 * Near walls have nothing to do with each other. */
static const double DIFFER[N] = {0.03, 0.035, 0.5, 0.25, 1e3, 0.02, 0.006}, DIFFER_SHARE = 0.15;

int sw_facing_of(const sw_trace *t, bool upright)
{
    bool far_high = (t->tangent >= 0) != t->reversed;
    return 2 * upright + far_high;
}

static double view_of(const sw_trace *t)
{
    return fmax(TANGENT_LEAST, fabs(t->tangent));
}

static void general_prior(const sw_trace *t, int supposition, bool narrow, sw_slot_prior *p)
{
    double view = view_of(t), near = NEAR_NONE, near_sd = NEAR_NONE_SD;
    if (view < NEAR_SIGHT) {
        near = NEAR * (1 - view / NEAR_SIGHT) + NEAR_NONE;
        near_sd = NEAR_SD;
    }
    *p = (sw_slot_prior){.mean = {{DIM_BASE, WALL, view + LEAN, log(DIM_DEPTH), near, EVEN, BLUR}},
                         .sd = {{DIM_BASE_SD, WALL_SD, hypot(LEAN_SD, TANGENT_SHARE_SD * view), DIM_DEPTH_SD, near_sd,
                                 EVEN_SD, BLUR_SD}},
                         .base_spread = narrow ? NARROW_SPREAD : BASE_SPREAD,
                         .spread_known = narrow};
    if (supposition == SW_DIM)
        return;
    /* b d = D: a brighter wall is lit less deep. */
    p->mean.base = LAMP_SHARE / LIT_DEPTH;
    p->mean.reach = log(LIT_DEPTH);
    p->sd.base = 1e3;
    p->sd.reach = LIT_DEPTH_SD;
    p->mean.wall = LIT_WALL;
    p->sd.wall = LIT_WALL_SD;
    p->lamp_share = LAMP_SHARE;
    p->lamp_share_sd = LAMP_SHARE_SD;
}

/* Adds the tie of b and d: where b is `base`, log b is about log base + (b - base) / base. */
static void add_tie(const sw_slot_prior *p, double base, double inverse[N][N], double side[N])
{
    if (!(p->lamp_share > 0))
        return;
    double weight = 1 / (p->lamp_share_sd * p->lamp_share_sd), b = fmax(SW_BASE_SOME, base),
           off = log(p->lamp_share) - log(b) + 1;
    inverse[SW_LIGHT_BASE][SW_LIGHT_BASE] += weight / (b * b);
    inverse[SW_LIGHT_BASE][SW_LIGHT_REACH] += weight / b;
    inverse[SW_LIGHT_REACH][SW_LIGHT_BASE] += weight / b;
    inverse[SW_LIGHT_REACH][SW_LIGHT_REACH] += weight;
    side[SW_LIGHT_BASE] += weight / b * off;
    side[SW_LIGHT_REACH] += weight * off;
}

/* A prior as inverse covariance P and P mean, the tangent turned into the logarithm of its share of the view's; d
 * tangent / d logarithm is `scale`. */
static void as_matrix(const sw_slot_prior *p, double view, double scale, bool tied, double base, double inverse[N][N],
                      double side[N])
{
    const double *sd = p->sd.number;
    double mean[N];
    memcpy(mean, p->mean.number, sizeof mean);
    memcpy(inverse, p->tie, sizeof p->tie);
    for (int a = 0; a < N; a++)
        inverse[a][a] += 1 / (sd[a] * sd[a]);
    for (int a = 0; a < N; a++) {
        inverse[a][SW_LIGHT_TANGENT] *= scale;
        inverse[SW_LIGHT_TANGENT][a] *= scale;
    }
    mean[SW_LIGHT_TANGENT] = log(p->mean.tangent / view);
    for (int a = 0; a < N; a++) {
        side[a] = 0;
        for (int b = 0; b < N; b++)
            side[a] += inverse[a][b] * mean[b];
    }
    if (tied)
        add_tie(p, base, inverse, side);
}

static void differences(double base, double v[N])
{
    for (int a = 0; a < N; a++)
        v[a] = DIFFER[a] * DIFFER[a];
    v[SW_LIGHT_BASE] += DIFFER_SHARE * DIFFER_SHARE * base * base;
}

/* inverse becomes the inverse of its own inverse plus v: known less well by v. */
static void loosen(double inverse[N][N], const double v[N])
{
    double a[N * N];
    memcpy(a, inverse, sizeof a);
    if (sw_cholesky_invert(a, N))
        return;
    for (int k = 0; k < N; k++)
        a[k * N + k] += v[k];
    if (!sw_cholesky_invert(a, N))
        memcpy(inverse, a, sizeof a);
}

void sw_light_prior(const sw_trace *t, int supposition, bool narrow, const sw_light_word *words, sw_slot_prior *prior)
{
    double inverse[N][N], mean[N], side[N], v[N], a[N * N], view = view_of(t);
    general_prior(t, supposition, narrow, prior);
    if (!words->slots)
        return;
    as_matrix(prior, view, prior->mean.tangent, false, 0, inverse, side);
    for (int i = 0; i < N; i++) {
        side[i] += words->vector[i];
        for (int j = 0; j < N; j++)
            a[i * N + j] = inverse[i][j] + words->matrix[i][j];
    }
    memcpy(inverse, a, sizeof a);
    if (sw_cholesky_solve(a, side, N))
        return;
    memcpy(mean, side, sizeof mean);
    differences(mean[SW_LIGHT_BASE], v);
    v[SW_LIGHT_TANGENT] = v[SW_LIGHT_NEAR] = 0; /* what is known of these is its own */
    loosen(inverse, v);
    mean[SW_LIGHT_TANGENT] = view * exp(mean[SW_LIGHT_TANGENT]);
    memcpy(prior->mean.number, mean, sizeof mean);
    prior->sd = (sw_slot_light){{1e3, 1e3, 1e3, 1e3, 1e3, 1e3, 1e3}};
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++)
            prior->tie[i][j] = inverse[i][j] / (i == SW_LIGHT_TANGENT ? mean[SW_LIGHT_TANGENT] : 1) /
                               (j == SW_LIGHT_TANGENT ? mean[SW_LIGHT_TANGENT] : 1);
    if (narrow)
        prior->base_spread = hypot(NARROW_SPREAD, NARROW_SPREAD_SHARE * mean[SW_LIGHT_BASE]);
}

/* J and J x become those of a word weaker by how much slots differ: (J^-1 + V)^-1 = (1 + J V)^-1 J, by Gauss-Jordan on
 * (1 + J V) y = (J, J x), as J may be singular. False, and
 * both left, when that is singular too. */
static bool weaken(double told[N][N], double side[N], const double v[N])
{
    double m[N][2 * N + 1];
    for (int i = 0; i < N; i++) {
        for (int j = 0; j < N; j++) {
            m[i][j] = (i == j) + told[i][j] * v[j];
            m[i][N + j] = told[i][j];
        }
        m[i][2 * N] = side[i];
    }
    for (int k = 0; k < N; k++) {
        int best = k;
        for (int i = k + 1; i < N; i++)
            best = fabs(m[i][k]) > fabs(m[best][k]) ? i : best;
        if (!(fabs(m[best][k]) > 1e-12))
            return false;
        for (int j = 0; best != k && j <= 2 * N; j++) {
            double swap = m[k][j];
            m[k][j] = m[best][j];
            m[best][j] = swap;
        }
        for (int i = 0; i < N; i++)
            for (int j = 2 * N; i != k && j >= k; j--)
                m[i][j] -= m[i][k] / m[k][k] * m[k][j];
    }
    for (int i = 0; i < N; i++) {
        side[i] = m[i][2 * N] / m[i][i];
        for (int j = 0; j < N; j++)
            told[i][j] = m[i][N + j] / m[i][i];
    }
    return true;
}

void sw_light_hear(const sw_trace *t, const sw_slot_prior *prior, const sw_slot_result *result, double weight,
                   sw_light_word *words)
{
    double before[N][N], before_side[N], now[N], v[N], told[N][N], side[N], c[N * N], view = view_of(t);
    as_matrix(prior, view, result->light.tangent, true, result->light.base, before, before_side);
    memcpy(now, result->light.number, sizeof now);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++)
            c[i * N + j] = result->covariance[i][j] / (i == SW_LIGHT_TANGENT ? now[SW_LIGHT_TANGENT] : 1) /
                           (j == SW_LIGHT_TANGENT ? now[SW_LIGHT_TANGENT] : 1);
    now[SW_LIGHT_TANGENT] = log(now[SW_LIGHT_TANGENT] / view);
    if (sw_cholesky_invert(c, N))
        return;
    /* What the samples alone say: J = C^-1 - P, J x = C^-1 now - P mean. A slot's near wall is its own. */
    for (int i = 0; i < N; i++) {
        side[i] = -before_side[i];
        for (int j = 0; j < N; j++) {
            told[i][j] = c[i * N + j] - before[i][j];
            side[i] += c[i * N + j] * now[j];
        }
    }
    differences(now[SW_LIGHT_BASE], v);
    if (!weaken(told, side, v))
        return;
    for (int i = 0; i < N; i++) {
        if (i == SW_LIGHT_NEAR)
            continue;
        words->vector[i] += weight * side[i];
        for (int j = 0; j < N; j++)
            if (j != SW_LIGHT_NEAR)
                words->matrix[i][j] += weight * told[i][j];
    }
    words->slots += weight > 0 ? 1 : -1;
}
