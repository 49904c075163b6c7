/* limit.h - how well the width of a slot can be known at all: the slot model of slot.h as a camera's pixels see it, and
 * the Cramer-Rao bound that goes with it.
 *
 * Independent of src/seam: the light is not cut into bins but into fine slices, what the walls pass to each other is that of
 * walls.h, the blur is a Gaussian lens followed by square pixels, and every derivative is a difference of two drawn
 * profiles.
 */
#ifndef SW_STUDY_LIMIT_H
#define SW_STUDY_LIMIT_H

#include "seam/slot.h"

/* A straight slot of even width. Crossings run along pixel rows; x is px along a row from the slot's middle. */
typedef struct limit_slot {
    sw_slot_light light;
    sw_slot_other other; /* the near wall; its top_ratio is taken from low and high */
    double width_px;     /* across the seam, not along the row */
    double low, high;    /* tops, linear light */
    double blur_px;      /* of the cards' edges, lens and pixel together, as one Gaussian */
    double slope;        /* px sideways a row, at most 1 */
    int far_high;
} limit_slot;

enum { LIMIT_PER = 32, LIMIT_HALF = 24, LIMIT_GRID = 2 * LIMIT_PER * LIMIT_HALF + 1 };

/* Brightness along a row. */
typedef struct limit_curve {
    double v[LIMIT_GRID];
} limit_curve;

void limit_draw(const limit_slot *slot, limit_curve *curve);
/* |x| below LIMIT_HALF - 1. */
double limit_at(const limit_curve *curve, double x);

/* What a brightness depends on: the station's own numbers, then the shared ones as in slot_model.h. */
enum { LIMIT_CENTRE, LIMIT_WIDTH, LIMIT_OWN, LIMIT_NUMBERS = LIMIT_OWN + SW_LIGHT_NUMBERS };

/* A drawn slot and its neighbours, a little to either side along every number from the width on. */
typedef struct limit_model {
    double reach; /* px beyond which only the tops are seen */
    limit_curve here, moved[LIMIT_NUMBERS][2];
} limit_model;

/* Free with free(); NULL when memory is out. */
limit_model *limit_make(const limit_slot *slot);

/* Adds the Fisher information of the pixels of one row, the slot's middle at `middle` px, white noise of standard
 * deviation sigma. */
void limit_add_row(const limit_model *model, double middle, double sigma,
                   double information[LIMIT_NUMBERS][LIMIT_NUMBERS]);

/* What a seam's stations are. */
typedef struct limit_seam {
    int stations, rows; /* and pixel rows that each has */
    double slope, sigma;
    double centre_sd;           /* px, of what is known of a station's middle before */
    const sw_slot_prior *prior; /* of the shared light */
} limit_seam;

/* Variances of the width, px^2, means over all places of the slot between the pixels. */
typedef struct limit_bound {
    double own;    /* of one station, the shared light known */
    double common; /* what the shared light adds, the same for all stations of a seam */
} limit_bound;

/* Returns 0, -1 when the light is degenerate. */
int limit_of(const limit_model *model, const limit_seam *seam, limit_bound *bound);

/* Closed form for a dark bar of known contrast and blur, place and all light known (u = width / blur):
 * sigma_w = 2 pi^(1/4) (sigma / C) sqrt(s / N) / sqrt(1 + exp(-u^2 / 4)).
 * From I(w) = N / sigma^2 times the integral of (dm / dw)^2, dm / dw = C / 2 (g(x - w / 2) + g(x + w / 2)), g a
 * Gaussian of deviation s: the integral of g^2 is 1 / (2 s sqrt(pi)), that of the product exp(-u^2 / 4) times as much.
 */
double limit_closed(double width_px, double blur_px, double contrast, double sigma, double rows);

#endif
