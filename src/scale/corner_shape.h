/* corner_shape.h - what the cards' corners tell that their edges cannot: a filter that rounds corners, and a shake along a diagonal. */
#ifndef SW_SCALE_CORNER_SHAPE_H
#define SW_SCALE_CORNER_SHAPE_H

#include "scale/bundle.h"
#include "scale/squares.h"

typedef struct sw_corner_shape {
    double
        rounding; /* how far corners look like what lies around them, beyond what the edges' blur makes of a corner; share of the step.
                        * A linear filter makes none, however it blurs or sharpens */
    double rounding_u; /* its standard uncertainty from the corners' scatter */
    double
        slant; /* correlation of the blur along x and y of the photo: + smeared from top left to bottom right; -1 to 1 */
    double slant_u;
    int count; /* rims whose four corners were read; 0: none, and nothing is known */
} sw_corner_shape;

/* From the corners of all sightings, whose sides were read before, with what their pooled edge showed. SW_NO_MEMORY. */
sw_status sw_corner_shape_read(const sw_photo *photo, const sw_response *response, const sw_esf *edge,
                               const sw_sighting *sightings, int count, sw_corner_shape *shape);

#endif
