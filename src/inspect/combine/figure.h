/* figure.h - one figure from several photos: its mean, its spread, and how uncertain it is then. */
#ifndef SW_INSPECT_COMBINE_FIGURE_H
#define SW_INSPECT_COMBINE_FIGURE_H

#include <stddef.h>

#include "seamwright/repeat.h"

/* What one photo says of a figure. value NaN: nothing; then it counts nowhere. */
typedef struct sw_photo_figure {
    double value;
    double u;        /* stated standard uncertainty */
    double u_random; /* the part of it that each photo draws anew */
} sw_photo_figure;

/* The part that photos share: root of u^2 - u_random^2. */
double sw_photo_figure_common(const sw_photo_figure *reading);

/* Sums over all figures of a kind. Start with zeros. */
typedef struct sw_tally {
    size_t figures;
    double freedom; /* sum of (photos - 1) */
    double squares; /* of deviations from each figure's own mean */
    double stated;  /* of (photos - 1) times the mean squared stated uncertainty */
    double chi;     /* of squared deviations over squared stated uncertainties */
} sw_tally;

void sw_tally_add(sw_tally *tally, const sw_photo_figure *readings, size_t count);

/* Spread of the kind, tested against what is stated. independent is the share of the figures that is independent of its
 * neighbours, 0 to 1. */
sw_spread sw_tally_close(const sw_tally *tally, double independent);

typedef struct sw_joined {
    double value, u;      /* NaN when no photo says anything */
    double u_random;      /* what is left of the random part */
    double s_r, stated_u; /* standard deviation of the photos; mean stated uncertainty. s_r NaN with fewer than two */
    double widened;       /* factor on the stated uncertainty */
    size_t photos;
} sw_joined;

/* Joins what the photos say of one figure; kind is the spread of all figures like it. See inspect.h for the rule. */
sw_joined sw_join(const sw_photo_figure *readings, size_t count, const sw_spread *kind);

/* The same for one of many places along a line, whose own spread is chance: that of the kind alone counts. */
sw_joined sw_join_pooled(const sw_photo_figure *readings, size_t count, const sw_spread *kind);

#endif
