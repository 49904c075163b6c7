#include "inspection/names.h"

#include <math.h>
#include <stdio.h>

const char *sw_action_name(sw_action action)
{
    static const char *const names[] = {"true up", "bevel", "fill", "check", "leave"};
    return (unsigned)action < 5 ? names[action] : "?";
}

const char *sw_top_action_name(sw_top_action action)
{
    static const char *const names[] = {"plane down", "pack up"};
    return (unsigned)action < 2 ? names[action] : "?";
}

sw_verdict sw_step_verdict(const sw_inspection *inspection, const sw_seam *seam)
{
    double limit_mm = inspection->lippage_mm > 0 ? inspection->lippage_mm : NAN;
    return sw_verdict_of(fabs(seam->step_largest_mm), seam->step_u95_mm, limit_mm);
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

const char *sw_end_name(sw_side side, int far)
{
    static const char *const names[2][2] = {{"north end", "south end"}, {"west end", "east end"}};
    return names[side == SW_NORTH || side == SW_SOUTH][far != 0];
}

const char *sw_edge_name(const sw_inspection *inspection, int tile, sw_side side, char name[EDGE_NAME_ROOM])
{
    name[0] = 0;
    if (tile >= 0 && (size_t)tile < inspection->tile_count)
        snprintf(name, EDGE_NAME_ROOM, "%s %s", inspection->tiles[tile].name, sw_side_name(side));
    return name;
}
