/* descend.h - layouts judged by pushing, and the way down from one to its best neighbour while there is a better one.
 */
#ifndef SW_ARRANGE_DESCEND_H
#define SW_ARRANGE_DESCEND_H

#include "arrange/anneal.h"
#include "arrange/puzzle.h"

/* What counts: the widest gap first, then the sum of the seams' widest. */
typedef struct sw_score {
    double worst_mm, sum_mm;
} sw_score;

/* Widest gaps that differ by less are taken as equal, so that the sum decides, mm: a fiftieth of the surest gap. */
static const double SW_SCORE_SAME_MM = 0.001;

static inline int sw_score_better(const sw_score *a, const sw_score *b)
{
    if (a->worst_mm < b->worst_mm - SW_SCORE_SAME_MM || a->worst_mm > b->worst_mm + SW_SCORE_SAME_MM)
        return a->worst_mm < b->worst_mm;
    return a->sum_mm < b->sum_mm - 1e-6;
}

/* Pushes a layout (sw_settle); joints hardly seen count as puzzle->pairs->unknown_mm. */
sw_status sw_judge(const sw_puzzle *puzzle, const sw_outline *outlines, double pitch_mm, const sw_place *places,
                   sw_score *score, sw_error *err);

/* From places downhill: of all layouts with two tiles swapped and turned anyhow, or one turned, the best by the fast
 * judge is next, as long as there is a better one. With `exact` those that may be better go before sw_judge, the most
 * promising first, until one is better. The fast judge knows the widest gap as well as sw_judge does; its sum is a few
 * percent too large. places and score become those of the last; score is the fast judge's, or with `exact` sw_judge's.
 * tried grows by the layouts looked at. Ends early, but properly, at the deadline. */
sw_status sw_descend(const sw_puzzle *puzzle, const sw_outline *outlines, double pitch_mm, int exact,
                     const sw_deadline *deadline, sw_place *places, sw_score *score, size_t *tried, sw_error *err);

#endif
