/* ruler.c - the two photos' scales compared by what was not sanded.
 *
 * Cards give each photo its scale to about 0.06 %, which on a tile is more than a light sanding takes off. A width
 * between two opposite edges that the plan leaves alone is the same in both photos, so each such width tells how the
 * scales differ. Their median does not heed the few that were sanded all the same.
 */
#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"
#include "recheck/work.h"

/* Fewer widths than this are no majority that a median could follow. */
enum { LEAST_WIDTHS = 4 };
/* What all widths of a photo go wrong by alike besides its scale (light at the rims), mm, standard uncertainty: the
 * mean difference of widths on made photos was up to 0.02. */
static const double COMMON_MM = 0.03;
/* The cards contradict a ruler that is off by more than this many of their standard uncertainties: then something came
 * off all over, and it is none. */
static const double CONTRADICTS = 2;
/* Standard error of a median over that of a mean, normal errors: sqrt(pi / 2). */
static const double MEDIAN_OVER_MEAN = 1.2533;

/* Median over a width's places of (before - after) / before; NaN when too few were seen. */
static double shrinking(const sw_work *w, int side, double *room)
{
    size_t count = 0;
    for (int k = -w->was.reach; k <= w->was.reach; k++) {
        sw_outline_known known[2];
        double u = k * SW_OUTLINE_PITCH_MM, near = sw_work_missing(w, side, u, &known[0]),
               far = sw_work_missing(w, side + 2, -u, &known[1]);
        if (known[0] >= SW_OUTLINE_BRIDGED && known[1] >= SW_OUTLINE_BRIDGED && isfinite(near + far))
            room[count++] = near + far;
    }
    return count > (size_t)w->was.reach ? sw_median(room, count) / (2 * w->was.half_mm) : NAN;
}

/* The widths that were not to be sanded; how many. */
static size_t gather_widths(const sw_work *works, size_t count, double *widths, double *room)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++)
        for (int side = 0; side < 2 && works[i].measured; side++) {
            double width = works[i].plan[side] || works[i].plan[side + 2] ? NAN : shrinking(&works[i], side, room);
            if (isfinite(width))
                widths[found++] = width;
        }
    return found;
}

sw_status sw_ruler_take(sw_work *works, size_t count, sw_error *err)
{
    int reach = 0;
    double side = 0;
    for (size_t i = 0; i < count; i++)
        if (works[i].measured) {
            reach = works[i].was.reach > reach ? works[i].was.reach : reach;
            side = fmax(side, 2 * works[i].was.half_mm);
        }
    double *widths = calloc(2 * count + 1, sizeof *widths), *room = calloc(2 * (size_t)reach + 1, sizeof *room);
    if (!widths || !room) {
        free(widths);
        free(room);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    }
    size_t found = gather_widths(works, count, widths, room);
    if (found >= LEAST_WIDTHS) {
        double ruler = sw_median(widths, found), spread = sw_mad_sigma(widths, found, ruler);
        /* So few tell their own spread badly: Student's factor over the normal one, which 2 u stands for. */
        double few = sw_coverage_factor_95((double)found - 1) / sw_coverage_factor_95(INFINITY);
        double u = hypot(few * MEDIAN_OVER_MEAN * spread / sqrt((double)found), COMMON_MM / side);
        for (size_t i = 0; i < count; i++) {
            double cards = works[i].scale_mm / works[i].was.half_mm, both = hypot(cards, u);
            if (!works[i].measured || !(fabs(ruler) <= CONTRADICTS * both))
                continue;
            works[i].longer = ruler * (cards * cards) / (both * both);
            works[i].scale_mm = works[i].was.half_mm * cards * u / both;
        }
    }
    free(widths);
    free(room);
    return SW_OK;
}
