/* next_step.c - the one thing to do first; its order is that of inspection/order.h. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspection/names.h"
#include "inspection/order.h"
#include "plan/making.h"

static bool any_over(const sw_making *m)
{
    for (size_t j = 0; j < m->plan->seam_count; j++)
        if (m->all->seams[j].verdict == SW_OVER)
            return true;
    return false;
}

/* The first thing that cannot be mended, chips apart: "" when there is none. */
static const char *first_hopeless(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->cannot.count; i++)
        if (plan->cannot.list[i].kind != SW_NOTE_CHIP)
            return plan->cannot.list[i].text;
    return "";
}

/* "B1-C1: Hold a try square to ...": a line's first sentence; the rest of it is in the list. */
static void say_line(const sw_making *m, const sw_work_line *line)
{
    sw_plan *plan = m->plan;
    const char *end = strstr(line->what, ". ");
    int length = end ? (int)(end - line->what) + 1 : (int)strlen(line->what);
    snprintf(plan->next, sizeof plan->next, "%s; then begin with the first line of the list. %s: %.*s", sw_order_begin,
             m->all->seams[line->seam].name, length, line->what);
}

static void say_nothing_to_sand(const sw_making *m)
{
    sw_plan *plan = m->plan;
    const sw_work_line *chips = plan->work_count ? plan->work : NULL;
    char *next = plan->next;
    size_t room = sizeof plan->next;
    if (any_over(m) && sw_plan_fits(plan))
        snprintf(
            next, room,
            "Sand nothing. Push the tiles together and photograph again: every seam can close to within %.2f mm so.",
            plan->tolerance_mm);
    else if (any_over(m))
        snprintf(next, room, "Sand nothing. Push the tiles together and photograph again. %s", first_hopeless(plan));
    else if (!sw_plan_fits(plan))
        snprintf(next, room, "Sand nothing. %s", first_hopeless(plan));
    else
        snprintf(next, room, "Sand nothing: every seam is within %.2f mm as far as this photo can tell.",
                 plan->tolerance_mm);
    if (chips)
        snprintf(next + strlen(next), room - strlen(next), " %s", chips->what);
}

/* The first edge of the plan with a bevel; NULL when there is none. */
static const sw_edge_plan *first_bevel(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->edge_count; i++)
        if (plan->edges[i].bevel_mm > 0)
            return &plan->edges[i];
    return NULL;
}

static void say_any(const sw_making *m)
{
    sw_plan *plan = m->plan;
    char name[EDGE_NAME_ROOM];
    const sw_edge_plan *bevel = first_bevel(plan), *edge = bevel ? bevel : plan->edges;
    if (!plan->edge_count) {
        snprintf(plan->next, sizeof plan->next, "Sand nothing: all tiles that can fit the common square of %.1f mm do.",
                 plan->common_tile_mm);
        return;
    }
    sw_edge_name(m->all, edge->tile, edge->side, name);
    if (!bevel)
        snprintf(plan->next, sizeof plan->next,
                 "True up %s first, by its strip, a little at a time. Do all edges of the plan, then photograph again.",
                 name);
    else
        snprintf(plan->next, sizeof plan->next,
                 "%s; then %s %s, and so on with all faces to bevel. True up after that, then photograph again.",
                 sw_order_begin,
                 edge->lean == SW_LEAN_OPEN ? "hold a try square and bevel only what leans, beginning with" : "bevel",
                 name);
}

void sw_plan_say_next(const sw_making *m)
{
    const sw_plan *plan = m->plan;
    if (plan->purpose == SW_PLAN_ANY)
        say_any(m);
    else if (plan->work_count && plan->work[0].seam >= 0)
        say_line(m, &plan->work[0]);
    else
        say_nothing_to_sand(m);
}
