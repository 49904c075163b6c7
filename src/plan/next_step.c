/* next_step.c - the one thing to do first. */
#include <math.h>
#include <stdio.h>

#include "plan/making.h"

/* The first edge of the plan that may lean; -1 when none may. */
static int first_open_bevel(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->edge_count; i++)
        if (plan->edges[i].lean == SW_LEAN_OPEN)
            return (int)i;
    return -1;
}

/* Some seam is over, and all will be within when the tiles are pushed. */
static bool pushing_does(const sw_making *m)
{
    bool now = false;
    for (size_t j = 0; j < m->plan->seam_count; j++)
        now |= m->all->seams[j].verdict == SW_OVER;
    return now && sw_plan_fits(m->plan);
}

void sw_plan_say_next(const sw_making *m)
{
    sw_plan *plan = m->plan;
    const sw_inspection *ins = m->all;
    const char *name = plan->edge_count ? ins->tiles[plan->edges[0].tile].name : "";
    int open = first_open_bevel(plan);
    if (plan->purpose == SW_PLAN_ANY && !plan->edge_count)
        snprintf(plan->next, sizeof plan->next, "Sand nothing: all tiles that can fit the common square of %.1f mm do.",
                 plan->common_tile_mm);
    else if (!plan->edge_count && pushing_does(m))
        snprintf(plan->next, sizeof plan->next,
                 "Sand nothing. Push the tiles together; every seam can close to within %.2f mm so.",
                 plan->tolerance_mm);
    else if (!plan->edge_count && plan->cannot.count)
        snprintf(plan->next, sizeof plan->next, "Sand nothing. %s", plan->cannot.list[0].text);
    else if (!plan->edge_count)
        snprintf(plan->next, sizeof plan->next,
                 "Sand nothing: every seam is within %.2f mm as far as this photo can tell.", plan->tolerance_mm);
    else if (plan->edges[0].true_up_count)
        snprintf(
            plan->next, sizeof plan->next,
            "%srue up %s %s first, by its strip, a little at a time. Do all edges of the plan, then push the tiles "
            "together, photograph again and run recheck.",
            open >= 0
                ? "Push the tiles together; seams that stay open along their whole length want the try square. Then t"
                : "T",
            name, sw_side_name(plan->edges[0].side));
    else if (open == 0)
        snprintf(plan->next, sizeof plan->next,
                 "Push the tiles together. Where the gap stays, hold a try square to both faces, beginning with %s %s, "
                 "and bevel the one that leans.",
                 name, sw_side_name(plan->edges[0].side));
    else
        snprintf(plan->next, sizeof plan->next,
                 "Bevel %s %s first, then the other edges of the plan; then photograph again and run recheck.", name,
                 sw_side_name(plan->edges[0].side));
}
