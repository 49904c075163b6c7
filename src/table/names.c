#include "seamwright/table.h"

const char *sw_side_name(sw_side side)
{
    static const char *const names[] = {"north", "east", "south", "west"};
    return (unsigned)side < 4 ? names[side] : "?";
}

const char *sw_corner_label(sw_corner_name corner)
{
    static const char *const labels[] = {"NW", "NE", "SE", "SW"};
    return (unsigned)corner < 4 ? labels[corner] : "?";
}
