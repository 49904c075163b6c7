#include <stddef.h>

#include "report/plan/parts.h"

const char *sw_plan_for_name(sw_plan_for purpose)
{
    return purpose == SW_PLAN_ANY ? "any" : "layout";
}

const char *sw_lean_name(sw_lean_known lean)
{
    return lean == SW_LEAN_KNOWN ? "known" : lean == SW_LEAN_OPEN ? "open" : NULL;
}
