#include "plan_make.h"
sw_status sw_plan_any(sw_making *m, sw_error *err)
{
    (void)m;
    return sw_fail(err, SW_BAD_INPUT, "not yet");
}
sw_status sw_plan_settling(sw_making *m, sw_error *err)
{
    (void)m;
    (void)err;
    return SW_OK;
}
