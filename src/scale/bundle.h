/* bundle.h - one fit of everything the reference squares tell: homography, each loose square's place, the spread of dark
 * edges, and, without a lens profile, the lens's k1 and k2. */
#ifndef SW_SCALE_BUNDLE_H
#define SW_SCALE_BUNDLE_H

#include "scale/frame.h"
#include "scale/squares.h"
#include "seamwright/scale.h"
#include "seamwright/table.h"

/* One reference square as read from the photo: its outer rim and, for a frame, its inner one. */
typedef struct sw_sighting {
    sw_quad quad;
    sw_rim_square rims[2];
    int rim_count; /* 1 plain, 2 frame */
    bool light;    /* a light square on darker ground, a cut card */
    sw_top
        top; /* the top it lies on, over the mm frame's plane: at the square's middle, slopes along the fit's own axes */
} sw_sighting;

/* Prior of k1, k2, p1, p2 of an unknown phone lens, focal length about 0.72 of the picture's width: standard deviations about 0. */
enum { SW_LENS_PRIORS = 4 };
extern const double SW_LENS_PRIOR[SW_LENS_PRIORS];

/* Fits scale->to_plane and all that goes with it. scale->lens and scale->reference must be set; with lens source
 * SW_LENS_ESTIMATED its k1 and k2 are fitted too. Squares' mm corners are filled. The mm frame is that of the first square
 * (x along its north side to the east); sw_scale_turn puts it where it is wanted. */
sw_status sw_bundle_fit(const sw_sighting *sightings, int count, sw_scale *scale, sw_error *err);

#endif
