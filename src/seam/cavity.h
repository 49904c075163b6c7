/* cavity.h - the light in a deep slot: on its far wall, on its near one, and what they pass to each other. */
#ifndef SW_SEAM_CAVITY_H
#define SW_SEAM_CAVITY_H

#include "seam/shoulder.h"
#include "seam/slot_model.h"
#include "seam/stepped.h"

/* A slot of width 1, its walls cut into parts, fine near the rims. */
enum { SW_CAVITY_PARTS = 18 };
typedef struct sw_cavity {
    double depth[SW_CAVITY_PARTS + 1]; /* where parts begin and end, gaps below the rim */
    double pass
        [SW_CAVITY_PARTS]
        [SW_CAVITY_PARTS]; /* share of what leaves the second part of one wall that is seen from the first of the other */
} sw_cavity;
void sw_cavity_make(sw_cavity *cavity);

/* The brightness of a slot as bins across it, from the far rim, in units of the tops' own: far wall and near wall (where it
 * is in sight), and their derivatives in the shared numbers. */
enum { SW_BINS = 12, SW_FACES = 4 };
typedef struct sw_bin_light {
    const double *cuts; /* SW_BINS + 1 of them */
    double far[SW_BINS], near[SW_BINS];
    double far_by[SW_BINS][SW_SLOT_NUMBERS], near_by[SW_BINS][SW_SLOT_NUMBERS]; /* the blur's are not set */
    double face[SW_FACES],
        face_by[SW_FACES][SW_SLOT_NUMBERS]; /* the far wall where it stands free above the near top, foot first */
    bool stepped;                           /* the tops differ in height, or may: the bands beside the slot count */
    sw_step_light step;
    bool round;              /* the rims have shoulders */
    sw_shoulder shoulder[2]; /* at the near and at the far rim */
} sw_bin_light;

/* other: the lamp at the other side, which lights the near wall; where gap_mm is given, the tops are light->step apart and that lamp's
 * numbers are the light's own. */
void sw_light_bins(const sw_cavity *cavity, const sw_slot_light *light, const sw_slot_other *other, sw_bin_light *out);

#endif
