/* slot.h - the brightness across a seam, as a model with three numbers a station and six a seam.
 *
 *     T_low |   slot   | T_high      crossing coordinate grows to the right, px
 *     ------+          +------
 *           |\       __|             far rim: the rim farther from the camera; below it the camera sees the far wall
 *           | \__.--'                near rim: sharp, the slot behind it is dark
 *          low        high
 *
 * From the far rim inwards, q = distance / width runs from 0 to 1, and the slot's brightness is
 *     S(q) = T_far (b l(u / d) + a h(u) + e) + T_near a h((1 - q) / t_near),  u = q / t,  h(u) = 1 - u / sqrt(1 + u^2)
 * u is the depth of what is seen of the wall over the gap, t the tangent of the view angle across the seam plus the
 * wall's lean. h is the share of open sky that a point of the wall at depth z sees in a long slot of width g, u = z / g
 * (its view factor to the opening, twice (1 - z / sqrt(z^2 + g^2)) / 2); a is how much of the top's light a wall with
 * half the sky gets. b is a lamp that shines across the slot onto its far wall, down to d gaps below the rim; l falls
 * from 1 to 0 about there, as more and more of the lamp hides behind the near rim (stairs.c). e is light that is the
 * same all over: the bottom of the slot, haze in the lens. A lamp whose horizontal way to its height, taken across the
 * seam, is s : 1 reaches down to d = 1 / s and lights the wall with b = D s, D its share of the light on the top; so b
 * d = D for all walls of a photo that one lamp lights. In lit slots b jumps along the seam between light and shadow, so
 * every station has its own b, drawn from the seam's mean and spread: where the slot is wide enough to look into, the
 * station's samples decide, elsewhere the mean does. The whole is blurred by the photo's own edge response. All in
 * linear light.
 */
#ifndef SW_SEAM_SLOT_H
#define SW_SEAM_SLOT_H

#include "seamwright/scale.h"

/* Response to a sharp unit step: value and slope on a grid of 1 / PER px, for a crossing slanted by cos `stretch`. */
enum { SW_EDGE_PER = 32, SW_EDGE_REACH = 8, SW_EDGE_GRID = 2 * SW_EDGE_PER * SW_EDGE_REACH + 2 };
typedef struct sw_edge_node {
    float value, value_by; /* and its change to the next node */
    float slope, slope_by;
} sw_edge_node;
typedef struct sw_edge_table {
    sw_edge_node node[SW_EDGE_GRID];
    float reach; /* px from the edge beyond which nothing more is seen of it */
} sw_edge_table;

/* Value and slope at x px from the edge. */
static inline float sw_edge_at(const sw_edge_table *t, float x, float *slope)
{
    float at = (x + SW_EDGE_REACH) * SW_EDGE_PER;
    at = at < 0 ? 0 : at > SW_EDGE_GRID - 2 ? SW_EDGE_GRID - 2 : at;
    int i = (int)at;
    const sw_edge_node *n = &t->node[i];
    float part = at - (float)i;
    *slope = n->slope + part * n->slope_by;
    return n->value + part * n->value_by;
}

void sw_edge_table_make(double blur_px, double halo, double stretch, sw_edge_table *table);

/* What is shared along a seam. As an array of numbers it has this order. */
enum {
    SW_LIGHT_BASE,
    SW_LIGHT_WALL,
    SW_LIGHT_TANGENT,
    SW_LIGHT_REACH,
    SW_LIGHT_NEAR,
    SW_LIGHT_EVEN,
    SW_LIGHT_BLUR,
    SW_LIGHT_NUMBERS
};
typedef struct sw_slot_light {
    double base;    /* mean of the stations' own b */
    double wall;    /* a */
    double tangent; /* t */
    double reach;   /* logarithm of d */
    double near; /* t of the near wall, in sight only when it leans out more than the camera looks in; else next to 0 */
    double even; /* e */
    double blur; /* logarithm of the rims' blur over that of the card's edges: cut rims are rounder and rougher than
                    print */
} sw_slot_light;

/* Sampled brightness of one station: samples of a few neighbouring pixel lines. x is relative to the station's own
 * origin. */
enum { SW_SLOT_SAMPLES = 320 };
typedef struct sw_slot_station {
    int count;
    float *x, *v;         /* place (px) and linear light; owned by the caller */
    double low, high;     /* levels of the tops beside the slot */
    double centre, width; /* fitted, px along the crossing; width may come out slightly negative at a closed seam */
    double base;          /* fitted, its own b */
    double centre_prior, centre_prior_sd;
    double start_centre, start_width; /* where the fit began; set by it */
    double width_least, width_most;   /* px; farther off no width is looked for */
    double variance[3]; /* of (centre, width): cc, cw, ww, from this station's samples and its b; shared numbers held */
    double shared[SW_LIGHT_NUMBERS]; /* d width / d (the shared numbers) */
    double rms;                      /* robust residual, linear light */
    int used;                        /* 0: not read (under a card, outside the photo) */
    int aside;                       /* 1: a chip, a crossing seam: tells nothing of the light */
    int tells;                       /* set by the fit: 1 when the shared numbers come from it and its like */
} sw_slot_station;

/* A b under this is nearly none; below it the logarithm of b d is not followed. */
#define SW_BASE_SOME 0.1

/* Prior of the shared numbers: mean, standard deviation and what ties them to each other (added to the inverse of their
 * covariance); and the spread of the stations' b about their mean. */
typedef struct sw_slot_prior {
    sw_slot_light mean, sd;
    double tie[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS];
    double lamp_share, lamp_share_sd; /* b d, and the standard deviation of its logarithm; 0: nothing is known of it */
    double base_spread;
    int spread_known; /* 1: keep it; 0: it is only where to start, the stations tell (slots wide enough to look into) */
} sw_slot_prior;

/* What a fit tells beside the stations. */
typedef struct sw_slot_result {
    sw_slot_light light;
    double covariance[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS]; /* of the shared numbers */
    double
        evidence; /* logarithm of how well model and prior explain the samples: compare fits of the same samples only */
} sw_slot_result;

/* Numbers as an array, in the order of SW_LIGHT_*, and back. */
void sw_slot_numbers(const sw_slot_light *light, double numbers[SW_LIGHT_NUMBERS]);
void sw_slot_light_of(const double numbers[SW_LIGHT_NUMBERS], sw_slot_light *light);

/* Fits all stations and the shared numbers together, starting at the stations' centre and width and result->light.
 * far_high: 1 when the far rim is the one at the higher coordinate. noise is the standard deviation of a sample, linear
 * light. Rounds end early when nothing moves any more. With all 0 only the telling stations are fitted, which is enough
 * for the shared numbers. Returns 0, -1 when no station is used, -2 when memory is out. */
int sw_slot_fit(const sw_edge_table *table, sw_slot_station *stations, int count, int far_high,
                const sw_slot_prior *prior, double noise, int rounds, int all, sw_slot_result *result);

#endif
