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

sw_verdict sw_seam_verdict_at(const sw_seam *seam, double tolerance_mm)
{
    double u95_mm = seam->seen_u95_mm > 0 ? seam->seen_u95_mm : seam->max_u95_mm;
    sw_verdict verdict = sw_verdict_of(seam->max_mm, u95_mm, tolerance_mm);
    if (verdict == SW_WITHIN && seam->hidden_mm > seam->max_mm + SW_GUARD * u95_mm)
        verdict = sw_verdict_of(seam->max_mm, (seam->hidden_mm - seam->max_mm) / SW_GUARD, tolerance_mm);
    return verdict;
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
