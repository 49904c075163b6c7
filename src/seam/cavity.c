#include "seam/cavity.h"

#include <math.h>
#include <string.h>

/* Where the bins begin and end, shares of the width from the far rim: fine where brightness changes fast. */
static const double CUTS[SW_BINS + 1] = {0, 0.025, 0.06, 0.1, 0.15, 0.21, 0.28, 0.38, 0.52, 0.72, 0.9, 0.96, 1};
/* The first part's depth and the last one's end, gaps: deeper than that it is dark. */
static const double FIRST_DEPTH = 0.06, LAST_DEPTH = 25;
/* Rounds of passing light to and fro: what is left after them is below 1e-3 for all but white. */
enum { ROUNDS = 8 };
/* No foam is whiter. */
static const double WHITEST = 0.9;
/* More than this share of a slot's width is no free wall, or the slot would be hidden. */
static const double FREE_MOST = 0.9;
/* Least depth to which a lamp counts as shining, gaps. */
static const double LAMP_LEAST = 0.01;
/* For the derivatives by differences. */
static const double STEP = 1e-3;
enum { N = SW_CAVITY_PARTS };

void sw_cavity_make(sw_cavity *c)
{
    for (int i = 0; i <= N; i++)
        c->depth[i] = i ? FIRST_DEPTH * pow(LAST_DEPTH / FIRST_DEPTH, (i - 1.0) / (N - 1)) : 0;
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) { /* crossed strings */
            double a0 = c->depth[i], a1 = c->depth[i + 1], b0 = c->depth[j], b1 = c->depth[j + 1];
            c->pass[i][j] =
                (hypot(1, a0 - b1) + hypot(1, a1 - b0) - hypot(1, a0 - b0) - hypot(1, a1 - b1)) / (2 * (a1 - a0));
        }
}

/* The mean of h(q / t) over the stretch from q0 to q1: h integrates to t (u + 1 - sqrt(1 + u^2)), u = q / t. */
static double sky_mean(double q0, double q1, double t)
{
    double u0 = q0 / t, u1 = q1 / t;
    return t * (u1 - u0 + sqrt(1 + u0 * u0) - sqrt(1 + u1 * u1)) / (q1 - q0);
}

/* Integral from 0 to x of the share of a lamp that is in sight x times as deep as where half of it is: in full down to 1 -
 * penumbra, then less and less, as more and more of the lamp (a window, a shade) hides behind the near rim. */
static double lamp_integral(double x, double penumbra)
{
    if (x <= 1 - penumbra)
        return x;
    double left = fmax(0, (1 + penumbra - x) / (2 * penumbra));
    return 1 - left * left * penumbra;
}

static double lamp_mean(double q0, double q1, double end, double penumbra)
{
    return end * (lamp_integral(q1 / end, penumbra) - lamp_integral(q0 / end, penumbra)) / (q1 - q0);
}

/* Radii of a wall's own rim and of the one across, in gaps. */
typedef struct rounding {
    double own, across;
} rounding;

/* The same beside round rims: a wall begins a radius below its top, and across it sees over a shoulder. */
static double round_sky_mean(double u0, double u1, const rounding *round)
{
    double sum = 0, off = round->own - round->across;
    for (int k = 0; k < 3; k++) { /* Simpson */
        double half = sw_round_horizon(u0 + (u1 - u0) * k / 2 + off, round->across);
        sum += (k == 1 ? 4 : 1) * 2 * half * half / (1 + half * half); /* 1 - cos */
    }
    return sum / 6;
}

/* How deep half of a lamp shines, gaps: its light touches the shoulder across. */
static double lamp_depth(double slant, const rounding *round)
{
    return fmax(LAMP_LEAST, 1 / slant + round->across * (1 - (sqrt(1 + slant * slant) - 1) / slant) - round->own);
}

/* Light that reaches a wall from outside, mean from depth q0 t to q1 t. */
static double direct(double sky, double share, double slant, double penumbra, const rounding *round, double t,
                     double q0, double q1)
{
    if (round->own > 0 || round->across > 0)
        return sky * round_sky_mean(q0 / t, q1 / t, round) +
               share * slant * lamp_mean(q0, q1, t * lamp_depth(slant, round), penumbra);
    return sky * sky_mean(q0, q1, t) + share * slant * lamp_mean(q0, q1, t / slant, penumbra);
}

