/* descend.h - from a layout downhill, by the fast judge. */
#ifndef SW_ARRANGE_DESCEND_H
#define SW_ARRANGE_DESCEND_H

#include "arrange/deadline.h"
#include "arrange/puzzle.h"

/* What counts: the widest gap first, then the sum of the seams' widest. */
typedef struct sw_score {
    double worst_mm, sum_mm;
} sw_score;

/* Widest gaps that differ by less are taken as equal, so that the sum decides, mm: a fiftieth of the surest gap. */
static const double SW_SCORE_SAME_MM = 0.001;

static inline bool sw_score_better(const sw_score *a, const sw_score *b)
{
    if (a->worst_mm < b->worst_mm - SW_SCORE_SAME_MM || a->worst_mm > b->worst_mm + SW_SCORE_SAME_MM)
        return a->worst_mm < b->worst_mm;
    return a->sum_mm < b->sum_mm - 1e-6;
}

/* Of all layouts with two tiles swapped and turned anyhow, or one turned, each better one is gone on from at once, until
 * none is left. The fast judge knows the widest gap as well as sw_settle does; its sum is a few percent too large.
 * places and score become those of the last; tried grows by the layouts looked at. Ends early, but properly, at the
 * deadline. SW_NO_MEMORY. */
sw_status sw_descend(const sw_puzzle *puzzle, const sw_deadline *deadline, sw_place *places, sw_score *score,
                     size_t *tried, sw_error *err);

#endif
