#include "recheck/closed.h"

#include <math.h>

#include "push/openings.h"

/* Rims of 36 edges that nothing came off, from photo to photo of loops at 2.4 px/mm, deviate from each other by
 * 0.018 mm and, of each of the two gaps, 0.15 mm exp(-gap / 0.05 mm) (maximum likelihood; tests/study/rims.py): in px */
static const double CLOSED_PX = 0.36, FADES_PX = 0.12;
/* Of an inspection that does not say how fine its photo was: as those. */
static const double USUAL_PX_PER_MM = 2.4;
/* Rims are smoothed over some 22 mm, so what is read wrong spreads to half of that, mm. */
static const double SPREADS_MM = 11;

const sw_seam *sw_seam_at(const sw_inspection *ins, int tile, sw_side side)
{
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        if ((s->first == tile && sw_joint_side(s, 0) == side) || (s->second == tile && sw_joint_side(s, 1) == side))
            return s;
    }
    return NULL;
}

/* Least gap near a place; NaN when none was seen there. Stations are evenly spaced. */
static double least_near(const sw_seam *seam, double at_mm)
{
    const sw_station *s = seam->stations;
    double least = NAN;
    if (seam->station_count < 2 || !(s[1].at_mm > s[0].at_mm))
        return NAN;
    double pitch_mm = s[1].at_mm - s[0].at_mm, last = (double)seam->station_count - 1;
    double from = ceil((at_mm - SPREADS_MM - s[0].at_mm) / pitch_mm),
           to = floor((at_mm + SPREADS_MM - s[0].at_mm) / pitch_mm);
    for (size_t k = (size_t)fmax(0, from); k <= (size_t)fmax(0, fmin(to, last)); k++)
        least = fmin(least, s[k].gap_mm); /* fmin leaves out what is not a number */
    return least;
}

double sw_closed_u_mm(const sw_inspection *ins, const sw_seam *seam, double at_mm)
{
    double px_per_mm = ins->scale.px_per_mm > 0 ? ins->scale.px_per_mm : USUAL_PX_PER_MM;
    double gap_mm = seam ? least_near(seam, at_mm) : NAN;
    return isfinite(gap_mm) ? CLOSED_PX / px_per_mm * exp(-gap_mm * px_per_mm / FADES_PX) : 0;
}
