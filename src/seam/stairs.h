/* stairs.h - the slot's model as steps of brightness, and a station's samples summed up against it. */
#ifndef SW_SEAM_STAIRS_H
#define SW_SEAM_STAIRS_H

#include "seam/cavity.h"
#include "seam/edge_table.h"
#include "seam/slot_model.h"

/* Beside the slot's own bins there is room for so many beyond each rim: shade, rounded shoulders. */
enum { SW_BEYOND = 16, SW_STEPS = SW_BINS + 1 + 2 * SW_BEYOND, SW_OWN = 2 };

/* Sums over the steps of brightness that go with an edge's value: the brightness itself, and its derivatives in the
 * shared numbers but the blur: the light's, and from SW_AT_SHAPE on the shape's. Whole vectors of four, with or without the shape. */
enum {
    SW_AT_LEVEL = 0,
    SW_AT_LIGHT = 1,
    SW_AT_SHAPE = SW_AT_LIGHT + SW_LIGHT_BLUR,
    SW_LIGHT_VALUES = 12,
    SW_VALUES = 16
};

/* Steps of brightness from the low side to the high side: at place[k] (share of the width from the low rim) plus off[k] (px),
 * the brightness rises by rise[k][0]. level[k][0] is the brightness before step k, level[steps][0] that after the last
 * one. Places ascend where the width is not negative.
 */
typedef struct sw_stairs {
    float sharp; /* 1 over the factor on the blur */
    int steps;
    float reach; /* px from a step beyond which nothing more is seen of it */
    float place[SW_STEPS], off[SW_STEPS], rise[SW_STEPS][SW_VALUES], level[SW_STEPS + 1][SW_VALUES];
    bool
        shaped; /* the shape is fitted too, else slides and a step's derivatives do not count: said before it is built */
    float
        slide[SW_STEPS]
             [SW_VALUES]; /* px that step k moves to the high side for each unit of a shared number; 0 at SW_AT_LEVEL */
} sw_stairs;

/* shaped: with the bands of a step beside the slot (stepped.c). */
void sw_stairs_build(const sw_slot_station *s, const sw_bin_light *bins, bool far_high, double px_per_mm,
                     sw_stairs *out);

/* Normal equations of one station: two own numbers (centre, width), and the shared ones. */
typedef struct sw_slot_normal {
    double own[SW_OWN][SW_OWN], own_side[SW_OWN];
    double cross[SW_OWN][SW_SLOT_NUMBERS];
    double shared[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS], shared_side[SW_SLOT_NUMBERS];
    double inverse[SW_OWN][SW_OWN], ratio[SW_OWN][SW_SLOT_NUMBERS]; /* own^-1, own^-1 cross */
    double squares, weight;
    double cost; /* of the samples' residuals, in units of the noise's variance */
} sw_slot_normal;

/* Sums of a station's samples for its own numbers (the shared ones count as known), or for own and shared ones (with the shape where it is fitted).
 * noise_seen: noise
 * times how much more than usual a residual may be before it counts as an outlier. */
void sw_stairs_sum_own(const sw_edge_table *table, const sw_slot_station *s, const sw_stairs *st, double noise_seen,
                       sw_slot_normal *n);
void sw_stairs_sum_all(const sw_edge_table *table, const sw_slot_station *s, const sw_stairs *st, double noise_seen,
                       sw_slot_normal *n);

#endif
