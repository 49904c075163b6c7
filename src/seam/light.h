/* light.h - what is known of the light in a slot before looking, and what the slots of a photo tell of each other's. */
#ifndef SW_SEAM_LIGHT_H
#define SW_SEAM_LIGHT_H

#include "seam/slot.h"
#include "seam/trace.h"

/* Walls by the way they face; opposite ones differ in the lowest bit. */
enum { SW_FACINGS = 4 };
int sw_facing_of(const sw_trace *trace, bool upright);

/* What slots told: information matrix and vector over the shared numbers, without what was known before. */
typedef struct sw_light_word {
    double matrix[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS], vector[SW_LIGHT_NUMBERS];
} sw_light_word;

/* The table's light: what the floor beside it shows, and what slots told for walls of each facing. */
typedef struct sw_table_light {
    double floor[SW_FACINGS],
        floors[SW_FACINGS]; /* where a facing looks to: sum of the logarithm of the floor's light, count */
    sw_light_word word[SW_FACINGS];
    double
        haze; /* stray light that may lie over everything, share of the tops' light (0 none); slots are that light at least */
} sw_table_light;

/* Prior of a slot's light. */
void sw_light_prior(const sw_table_light *table, const sw_trace *trace, int facing, sw_slot_prior *prior);

/* Adds what a fit of a slot told (weight 1), or takes it away again (weight -1). prior is the one it was fitted with. Slots
 * differ: by that much is the word weaker for others. */
void sw_light_hear(sw_table_light *table, int facing, const sw_slot_prior *prior, const sw_slot_result *result,
                   double weight);

#endif
