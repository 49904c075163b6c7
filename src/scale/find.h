/* find.h - from a photo to its scale. */
#ifndef SW_SCALE_FIND_H
#define SW_SCALE_FIND_H

#include "photo/small.h"
#include "scale/frame.h"
#include "scale/squares.h"
#include "seamwright/scale.h"

/* Finds and fits the reference squares of a photo. lens NULL: no profile, estimate. thickness_mm of the cards, NaN: unknown. */
sw_status sw_scale_find(const sw_photo *photo, const sw_small *small, const sw_lens *lens,
                        const sw_reference *reference, double thickness_mm, sw_scale *scale, sw_error *err);

/* What else is known before the photo is looked at. */
typedef struct sw_scale_known {
    const sw_lens *lens; /* a profile; NULL: estimate */
    sw_reference reference;
    double thickness_mm; /* of the cards, NaN: unknown */
    /* On which top each square lies: SW_SQUARES_MAX of them, in the order of a first find's scale->squares, each at its square's
     * middle; slopes are east and north along the first square's sides. NULL: all in the mm frame's plane. */
    const sw_top *square_tops;
    const sw_corners *cards; /* where the cards lie, card_count (to SW_POINTED_CARDS_MOST); NULL: they are looked for */
    size_t card_count;
} sw_scale_known;
sw_status sw_scale_find_on(const sw_photo *photo, const sw_small *small, const sw_scale_known *known, sw_scale *scale,
                           sw_error *err);

/* The photo as its scale says it is to be read: linear light by the tone curve that was found. *seen shares everything with
 * photo but, where the curve is not plain sRGB, `linear`: free that when it is not photo's. */
sw_status sw_scale_light(const sw_photo *photo, double contrast, sw_photo *seen, sw_error *err);

#endif
