/* strip.h - one straight seam as a photo of its own, and our reading of it: what it costs, held against limit.h.
 *
 * The seam runs upright, SEAM_MM long, at PX_PER_MM. The photo's stored values are linear light in 16 bits, so that
 * neither tone curve nor rounding has a part in what comes out. */
#ifndef SW_STUDY_STRIP_H
#define SW_STUDY_STRIP_H

#include <stdint.h>

#include "study/limit.h"
#include "track/rims_mm.h"

/* Repeatable chance: the same on every machine. */
double strip_chance(uint64_t *seed); /* even, 0 to 1 */
double strip_normal(uint64_t *seed); /* mean 0, deviation 1 */

typedef struct strip_scene {
    limit_slot slot;
    double tangent;   /* of the view angle across the seam, over 0 */
    double sigma;     /* of the noise, linear light */
    double middle_px; /* part of a pixel by which the seam's middle is off */
} strip_scene;

/* Free with strip_free. */
typedef struct strip {
    sw_photo photo;
    sw_scale scale;
    sw_grid_side side;
    double camera[3];
} strip;

enum { STRIP_PX_PER_MM = 4, STRIP_SEAM_MM = 300 };

/* Both return 0, or -1 without memory. */
int strip_draw(const strip_scene *scene, uint64_t *seed, strip *out);
void strip_free(strip *s);

/* Lays, follows and reads the seam as measure.c does, and makes rims in mm of it. Free with sw_trace_free and
 * sw_track_free. */
int strip_read(const strip *s, const sw_slot_prior *prior, sw_trace *trace, sw_track *track);

/* The reader's prior where the floor is as light on all sides of the table and no other seam has told of the light. */
sw_slot_prior strip_prior(double tangent);
/* Whether measure.c would call it narrow (the figure is its own). */
int strip_is_narrow(double width_px, double blur_px);

#endif
