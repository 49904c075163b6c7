/* apart.c - which seams are wider because the tiles were not pushed together.
 *
 * When tiles are pushed anew, openness moves from one seam of a row to the next and their sum stays:
 *
 *     [ A ]  [ B ][ C ]   ->   [ A ][ B ]  [ C ]           A sum that grew says that the row lies apart.
 *
 * Sanding without pushing makes it grow, too, by what came off.
 */
#include <math.h>

#include "recheck/parts.h"
#include "recheck/sure.h"

/* Whether two seams are of one row of tiles (upright ones) or of one column. */
static bool in_one_line(const sw_inspection *ins, const sw_seam *a, const sw_seam *b)
{
    int columns = ins->table.columns;
    return a->upright == b->upright &&
           (a->upright ? a->first / columns == b->first / columns : a->first % columns == b->first % columns);
}

/* How much wider the mean gaps of this seam's line are together, and its ±: light changes all alike, so the ± add up.
 * false where one of them was not seen, or is none of before. */
static bool line_grew(const sw_comparing *c, const sw_seam *seam, double *grown_mm, double *u95_mm)
{
    *grown_mm = *u95_mm = 0;
    for (size_t i = 0; i < c->out->seam_count; i++) {
        const sw_seam_change *other = &c->out->seams[i];
        const sw_seam *after = &c->after->seams[other->seam];
        if (!in_one_line(c->after, seam, after))
            continue;
        if (other->before < 0)
            return false;
        const sw_seam *before = &c->before->seams[other->before];
        *grown_mm += after->mean_mm - before->mean_mm;
        *u95_mm += hypot(after->mean_u95_mm, before->mean_u95_mm);
    }
    return isfinite(*grown_mm) && isfinite(*u95_mm);
}

void sw_recheck_apart(sw_comparing *c)
{
    double sure = sw_sure_of(c->out->seam_count) / 2, grown_mm, u95_mm;
    for (size_t i = 0; i < c->out->seam_count; i++) {
        sw_seam_change *s = &c->out->seams[i];
        s->pushed_apart = s->change_mm > sure * s->change_u95_mm &&
                          line_grew(c, &c->after->seams[s->seam], &grown_mm, &u95_mm) && grown_mm > sure * u95_mm;
    }
}
