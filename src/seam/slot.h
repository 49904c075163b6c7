/* slot.h - the slot model fitted to the brightness across a seam. */
#ifndef SW_SEAM_SLOT_H
#define SW_SEAM_SLOT_H

#include "seam/edge_table.h"
#include "seam/slot_model.h"
#include "seamwright/status.h"

/* A b under this is nearly none; below it the logarithm of b d is not followed. */
#define SW_BASE_SOME 0.1

/* Prior of the shared numbers: mean, standard deviation and what ties them to each other (added to the inverse of their
 * covariance); and the spread of the stations' b about their mean. */
typedef struct sw_slot_prior {
    sw_slot_light mean, sd;
    double tie[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS];
    double lamp_share, lamp_share_sd; /* b d, and the standard deviation of its logarithm; 0: nothing is known of it */
    double base_spread;
    bool spread_known; /* keep it; else it is only where to start, the stations tell (slots wide enough to look into) */
} sw_slot_prior;

/* What a fit tells beside the stations. */
typedef struct sw_slot_result {
    sw_slot_light light;
    double covariance[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS]; /* of the shared numbers */
    double
        evidence; /* logarithm of how well model and prior explain the samples: compare fits of the same samples only */
} sw_slot_result;

/* Fits all stations and the shared numbers together, starting at the stations' centre and width and result->light.
 * far_high: the far rim is the one at the higher coordinate. noise is the standard deviation of a sample, linear
 * light. Rounds end early when nothing moves any more. Without all only the telling stations are fitted, which is enough
 * for the shared numbers. SW_NOT_FOUND when no station is used. */
sw_status sw_slot_fit(const sw_edge_table *table, sw_slot_station *stations, int count, bool far_high,
                      const sw_slot_prior *prior, double noise, int rounds, bool all, sw_slot_result *result);

#endif
