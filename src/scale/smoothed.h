/* smoothed.h - noise on the cards' even faces: filters that keep edges take it away, less so near the edges. */
#ifndef SW_SCALE_SMOOTHED_H
#define SW_SCALE_SMOOTHED_H

#include "scale/bundle.h"

/* Noise from pixel to pixel along the cards' sides, standard deviation, levels of 256; NaN: nothing was read. */
typedef struct sw_flat_noise {
    double far;  /* where faces are even and no edge is near */
    double near; /* just outside of the edges' blur */
} sw_flat_noise;

/* From all sightings, whose sides were read before. */
sw_flat_noise sw_flat_noise_read(const sw_photo *photo, const sw_sighting *sightings, int count);

/* Standard uncertainty of a gap, px, where the even faces are smoother than a camera leaves them and the edges' surroundings are not. jpeg_step: see
 * sw_photo. 0 for ordinary photos, and for those whose compression takes noise away as well. */
double sw_smoothed_u_px(const sw_flat_noise *noise, double jpeg_step);

/* Refuses (SW_BAD_INPUT) such a photo where the filter was so strong that it changed the edges as well. misfit: of the pooled edge, share of its step. */
sw_status sw_smoothed_refuse(const sw_flat_noise *noise, double jpeg_step, double misfit, const char *file,
                             sw_error *err);

#endif
