/* slot.h - the slot model fitted to the brightness across a seam. */
#ifndef SW_SEAM_SLOT_H
#define SW_SEAM_SLOT_H

#include "seam/cavity.h"
#include "seam/edge_table.h"
#include "seam/slot_model.h"
#include "seamwright/status.h"

/* A slot at least this many blurs wide shows its inside; what it says of the light is handed to the others. */
#define SW_WIDE_BLURS 4.5

/* Range of the shared numbers: no darker than nothing; a low lamp lights an upright wall more than the top; a step and a
 * radius as in tables made by hand. */
extern const double SW_SLOT_LEAST[SW_SLOT_NUMBERS], SW_SLOT_MOST[SW_SLOT_NUMBERS];

/* Prior of the shared numbers: mean and inverse covariance; and what is known of the lamp at the other side. */
typedef struct sw_slot_prior {
    sw_slot_light mean;
    double inverse[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS];
    bool
        shaped; /* the shape (step, radii) is fitted, its numbers each with its own inverse variance; else held at the mean,
                  * and of no cost in time */
    bool stepped;     /* the tops differ in height, or may */
    bool round;       /* the rims may be round; else they have no shoulders */
    double px_per_mm; /* along the crossing; for the shape */
    sw_slot_other other;
    double view; /* tangent of the view across the slot: by so much of the step the rims move against each other */
} sw_slot_prior;

/* What a fit tells beside the stations. */
typedef struct sw_slot_result {
    sw_slot_light light;
    double covariance[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS]; /* of the shared numbers; zeros where held */
    double cost; /* of residuals and prior, as half of a logarithm of odds: compare fits of the same samples only */
} sw_slot_result;

/* Fits all stations and the shared numbers together, starting at the stations' centre and width and result->light.
 * far_high: the far rim is the one at the higher coordinate. loose: the far rim may lie far
 * from where it starts. noise is the standard deviation of a sample, linear
 * light. Rounds end early when nothing moves any more. Without all only the telling stations are fitted, which is enough
 * for the shared numbers. SW_NOT_FOUND when no station is used. */
sw_status sw_slot_fit(const sw_cavity *cavity, const sw_edge_table *table, sw_slot_station *stations, int count,
                      bool far_high, bool loose, const sw_slot_prior *prior, double noise, int rounds, bool all,
                      sw_slot_result *result);

#endif
