#include "track/chips.h"

#include <math.h>
#include <stdlib.h>

#include "maths/running.h"
#include "maths/stats.h"

/* A chip is short (the trade fills anything under about 25 mm) and sticks out of the rim's own run by more than this:
 * below it sanding marks and texture cannot be told from it. */
static const double CHIP_LEAST_MM = 0.4, CHIP_SIGMAS = 6, CHIP_LONGEST_MM = 32, CHIP_SHORTEST_MM = 3.5;
/* A chip is dark all through; a pencil line beside the seam has bright tile behind it, which the reading cannot fit. */
static const double CHIP_MISFIT = 6, CHIP_DARK = 0.39, CHIP_DEEP = 0.6;
/* Where a chip has come down to this, it ends. */
static const double CHIP_END_MM = 0.12;
/* Half length of the running median that chips are measured from, mm: longer than a chip, short against a tile. */
static const double BASELINE_MM = 28;
/* Fewer places of a rim than this tell of no baseline. */
enum { LEAST_PLACES = 8 };

/* How far the rim stands back from its baseline: + where material is missing. */
static double shy(const sw_track *t, int i, int rim, double baseline)
{
    double d = t->points[i].raw[rim] - baseline;
    return rim == SW_FIRST ? -d : d;
}

/* Near the ends the window is cut, but still looks at a run longer than a chip. Where stations are dense, every few of
 * them only. */
static void baseline_of(const sw_track *t, int rim, double *baseline, double *work)
{
    enum { ENOUGH = 200, LEAST = 5 };
    int half = (int)ceil(BASELINE_MM / sw_track_step(t));
    for (int i = 0; i < t->count; i++)
        work[i] = t->points[i].chip[rim] ? NAN : t->points[i].raw[rim];
    sw_running_median(work, t->count, half, 2 * half / ENOUGH + 1, LEAST, baseline);
}

static sw_status add_chip(sw_track *t, sw_track_chip chip)
{
    sw_track_chip *chips = realloc(t->chips, (size_t)(t->chip_count + 1) * sizeof *chips);
    if (!chips)
        return SW_NO_MEMORY;
    t->chips = chips;
    t->chips[t->chip_count++] = chip;
    return SW_OK;
}

/* Looks for chips of one rim: runs that stand back, short enough, and coming back to the baseline on both sides. */
static sw_status find_chips(sw_track *t, int rim, const double *baseline, double scatter)
{
    double least = fmax(CHIP_LEAST_MM, CHIP_SIGMAS * scatter);
    for (int i = 1; i < t->count - 1; i++) {
        if (!isfinite(baseline[i]) || !(shy(t, i, rim, baseline[i]) > least) || t->points[i].chip[rim])
            continue;
        int from = i, to = i;
        double end = fmax(CHIP_END_MM, 2 * scatter), depth = 0;
        while (from > 0 && shy(t, from - 1, rim, baseline[from - 1]) > end)
            from--;
        while (to + 1 < t->count && shy(t, to + 1, rim, baseline[to + 1]) > end)
            to++;
        for (int k = from; k <= to; k++)
            depth = fmax(depth, shy(t, k, rim, baseline[k]));
        double length = t->points[to].at_mm - t->points[from].at_mm, misfit = 0, dark = 0, deep = 0;
        for (int k = from; k <= to; k++) {
            misfit += t->points[k].misfit / (to - from + 1);
            if (shy(t, k, rim, baseline[k]) > CHIP_DEEP * depth) {
                dark += t->points[k].dark;
                deep++;
            }
        }
        if (length <= CHIP_LONGEST_MM && length >= CHIP_SHORTEST_MM && misfit < CHIP_MISFIT &&
            dark < CHIP_DARK * deep && from > 1 && to < t->count - 2) {
            for (int k = from - 1; k <= to + 1; k++)
                t->points[k].chip[rim] = true;
            if (add_chip(t, (sw_track_chip){rim, (t->points[from].at_mm + t->points[to].at_mm) / 2, length, depth}))
                return SW_NO_MEMORY;
        }
        i = to;
    }
    return SW_OK;
}

sw_status sw_chips_find(sw_track *t, int rim, double *baseline, double *work)
{
    size_t n = 0;
    baseline_of(t, rim, baseline, work);
    for (int i = 0; i < t->count; i++)
        if (isfinite(t->points[i].raw[rim]) && isfinite(baseline[i]))
            work[n++] = t->points[i].raw[rim] - baseline[i];
    if (n < LEAST_PLACES)
        return SW_NOT_FOUND;
    if (find_chips(t, rim, baseline, fmin(sw_mad_sigma(work, n, 0), CHIP_LEAST_MM / 3)))
        return SW_NO_MEMORY;
    /* once more without the chips, which near an end are most of what the median sees */
    baseline_of(t, rim, baseline, work);
    return SW_OK;
}
