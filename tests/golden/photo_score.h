/* photo_score.h - a photo inspected and held against its truth, with the bounds it is wanted to keep. */
#ifndef SW_GOLDEN_PHOTO_SCORE_H
#define SW_GOLDEN_PHOTO_SCORE_H

#include "golden/score.h"
#include "seamwright/seamwright.h"

/* 0: not asked for. */
typedef struct bounds {
    double gap_rms_mm, gap_bias_mm, seam_bias_mm, measured, covered_least, covered_most, straightness_rms_mm;
    double chips_share; /* of the true chips that must be found */
    int no_false_chips;
} bounds;

/* Inspects FOLDER/NAME.jpg and scores it with FOLDER/NAME.truth.json; ends the test when either cannot be done. Prints
 * one line of figures. */
void inspect_photo(const char *folder, const char *name, const sw_options *options, sw_inspection *inspection,
                   score *out);

/* Fails with every bound that is not kept, not only the first. */
void expect_within(const char *name, const score *got, const bounds *wanted);

/* A lens profile from FOLDER/PATTERN (with one %d) for photos 1 to count of a checkerboard 10x7 of 25 mm. */
void calibrate(const char *folder, const char *pattern, int count, sw_lens *lens);

/* Whether FOLDER/NAME is there. */
int photo_is_there(const char *folder, const char *name);

#endif
