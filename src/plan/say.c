/* say.c - what sanding cannot mend, what was not known, and the one next action. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plan/making.h"
#include "plan/removal.h"
#include "push/lp.h"

/* Less than this share of a seam seen is said. */
static const double SEEN_WELL = 0.8;

static sw_status add_sentence(char (**list)[320], size_t *count, const char *format, va_list arguments)
{
    char(*more)[320] = realloc(*list, (*count + 1) * sizeof *more);
    if (!more)
        return SW_NO_MEMORY;
    *list = more;
    vsnprintf(more[(*count)++], sizeof *more, format, arguments);
    return SW_OK;
}

sw_status sw_plan_cannot(sw_plan *plan, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    sw_status status = add_sentence(&plan->cannot, &plan->cannot_count, format, arguments);
    va_end(arguments);
    return status;
}

sw_status sw_plan_note(sw_plan *plan, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    sw_status status = add_sentence(&plan->notes, &plan->note_count, format, arguments);
    va_end(arguments);
    return status;
}

/* Over the tolerance by more than the photo leaves open, and by more than a last stroke of the sanding block. */
static int over(const sw_plan *plan, const sw_seam_plan *seam, double mm)
{
    double u95 = isfinite(seam->max_now_u95_mm) ? seam->max_now_u95_mm : 0;
    return mm > plan->tolerance_mm + fmax(u95, SW_LEAST_REMOVAL_MM);
}

static sw_status say_chips(sw_plan *plan, const sw_inspection *ins, const sw_chip *chips, size_t count)
{
    sw_status status = SW_OK;
    for (size_t i = 0; i < count && !status; i++)
        status = sw_plan_cannot(
            plan,
            "%s %s has a chip at %.0f mm, %.0f mm long and %.1f mm deep: fill it; never sand a whole edge for a chip.",
            ins->tiles[chips[i].tile].name, sw_side_name(chips[i].side), chips[i].at_mm, chips[i].length_mm,
            chips[i].depth_mm);
    return status;
}

static sw_status say_cannot(sw_making *m)
{
    sw_plan *plan = m->plan;
    const sw_inspection *ins = m->all;
    sw_status status = SW_OK;
    for (size_t j = 0; j < plan->seam_count && !status; j++) {
        const sw_seam_plan *seam = &plan->seams[j];
        const sw_seam *from = &ins->seams[j];
        if (isnan(seam->max_now_mm))
            status = sw_plan_cannot(
                plan, "%s was not seen, so nothing is planned for it: clear it and photograph again.", seam->name);
        else if (plan->purpose == SW_PLAN_LAYOUT && over(plan, seam, seam->max_after_mm))
            status =
                m->up.excess_mm[j] > SW_HOPELESS_MM
                    ? sw_plan_cannot(
                          plan,
                          "%s stays open by %.1f mm even with %.1f mm taken off, the most that is sensible to "
                          "sand: fill it, or cut %s or %s anew.",
                          seam->name, seam->max_after_mm, plan->deepest_cut_mm, ins->tiles[from->first].name,
                          ins->tiles[from->second].name)
                    : sw_plan_cannot(
                          plan, "%s stays open by %.2f mm: that little is not worth sanding; fill it if you see it.",
                          seam->name, seam->max_after_mm);
        if (!status)
            status = say_chips(plan, ins, from->chips, from->chip_count);
    }
    for (size_t t = 0; t < ins->tile_count && !status; t++)
        status = say_chips(plan, ins, ins->tiles[t].chips, ins->tiles[t].chip_count);
    return status;
}

static int any_standoff(const sw_making *m)
{
    for (size_t j = 0; j < m->e.count; j++)
        if (m->standoff_mm[j] > 0)
            return 1;
    return 0;
}

