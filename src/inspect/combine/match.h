/* match.h - do two photos show the same table, and from which side? */
#ifndef SW_INSPECT_COMBINE_MATCH_H
#define SW_INSPECT_COMBINE_MATCH_H

#include <stdbool.h>

#include "seamwright/report.h"

/* How one seam differs between two photos: the second's gap less the first's, over places that both saw. */
typedef struct sw_difference {
    bool comparable;   /* false: too little was seen in common; the rest is 0 then */
    double mean_mm;    /* of the mean gap */
    double taper_mm;   /* of the taper */
    double chi_square; /* of both against their stated uncertainties */
    bool moved;        /* by far more than the uncertainty */
} sw_difference;

/* What a station at another seam's place would read. */
sw_station sw_station_at(const sw_seam *seam, double at_mm);

sw_difference sw_seam_difference(const sw_seam *first, const sw_seam *second);

/* The difference at the end where it is largest, mm. */
double sw_difference_most(const sw_difference *difference);

/* Turns the second table so that it lies as the first one does, and fills differences (first->seam_count of them).
 * quarter_turns gets how far. number is the second photo's place in the row (from 1), for messages. SW_BAD_INPUT when
 * it is another table. */
sw_status sw_match(const sw_inspection *first, sw_inspection *second, size_t number, sw_difference *differences,
                   int *quarter_turns, sw_error *err);

#endif
