/* score.h - an inspection held against the truth of its photo (a *.truth.json as described in samples/README.md).
 *
 * The definitions are those of the practice photos' own scorer: stations count that are 6 mm or more from a seam's ends
 * and 4 mm or more from a chip; a chip is a place where the gap is more than 0.8 mm wider than without chips. */
#ifndef SW_GOLDEN_SCORE_H
#define SW_GOLDEN_SCORE_H

#include "seamwright/report.h"

/* Errors of one kind. `covered` is the share whose truth lies inside the stated 95 % interval, `u95` the mean of its half widths. */
typedef struct score_errors {
    size_t n;
    double bias, rms, worst, covered, u95;
} score_errors;

typedef struct score {
    score_errors gap, gap_mean, angle_deg, straightness_mm, length_mm;
    score_errors height_mm; /* of the tops that are told, against their mean */
    double measured;        /* share of the truth's stations that were measured */
    char worst_seam[16];    /* the seam whose mean error is largest, and that error */
    double worst_seam_mm;
    int chips_true, chips_found, chips_false;
    int wrong_verdicts; /* within or over although the truth is more than 0.1 mm on the other side of the tolerance */
} score;

/* Returns 0, or -1 when the truth file cannot be read. */
int score_inspection(const sw_inspection *inspection, const char *truth_path, score *out);

#endif
