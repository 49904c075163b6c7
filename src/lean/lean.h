/* lean.h - which side faces lean, from the standoffs of seams.
 *
 * Pushed tight, the bases of a seam's two tiles touch, and the tops stay apart by the leans of both faces together:
 *
 *     top    --+  gap  +--          standoff = lean(first) + lean(second),   both >= 0
 *              |\     /|
 *     base   --+-+---+-+--          One inspection has one such equation for two unknowns; the same
 *                                   edges against others in another arrangement tell them apart.
 */
#ifndef SW_LEAN_LEAN_H
#define SW_LEAN_LEAN_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/plan.h"

/* In place of a second edge: the equation is of one face alone, which a try square was held to. */
enum { SW_LEAN_ONE_FACE = -1 };

/* One seam of one inspection, or one answer. Edges are numbered 4 x tile + side, tile and side as in the first inspection. */
typedef struct sw_lean_equation {
    int edge[2];
    double standoff_mm; /* the seam's least gap, less what the tops would leave open when pushed */
    double gap_mm;      /* the least gap: bases cannot overlap, so both leans together are no more */
    double u95_mm;      /* of both */
    bool loose;         /* something else may hold the seam open, so of it only the gap counts */
} sw_lean_equation;

/* The number of the edge that `side` of a place is. layout: how the tiles lie; NULL: as in the first inspection. */
static inline int sw_lean_face(const sw_layout *layout, int place, sw_side side)
{
    if (!layout)
        return 4 * place + (int)side;
    return 4 * layout->places[place].tile + (int)sw_side_turned(side, -layout->places[place].turns);
}

/* Non-negative least squares for the leans (the least of them where equations leave a choice), and by linear programmes
 * the least and the most each may be when every equation holds to its u95 and to how tight tiles are pushed. Of
 * equations that contradict others, those go by whose leaving out the least has to give way (least sum); only that
 * bases cannot overlap still counts of them, and they are marked loose. leans: one for every edge in an equation, by number; free with free(). */
sw_status sw_leans_make(sw_lean_equation *equations, size_t count, sw_lean **leans, size_t *lean_count, sw_error *err);

/* How tight tiles are pushed by hand: standoffs hold to this, mm. Common practice, no source. */
static const double SW_LEAN_TIGHT_MM = 0.1;

/* Of two facing edges with that standoff, is edge `which` (0 or 1) the one that leans? a, b: their leans, or NULL when
 * nothing is known of them. */
sw_lean_known sw_lean_judge(const sw_lean *a, const sw_lean *b, int which, double standoff_mm);

#endif
