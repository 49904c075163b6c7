#include <math.h>

#include "maths/guard.h"
#include "seamwright/seam.h"

sw_verdict sw_verdict_of(double gap_mm, double u95_mm, double tolerance_mm)
{
    double guard_mm = SW_GUARD * u95_mm;
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
