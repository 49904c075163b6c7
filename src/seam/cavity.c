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
/* At least this share of a slot counts as in sight. */
static const double OPEN_LEAST = 0.02;
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

/* All light on both walls. Depths count from the lower top, in gaps; the wall of the lower tile (far: rise below 0) sees past a rim
 * that stands |rise| higher, and gets light from the other wall's free part. */
typedef struct slot_light {
    double direct_far[N], direct_near[N], far_albedo, near_albedo;
    double rise, other_share, other_slant;
    double free;                    /* light on the wall that stands free */
    rounding far_round, near_round; /* as the far wall and as the near one have them */
    passed_light passed;
} slot_light;

/* Light of the free part of the opposite wall at the depth u of the lower one. */
static double from_free(const slot_light *a, double u)
{
    double up = u + fabs(a->rise), albedo = a->rise > 0 ? a->far_albedo : a->near_albedo;
    return albedo * a->free / 2 * (up / sqrt(1 + up * up) - u / sqrt(1 + u * u));
}

/* Light that comes to the near wall (or the far one) from outside, mean from depth u0 to u1 gaps. */
static double on_near(const sw_slot_light *l, const slot_light *a, double t, double q0, double q1)
{
    double down = fmax(0, a->rise) * t,
           sum = direct(l->wall, a->other_share, a->other_slant, l->penumbra, &a->near_round, t, q0 + down, q1 + down);
    return a->rise > 0 ? sum + from_free(a, (q0 + q1) / 2 / t) : sum;
}

static double on_far(const sw_slot_light *l, const slot_light *a, double t, double q0, double q1)
{
    double down = fmax(0, -a->rise) * t,
           sum = direct(l->wall, l->share, exp(l->slant), l->penumbra, &a->far_round, t, q0 + down, q1 + down);
    return a->rise < 0 ? sum + from_free(a, (q0 + q1) / 2 / t) : sum;
}

/* The far wall's light, mean over the stretch from q0 to q1 of the slot's width. */
static double far_mean(const sw_cavity *c, const sw_slot_light *l, const slot_light *a, double q0, double q1)
{
    return on_far(l, a, l->tangent, q0, q1) +
           at_depth(c, a->direct_near, a->passed.near, a->near_albedo, (q0 + q1) / 2 / l->tangent);
}

/* The far wall's light `up` gaps above the near top: half of the sky, the lamp, the near top, which ends a gap away (and lies in
 * the step's own shade), and what of the near wall is in sight. */
static double free_at(const sw_cavity *c, const sw_slot_light *l, const slot_light *a, double up)
{
    return l->wall + l->share * exp(l->slant) + (1 - a->other_share) * a->near_albedo / 2 * up / sqrt(1 + up * up) +
           at_depth(c, a->direct_near, a->passed.near, a->near_albedo, -up);
}