static sw_status say_notes(sw_making *m)
{
    sw_plan *plan = m->plan;
    sw_status status = SW_OK;
    for (size_t j = 0; j < m->e.count && !status; j++)
        if (m->e.seen[j] > 0 && m->e.seen[j] < SEEN_WELL)
            status = sw_plan_note(plan, "%s: only %.0f %% of it was seen; the plan knows nothing of the rest.",
                                  plan->seams[j].name, 100 * m->e.seen[j]);
    if (!status && any_standoff(m))
        status = sw_plan_note(
            plan, "That side faces lean supposes that the tiles were pushed tight for the photo. If they were not, "
                  "push them, photograph again, and plan from that.");
    if (!status && any_standoff(m) && !(m->all->table.height_mm > 0))
        status = sw_plan_note(plan, "Bevel angles are for side faces %.0f mm high; say --height if yours are not.",
                              plan->height_mm);
    return status;
}

static int first_open_bevel(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->edge_count; i++)
        if (plan->edges[i].lean == SW_LEAN_OPEN)
            return (int)i;
    return -1;
}

static int pushing_does(const sw_plan *plan)
{
    int now = 0;
    for (size_t j = 0; j < plan->seam_count; j++) {
        if (!isfinite(plan->seams[j].max_pushed_mm) || over(plan, &plan->seams[j], plan->seams[j].max_pushed_mm))
            return 0;
        now |= over(plan, &plan->seams[j], plan->seams[j].max_now_mm);
    }
    return now;
}

static void say_next(sw_making *m)
{
    sw_plan *plan = m->plan;
    const sw_inspection *ins = m->all;
    const char *name = plan->edge_count ? ins->tiles[plan->edges[0].tile].name : "";
    int open = first_open_bevel(plan);
    if (plan->purpose == SW_PLAN_ANY && !plan->edge_count)
        snprintf(plan->next, sizeof plan->next, "Sand nothing: all tiles that can fit the common square of %.1f mm do.",
                 plan->common_tile_mm);
    else if (!plan->edge_count && pushing_does(plan))
        snprintf(plan->next, sizeof plan->next,
                 "Sand nothing. Push the tiles together; every seam can close to within %.2f mm so.",
                 plan->tolerance_mm);
    else if (!plan->edge_count && plan->cannot_count)
        snprintf(plan->next, sizeof plan->next, "Sand nothing. %s", plan->cannot[0]);
    else if (!plan->edge_count)
        snprintf(plan->next, sizeof plan->next,
                 "Sand nothing: every seam is within %.2f mm as far as this photo can tell.", plan->tolerance_mm);
    else if (plan->edges[0].true_up_count)
        snprintf(
            plan->next, sizeof plan->next,
            "%srue up %s %s first, by its strip, a little at a time. Do all edges of the plan, then push the tiles "
            "together, "
            "photograph again and run recheck.",
            open >= 0
                ? "Push the tiles together; seams that stay open along their whole length want the try square. Then t"
                : "T",
            name, sw_side_name(plan->edges[0].side));
    else if (open == 0)
        snprintf(plan->next, sizeof plan->next,
                 "Push the tiles together. Where the gap stays, hold a try square to both faces, beginning with %s %s, "
                 "and bevel the one that "
                 "leans.",
                 name, sw_side_name(plan->edges[0].side));
    else
        snprintf(plan->next, sizeof plan->next,
                 "Bevel %s %s first, then the other edges of the plan; then photograph again and run recheck.", name,
                 sw_side_name(plan->edges[0].side));
}

sw_status sw_plan_say(sw_making *m, sw_error *err)
{
    sw_status status = say_cannot(m);
    if (!status)
        status = say_notes(m);
    if (status)
        return sw_plan_no_memory(err);
    say_next(m);
    return SW_OK;
}

/* Every seam was seen, and comes within the tolerance as far as can be told. */
bool sw_plan_fits(const sw_plan *plan)
{
    if (plan->purpose == SW_PLAN_ANY)
        return plan->fits_every_way;
    for (size_t j = 0; j < plan->seam_count; j++)
        if (!isfinite(plan->seams[j].max_after_mm) || over(plan, &plan->seams[j], plan->seams[j].max_after_mm))
            return false;
    return true;
}
