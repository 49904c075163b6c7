/* light.h - what is known of the light in a slot before looking, and what the slots of a photo tell of each other's. */
#ifndef SW_SEAM_LIGHT_H
#define SW_SEAM_LIGHT_H

#include "seam/slot.h"
#include "seam/trace.h"

/* The two suppositions: no lamp, or little of it, on the far wall; a lamp that lights its upper part. */
enum { SW_DIM, SW_LIT, SW_SUPPOSITIONS };

/* Walls by the way they face: west, east, north, south, in no particular order. */
enum { SW_FACINGS = 4 };
int sw_facing_of(const sw_trace *trace, bool upright);

/* What a slot, or several, tell: information matrix and vector over the shared numbers, the tangent as logarithm of its
 * share of the view's, without what was known before. */
typedef struct sw_light_word {
    double matrix[SW_LIGHT_NUMBERS][SW_LIGHT_NUMBERS], vector[SW_LIGHT_NUMBERS];
    int slots;
} sw_light_word;

/* Prior under a supposition; words may have 0 slots. narrow: too narrow to look into. */
void sw_light_prior(const sw_trace *trace, int supposition, bool narrow, const sw_light_word *words,
                    sw_slot_prior *prior);

/* Adds what a fit of a wide slot told (weight 1), or takes it away again (weight -1). prior is the one it was fitted
 * with. other slots may differ from it: that much is its word weaker. */
void sw_light_hear(const sw_trace *trace, const sw_slot_prior *prior, const sw_slot_result *result, double weight,
                   sw_light_word *words);

#endif