typedef struct passed_light {
    double far[N], near[N];
} passed_light;

static void pass_on(const sw_cavity *c, const double direct_far[N], const double direct_near[N], double far,
                    double near, passed_light *p)
{
    memset(p, 0, sizeof *p);
    for (int round = 0; round < ROUNDS; round++)
        for (int side = 0; side < 2; side++) {
            const double *from = side ? p->far : p->near, *first = side ? direct_far : direct_near;
            double *to = side ? p->near : p->far;
            for (int i = 0; i < N; i++) {
                double sum = 0;
                for (int j = 0; j < N; j++)
                    sum += c->pass[i][j] * (first[j] + from[j]);
                to[i] = (side ? far : near) * sum;
            }
        }
}

/* What the other wall, of such albedo, passes to depth u: its parts as they are seen from there. */
static double at_depth(const sw_cavity *c, const double first[N], const double from[N], double albedo, double u)
{
    double sum = 0, before = -u / sqrt(1 + u * u);
    for (int j = 0; j < N; j++) {
        double z = c->depth[j + 1] - u, after = z / sqrt(1 + z * z);
        sum += (after - before) / 2 * (first[j] + from[j]);
        before = after;
    }
    return albedo * sum;
}

/* All light on both walls. */
typedef struct slot_light {
    double direct_far[N], direct_near[N], far_albedo, near_albedo;
    passed_light passed;
    rounding far_round, near_round; /* as the far wall and as the near one have them */
} slot_light;

/* The far wall's light, mean over the stretch from q0 to q1 of the level slot's width. */
static double far_mean(const sw_cavity *c, const sw_slot_light *l, const slot_light *a, double q0, double q1)
{
    return direct(l->wall, l->share, exp(l->slant), l->penumbra, &a->far_round, l->tangent, q0, q1) +
           at_depth(c, a->direct_near, a->passed.near, a->near_albedo, (q0 + q1) / 2 / l->tangent);
}

/* The far wall's light `up` gaps above the near top: half of the sky, the lamp, the near top, which ends a gap away, and what of the
 * near wall is in sight. */
static double free_at(const sw_cavity *c, const sw_slot_light *l, const slot_light *a, double up)
{
    return l->wall + l->share * exp(l->slant) + a->near_albedo / 2 * up / sqrt(1 + up * up) +
           at_depth(c, a->direct_near, a->passed.near, a->near_albedo, -up);
}

/* The same over a stretch of the width as seen. Where the far tile stands higher, the first `free` of that is its wall above
 * the near top; below begins the slot between them. Where it stands lower (free below 0), the slot begins above it. */
static double seen_mean(const sw_cavity *c, const sw_slot_light *l, const slot_light *a, double free, double q0,
                        double q1)
{
    double above = (fmin(q1, free) - fmin(q0, free)) / (q1 - q0), level = 1 - free;
    double sum = above > 0 ? above * free_at(c, l, a, (free - (q0 + fmin(q1, free)) / 2) / level / l->tangent) : 0;
    return above < 1 ? sum + (1 - above) * far_mean(c, l, a, (fmax(q0, free) - free) / level, (q1 - free) / level)
                     : sum;
}

/* The light on both shoulders. */
static void shoulder_levels(const sw_cavity *c, const sw_slot_light *l, const sw_slot_other *other, const slot_light *a,
                            double shoulder[2][SW_SHOULDER_BINS])
{
    const sw_shoulder_light near = {l->wall, other->share, other->slant, l->share, exp(l->slant), l->penumbra},
                            far = {l->wall, l->share, exp(l->slant), other->share, other->slant, l->penumbra};
    for (int k = 0; k < SW_SHOULDER_BINS; k++) {
        double bounced, up = cos(sw_shoulder_tilt(k + 0.5));
        shoulder[SW_NEAR][k] = sw_shoulder_lit(&near, k, a->near_round.own, a->near_round.across, &bounced);
        shoulder[SW_NEAR][k] +=
            bounced * at_depth(c, a->direct_far, a->passed.far, a->far_albedo, -up * a->near_round.own);
        shoulder[SW_FAR][k] = sw_shoulder_lit(&far, k, a->far_round.own, a->far_round.across, &bounced);
        shoulder[SW_FAR][k] +=
            bounced * at_depth(c, a->direct_near, a->passed.near, a->near_albedo, -up * a->far_round.own);
    }
}

