#include "recheck/closed.h"

#include <math.h>

#include "push/openings.h"

/* Rims of 36 edges that nothing came off, from photo to photo of loops at 2.4 px/mm, deviate from each other by
 * 0.018 mm and, of each of the two gaps, 0.15 mm exp(-gap / 0.05 mm) (maximum likelihood; tests/study/rims.py): in px */
static const double CLOSED_PX = 0.36, FADES_PX = 0.12;
/* Of an inspection that does not say how fine its photo was: as those. */
static const double USUAL_PX_PER_MM = 2.4;
/* The nearest place with a figure tells, up to so far away, mm. */
static const double NEAR_MM = 10;

const sw_seam *sw_seam_at(const sw_inspection *ins, int tile, sw_side side)
{
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        if ((s->first == tile && sw_joint_side(s, 0) == side) || (s->second == tile && sw_joint_side(s, 1) == side))
            return s;
    }
    return NULL;
}

/* Gap at the station nearest to a place that has one; NaN when there is none near. Stations are evenly spaced. */
static double gap_near(const sw_seam *seam, double at_mm)
{
    const sw_station *s = seam->stations;
    if (seam->station_count < 2)
        return NAN;
    double pitch_mm = s[1].at_mm - s[0].at_mm, last = (double)seam->station_count - 1;
    if (!(pitch_mm > 0))
        return NAN;
    long at = lround(fmin(fmax((at_mm - s[0].at_mm) / pitch_mm, 0), last));
    for (long off = 0; (double)off * pitch_mm <= NEAR_MM; off++)
        for (int way = -1; way <= 1; way += 2) {
            long k = at + way * off;
            if (k >= 0 && k <= (long)last && isfinite(s[k].gap_mm))
                return s[k].gap_mm;
        }
    return NAN;
}

double sw_closed_u_mm(const sw_inspection *ins, const sw_seam *seam, double at_mm)
{
    double px_per_mm = ins->scale.px_per_mm > 0 ? ins->scale.px_per_mm : USUAL_PX_PER_MM;
    double gap_mm = seam ? gap_near(seam, at_mm) : NAN;
    return isfinite(gap_mm) ? CLOSED_PX / px_per_mm * exp(-gap_mm * px_per_mm / FADES_PX) : 0;
}
