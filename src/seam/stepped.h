/* stepped.h - a slot between two tops of different height: face, gap and shade as steps of brightness.
 *
 *     near, lower top | its shade | gap | face | far, higher top        near, higher top | gap | shade | far, lower top
 *
 * The higher edge throws the shade. Its places y are counted in units of the step, from below the higher edge.
 */
#ifndef SW_SEAM_STEPPED_H
#define SW_SEAM_STEPPED_H

#include "seam/slot_model.h"

enum { SW_PENUMBRA_CUTS = 8, SW_FOOT_CUTS = 12, SW_STRIP_CUTS = SW_PENUMBRA_CUTS + SW_FOOT_CUTS };

/* Brightness on the lower top: coming in from the open, at y[k] it falls by drop[k] of what the open top has. */
typedef struct sw_step_light {
    double step, view, tangent, px_per_mm; /* step in mm, + where the far top is the higher one */
    double y[SW_STRIP_CUTS], drop[SW_STRIP_CUTS];
    double y_by_slant[SW_STRIP_CUTS], y_by_penumbra[SW_STRIP_CUTS];
    double drop_by[SW_STRIP_CUTS][SW_SLOT_NUMBERS];
} sw_step_light;

void sw_stepped_light(const sw_slot_light *light, double view, double px_per_mm, sw_step_light *out);

struct sw_bin_light;
struct sw_stairs;
/* sw_stairs_build for a slot beside a step. */
void sw_stepped_build(const sw_slot_station *s, const struct sw_bin_light *bins, bool far_high, struct sw_stairs *out);

/* Light that the slot between the tops lacks against the lower top at its rim, px of that top. */
double sw_stepped_missing(const sw_slot_station *s, const struct sw_bin_light *bins, bool far_high);

/* What the tops beside a station have in the open. */
void sw_stepped_open(const sw_slot_station *s, const sw_step_light *step, bool far_high, double *near, double *far);

#endif
