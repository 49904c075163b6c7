/* processed.h - what the cards' edges tell of a blur that is not the same everywhere: a shaken, half focused or doubled photo. */
#ifndef SW_SCALE_PROCESSED_H
#define SW_SCALE_PROCESSED_H

#include "scale/bundle.h"
#include "scale/corner_shape.h"
#include "scale/squares.h"

/* How soft an edge is: the way from 20 to 80 % of its step, in standard deviations of the Gaussian that has it, px. NaN: too little was
 * read. */
double sw_edge_width(const sw_esf *esf);

void sw_esf_add(const sw_esf *part, sw_esf *sum);

/* How much the softness of the sides differs, shares of the mean; 0 where there is nothing to compare. */
typedef struct sw_unevenness {
    double direction; /* between sides along rows and along columns: the photo was shaken */
    double place;     /* between cards: part of it is out of focus, the lens is soft there or something lies on it */
} sw_unevenness;

sw_unevenness sw_blur_unevenness(const sw_sighting *sightings, int count);

/* Refuses (SW_BAD_INPUT) a photo whose edges no one blur describes. misfit: of the pooled edge, share of its step. */
sw_status sw_blur_refuse(const sw_unevenness *uneven, double misfit, const char *file, sw_error *err);

/* Refuses (SW_BAD_INPUT) a photo whose corners a filter has rounded: such a filter wipes out gaps that are narrower than itself. */
sw_status sw_filter_refuse(const sw_corner_shape *shape, const char *file, sw_error *err);

/* Standard uncertainty of a gap, px, from what is left of such a filter, and from others that show in the edges' misfit (of the pooled edge, share of its
 * step); 0 where corners are as the edges make them, and edges as blur and sharpening do. */
double sw_filter_u_px(const sw_corner_shape *shape, double misfit);

/* The same from levels that were changed from place to place (sw_paper_unevenness) or rounded coarsely (sw_levels_jaggedness). */
double sw_levels_u_px(double paper, double jaggedness);

/* What a shake along a diagonal adds to sw_blur_u_rel. */
double sw_slant_u_rel(const sw_corner_shape *shape);

/* Light, linear, of all of the range, that lies over the photo where the cards' black looks paler than print is; 0 where none does, or the
 * cards are not printed. */
double sw_haze(const sw_sighting *sightings, int count);

/* Standard uncertainty of the blur anywhere in the photo, share of it; 0 where the cards differ no more than clean photos' do. */
double sw_blur_u_rel(const sw_unevenness *uneven, double misfit);

#endif
