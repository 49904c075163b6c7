/* rim.h - the rim of a tile at the table's own rim: one step from the top to whatever lies behind. */
#ifndef SW_SEAM_RIM_H
#define SW_SEAM_RIM_H

#include "seam/radii.h"
#include "seam/shoulder.h"
#include "seam/trace.h"

/* Reads the one rim of a side at the table's own rim. */
sw_status sw_trace_read_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *trace, sw_error *err);

/* Logarithms of odds: how much better round explains a rim than sharp does; what the best radius leaves over (compare one rim under
 * several lights only). */
typedef struct sw_rim_odds {
    double gain, left;
} sw_rim_odds;

/* How far such a rim, read before, is rounded, as far as its own light tells; sd 0: it does not. */
sw_radius sw_trace_rim_radius(const sw_photo *photo, const sw_scale *scale, sw_trace *trace,
                              const sw_shoulder_light *light, sw_rim_odds *odds);

/* Reads it again as one of this radius: its rim then is where the side face begins. */
void sw_trace_round_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *trace, const sw_shoulder_light *light,
                        double radius_mm);

#endif
