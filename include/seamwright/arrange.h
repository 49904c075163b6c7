/* arrange.h - which tile to put where, and turned how, so that the table closes best without sanding. */
#ifndef SEAMWRIGHT_ARRANGE_H
#define SEAMWRIGHT_ARRANGE_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/layout.h"
#include "seamwright/plan.h"
#include "seamwright/report.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct sw_arrange_options {
    double tolerance_mm; /* [the first inspection's] */
    const int *keep;     /* tiles that stay where and as they are: indices into the first inspection's tiles */
    size_t keep_count;
    double seconds; /* how long to search at most [60]; the search is bounded by work, and ends sooner as a rule */
    unsigned seed;  /* the same seed gives the same answer [1] */
    const sw_lean_answer *answers; /* what a try square said of single faces [none]; only read */
    size_t answer_count;
} sw_arrange_options;

/* One seam of a layout after an ordinary push; mm. Side faces that lean hold tops apart; how much each leans is known
 * as an interval only (see sw_lean), so what a seam comes to has two ends. */
typedef struct sw_arranged_seam {
    int first, second; /* places: row after row from the north-west */
    bool upright;
    char name[16];  /* by places, "A1-B1" */
    double max_mm;  /* widest gap at worst: faces lean as much as they may, pushed in any of several ways; chips left
                       out; NaN when one of the two edges was hardly seen */
    double best_mm; /* the same when they lean only as much as is sure, and all tiles are pushed inward */
    double mean_mm; /* mean gap, leans as for max_mm */
    double u95_mm;  /* of max_mm and best_mm, leans aside */
} sw_arranged_seam;

typedef struct sw_arranged {
    sw_layout layout;
    double worst_mm, sum_mm; /* widest gap of the table after pushing, and the sum of the seams' widest gaps, when
                                faces lean as much as they may */
    double best_mm;          /* widest gap when they lean only as much as is sure */
    int unknown;             /* faces that meet another, and of whose lean nothing is known */
    sw_arranged_seam *seams;
    size_t seam_count;
} sw_arranged;

/* Free with sw_arrangement_free. */
typedef struct sw_arrangement {
    sw_arranged before, after; /* both pushed together, nothing sanded */
    double tolerance_mm;
    size_t tried;     /* layouts judged */
    int moved;        /* tiles that lie elsewhere or are turned */
    bool better;      /* after is better than before by more than 0.01 mm, faces leaning as much as they may */
    double likely_mm; /* how much faces are taken to lean at most of which nothing is known */
    double
        hope_mm;  /* widest gap of an arrangement that would be better if faces lean no more than is sure; NaN: none */
    int ask_tile; /* the face that a try square is most worth holding to then; -1: none */
    sw_side ask_side;
    sw_lean_answer *answers; /* what a try square said, and was used */
    size_t answer_count;
    sw_notes notes; /* what was assumed or not known */
    char next[512]; /* the one next action */
} sw_arrangement;

SW_API void sw_arrangement_free(sw_arrangement *arrangement);

/* Searches positions and quarter turns: worst seam first, then the sum, faces leaning as much as they may. inspections and layouts as for sw_plan_make.
 * progress may be NULL; share runs from 0 to 1. Deterministic for a seed unless `seconds` cut it short. */
SW_API sw_status sw_arrange(const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                            const sw_arrange_options *options,
                            void (*progress)(void *context, const char *what, double share), void *context,
                            sw_arrangement *arrangement, sw_error *err);

/* Whether every seam will surely be within the tolerance in the arrangement found, whichever faces lean; a seam hardly
 * seen is not. */
SW_API bool sw_arrangement_fits(const sw_arrangement *arrangement);

/* Writers. */
SW_API char *sw_report_arrange_text(const sw_arrangement *arrangement, const sw_inspection *first);
SW_API sw_status sw_report_arrange_json(const sw_arrangement *arrangement, const sw_inspection *first, const char *path,
                                        sw_error *err);

/* arrange.json and arrange.html into folder: both of them or neither. A folder that is not there is made; what lies in
 * one stays, but for files that an earlier arrangement wrote. SW_CANNOT_WRITE. pictures: as for sw_report_plan_write. */
SW_API sw_status sw_report_arrange_write(const sw_arrangement *arrangement, const sw_inspection *first,
                                         const char *pictures, const char *folder, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
