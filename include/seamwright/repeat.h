/* repeat.h - how well several photos of the same, untouched table agree.
 *
 * Words as in ISO 5725-1 and -2: repeatability is the agreement of results got by the same method, on the same thing,
 * under the same conditions, a short time apart. Its standard deviation is s_r; two results differ by more than the
 * repeatability limit r = 2.8 s_r (ISO 5725-6, 95 %) in one of twenty cases only.
 * What all photos get wrong alike (print, lens, a lamp that never moved) does not show in s_r.
 */
#ifndef SEAMWRIGHT_REPEAT_H
#define SEAMWRIGHT_REPEAT_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* r = 2.8 s_r */
#define SW_REPEAT_LIMIT 2.8

/* The spread between photos held against the stated standard uncertainty, by chi-square, 5 % on either side. */
typedef enum sw_agreement { SW_AGREE_UNKNOWN = 0, SW_AGREE_BETTER, SW_AGREE_AS_STATED, SW_AGREE_WORSE } sw_agreement;

/* One kind of figure (mean gaps, corner angles ...) over the whole table. Units are those of the figure: mm or degrees.
 */
typedef struct sw_spread {
    size_t figures;       /* how many there are of the kind that two photos or more show */
    double freedom;       /* degrees of freedom of s_r; 0: nothing can be said, the rest is NaN */
    double s_r;           /* pooled over the figures */
    double r;             /* 2.8 s_r */
    double stated_u;      /* standard uncertainty that single photos state, pooled alike */
    double chi_square;    /* sum of squared deviations over the squared stated uncertainties */
    double chi_square_95; /* what it may reach, 95 % */
    sw_agreement agreement;
    double
        widened; /* factor by which the stated uncertainty was widened; 1 unless the agreement is worse than stated */
} sw_spread;

/* One seam. */
typedef struct sw_seam_spread {
    int photos;                 /* that its figures are made of */
    int left_out;               /* photos left out because they show another gap than the first photo */
    double difference_mm;       /* the largest such difference of mean (or end) gaps; 0 when none was left out */
    double s_r_mm, stated_u_mm; /* of the mean gap; NaN with one photo */
    double station_s_r_mm, station_stated_u_mm; /* of the gap at single stations, pooled along the seam */
    double widened;                             /* factor on the mean gap's stated uncertainty, 1 or more */
    bool *counts;                               /* for each photo whether it counts here; photo_count of them */
    double *mean_mm; /* the mean gap that each photo shows, over places all of them saw; photo_count numbers, NaN
                        where a photo shows nothing of the seam */
} sw_seam_spread;

/* Free with sw_repeatability_free. */
typedef struct sw_repeatability {
    size_t photo_count;
    char (*photos)[256]; /* base names, the first photo first */
    int *quarter_turns;  /* of each photo: quarter turns counter-clockwise that lay its table as the first photo's, 0 to
                            3 */
    sw_spread mean, taper, station, angle_deg, length, straightness;
    size_t seam_count; /* as in the inspection */
    sw_seam_spread *seams;
} sw_repeatability;

/* Frees what it owns and zeroes it. NULL is fine. */
SW_API void sw_repeatability_free(sw_repeatability *repeatability);

/* "better than stated", "as stated", "worse than stated", "unknown". */
SW_API const char *sw_agreement_name(sw_agreement agreement);

#ifdef __cplusplus
}
#endif
#endif
