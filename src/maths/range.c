#include "seamwright/defaults_and_ranges.h"

sw_status sw_range_check(sw_range range, const char *what, double value_mm, sw_error *err)
{
    if (value_mm >= range.least && value_mm <= range.most)
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT, "%s must be from %g to %g mm", what, range.least, range.most);
}

sw_status sw_range_take(sw_range range, const char *what, double given_mm, double otherwise_mm, double *value_mm,
                        sw_error *err)
{
    *value_mm = given_mm != 0 ? given_mm : otherwise_mm;
    return sw_range_check(range, what, *value_mm, err);
}
