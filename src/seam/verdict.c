#include <math.h>

#include "seamwright/seam.h"

/* u95 = K_EXPANDED u: the coverage factor of the 95 % expanded uncertainty (JCGM 100, 6.3.3). */
static const double K_EXPANDED = 2.0;
/* Guard band in standard uncertainties: 5 % of a normal distribution lies above it (JCGM 106; ISO 14253-1:2017). */
static const double K_GUARD = 1.645;

sw_verdict sw_verdict_of(double gap_mm, double u95_mm, double tolerance_mm)
{
    double guard_mm = K_GUARD * u95_mm / K_EXPANDED;
    /* A figure without a usable uncertainty decides nothing; NaN fails every comparison below. */
    if (!isfinite(gap_mm) || !(u95_mm >= 0))
        return SW_TOO_CLOSE;
    if (gap_mm <= tolerance_mm - guard_mm)
        return SW_WITHIN;
    if (gap_mm >= tolerance_mm + guard_mm)
        return SW_OVER;
    return SW_TOO_CLOSE;
}

const char *sw_verdict_name(sw_verdict verdict)
{
    static const char *const names[] = {"within", "over", "too close to call"};
    return (unsigned)verdict < 3 ? names[verdict] : "?";
}

const char *sw_station_state_name(sw_station_state state)
{
    static const char *const names[] = {"ok", "chip", "end", "unseen"};
    return (unsigned)state < 4 ? names[state] : "?";
}