/* The light on both shoulders. */
static void shoulder_levels(const sw_cavity *c, const sw_slot_light *l, const slot_light *a,
                            double shoulder[2][SW_SHOULDER_BINS])
{
    const sw_shoulder_light near = {l->wall, a->other_share, a->other_slant, l->share, exp(l->slant), l->penumbra},
                            far = {l->wall, l->share, exp(l->slant), a->other_share, a->other_slant, l->penumbra};
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

/* The brightness of bins and faces. */
typedef struct level_set {
    double far[SW_BINS], near[SW_BINS], face[SW_FACES], shoulder[2][SW_SHOULDER_BINS];
} level_set;

static slot_light walls_of(const sw_slot_light *l, const sw_slot_other *other)
{
    double uneven = sqrt(other->top_ratio);
    slot_light a = {.far_albedo = fmin(WHITEST, l->albedo / uneven),
                    .near_albedo = fmin(WHITEST, l->albedo * uneven),
                    .other_share = other->share,
                    .other_slant = other->slant};
    if (other->gap_mm > 0) {
        a.rise = l->step / other->gap_mm;
        a.other_share = l->other_share;
        a.other_slant = exp(l->other_slant);
    }
    if (other->width_mm > 0) {
        a.far_round = (rounding){l->round_far / other->width_mm, l->round_near / other->width_mm};
        a.near_round = (rounding){a.far_round.across, a.far_round.own};
    }
    a.free = a.rise > 0 ? l->wall + l->share * exp(l->slant) + (1 - a.other_share) * a.near_albedo / 2
                        : l->wall + a.other_share * a.other_slant + (1 - l->share) * a.far_albedo / 2;
    return a;
}

static void levels(const sw_cavity *c, const sw_slot_light *l, const sw_slot_other *other, level_set *out)
{
    slot_light a = walls_of(l, other);
    double open = a.rise < 0 ? fmax(OPEN_LEAST, 1 + a.rise * l->tangent) : 1; /* share of the slot that is in sight */
    for (int i = 0; i < N; i++) {
        a.direct_far[i] = on_far(l, &a, 1, c->depth[i], c->depth[i + 1]);
        a.direct_near[i] = on_near(l, &a, 1, c->depth[i], c->depth[i + 1]);
    }
    pass_on(c, a.direct_far, a.direct_near, a.far_albedo, a.near_albedo, &a.passed);
    for (int k = 0; k < SW_BINS; k++) {
        double q0 = CUTS[k] * open, q1 = CUTS[k + 1] * open;
        out->far[k] = far_mean(c, l, &a, q0, q1) + l->even;
        out->near[k] = on_near(l, &a, l->near, 1 - q1, 1 - q0) +
                       at_depth(c, a.direct_far, a.passed.far, a.far_albedo, (1 - (q0 + q1) / 2) / l->near);
    }
    for (int k = 0; k < SW_FACES && a.rise > 0; k++)
        out->face[k] = free_at(c, l, &a, a.rise * (k + 0.5) / SW_FACES);
    if (other->width_mm > 0)
        shoulder_levels(c, l, &a, out->shoulder);
}

static void start_shoulder(const sw_slot_light *light, const double level[SW_SHOULDER_BINS], int side, sw_shoulder *out)
{
    out->radius_mm = side == SW_FAR ? light->round_far : light->round_near;
    for (int k = 0; k < SW_SHOULDER_BINS; k++) {
        out->level[k] = level[k];
        out->begins[k] = sw_shoulder_begins(k, light->tangent, side == SW_FAR);
    }
}

void sw_light_bins(const sw_cavity *cavity, const sw_slot_light *light, const sw_slot_other *other, sw_bin_light *out)
{
    level_set now = {0};
    int numbers = other->gap_mm > 0 ? SW_SLOT_NUMBERS : SW_LIGHT_BLUR;
    out->cuts = CUTS;
    out->stepped = false;
    levels(cavity, light, other, &now);
    memcpy(out->far, now.far, sizeof out->far);
    memcpy(out->near, now.near, sizeof out->near);
    memcpy(out->face, now.face, sizeof out->face);
    out->round = other->width_mm > 0;
    for (int side = 0; side < 2 && out->round; side++)
        start_shoulder(light, now.shoulder[side], side, &out->shoulder[side]);
    for (int p = 0; p < numbers; p++) {
        level_set then = {0};
        sw_slot_light moved = *light;
        double step = p == SW_LIGHT_NEAR || p == SW_LIGHT_TANGENT ? STEP * moved.number[p] : STEP;
        moved.number[p] += step;
        levels(cavity, &moved, other, &then);
        for (int k = 0; k < SW_BINS; k++) {
            out->far_by[k][p] = (then.far[k] - now.far[k]) / step;
            out->near_by[k][p] = (then.near[k] - now.near[k]) / step;
        }
        for (int k = 0; k < SW_FACES; k++)
            out->face_by[k][p] = (then.face[k] - now.face[k]) / step;
        for (int side = 0; side < 2 && out->round && p < SW_LIGHT_BLUR; side++)
            for (int k = 0; k < SW_SHOULDER_BINS; k++)
                out->shoulder[side].by[k][p] = (then.shoulder[side][k] - now.shoulder[side][k]) / step;
    }
}