static void levels(const sw_cavity *c, const sw_slot_light *l, const sw_slot_other *other, double far[SW_BINS],
                   double near[SW_BINS], double shoulder[2][SW_SHOULDER_BINS])
{
    double uneven = sqrt(other->top_ratio), free = fmin(FREE_MOST, l->tangent * other->free_depth);
    slot_light a = {.far_albedo = fmin(WHITEST, l->albedo / uneven), .near_albedo = fmin(WHITEST, l->albedo * uneven)};
    if (other->width_mm > 0) {
        a.far_round = (rounding){l->round_far / other->width_mm, l->round_near / other->width_mm};
        a.near_round = (rounding){a.far_round.across, a.far_round.own};
    }
    for (int i = 0; i < N; i++) {
        double d0 = c->depth[i], d1 = c->depth[i + 1];
        a.direct_far[i] = direct(l->wall, l->share, exp(l->slant), l->penumbra, &a.far_round, 1, d0, d1);
        a.direct_near[i] = direct(l->wall, other->share, other->slant, l->penumbra, &a.near_round, 1, d0, d1);
    }
    pass_on(c, a.direct_far, a.direct_near, a.far_albedo, a.near_albedo, &a.passed);
    for (int k = 0; k < SW_BINS; k++) {
        double q0 = CUTS[k], q1 = CUTS[k + 1];
        far[k] = seen_mean(c, l, &a, free, q0, q1) + l->even;
        near[k] = direct(l->wall, other->share, other->slant, l->penumbra, &a.near_round, l->near, 1 - q1, 1 - q0) +
                  at_depth(c, a.direct_far, a.passed.far, a.far_albedo, (1 - (q0 + q1) / 2) / l->near);
    }
    if (other->width_mm > 0)
        shoulder_levels(c, l, other, &a, shoulder);
}

void sw_light_bins(const sw_cavity *cavity, const sw_slot_light *light, const sw_slot_other *other, sw_bin_light *out)
{
    double shoulder[2][SW_SHOULDER_BINS] = {{0}}, moved_shoulder[2][SW_SHOULDER_BINS] = {{0}};
    out->cuts = CUTS;
    out->round = other->width_mm > 0;
    levels(cavity, light, other, out->far, out->near, shoulder);
    for (int side = 0; side < 2; side++) {
        out->shoulder[side].radius_mm = side == SW_FAR ? light->round_far : light->round_near;
        for (int k = 0; k < SW_SHOULDER_BINS; k++) {
            out->shoulder[side].level[k] = shoulder[side][k];
            out->shoulder[side].begins[k] = sw_shoulder_begins(k, light->tangent, side == SW_FAR);
        }
    }
    for (int p = 0; p < SW_LIGHT_BLUR; p++) {
        double far[SW_BINS], near[SW_BINS];
        sw_slot_light moved = *light;
        double step = p == SW_LIGHT_NEAR || p == SW_LIGHT_TANGENT ? STEP * moved.number[p] : STEP;
        moved.number[p] += step;
        levels(cavity, &moved, other, far, near, moved_shoulder);
        for (int k = 0; k < SW_BINS; k++) {
            out->far_by[k][p] = (far[k] - out->far[k]) / step;
            out->near_by[k][p] = (near[k] - out->near[k]) / step;
        }
        for (int side = 0; side < 2; side++)
            for (int k = 0; k < SW_SHOULDER_BINS; k++)
                out->shoulder[side].by[k][p] = (moved_shoulder[side][k] - shoulder[side][k]) / step;
    }
}
