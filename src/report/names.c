#include "seamwright/report.h"

const char *sw_action_name(sw_action action)
{
    static const char *const names[] = {"true up", "bevel", "fill", "check", "leave"};
    return (unsigned)action < 5 ? names[action] : "?";
}

sw_verdict sw_inspection_verdict(const sw_inspection *inspection)
{
    sw_verdict verdict = SW_WITHIN;
    for (size_t i = 0; i < inspection->seam_count; i++) {
        if (inspection->seams[i].verdict == SW_OVER)
            return SW_OVER;
        if (inspection->seams[i].verdict == SW_TOO_CLOSE)
            verdict = SW_TOO_CLOSE;
    }
    return verdict;
}
