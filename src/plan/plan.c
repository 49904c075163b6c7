/* plan.c - the whole way from inspections to a plan: push, find standoffs, true up, bevel what needs it, push again,
 * say it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lean/leans.h"
#include "lean/standoff.h"
#include "maths/guard.h"
#include "plan/bevel.h"
#include "plan/making.h"
#include "push/lp.h"
#include "push/same_tiles.h"
#include "seamwright/defaults_and_ranges.h"

static sw_status take_options(const sw_plan_options *options, const sw_inspection *first, sw_making *m, sw_error *err)
{
    double height_mm = first->table.height_mm > 0 ? first->table.height_mm : SW_HEIGHT_MM.usual;
    sw_status status = sw_range_take(SW_TOLERANCE_MM, "the tolerance", options->tolerance_mm, first->tolerance_mm,
                                     &m->tolerance_mm, err);
    if (!status)
        status =
            sw_range_take(SW_CUT_MM, "the deepest cut", options->deepest_cut_mm, SW_CUT_MM.usual, &m->deepest_mm, err);
    if (!status)
        status = sw_range_take(SW_HEIGHT_MM, "the height of the side faces", options->height_mm, height_mm,
                               &m->height_mm, err);
    sw_plan *plan = m->plan;
    plan->purpose = options->purpose;
    plan->tolerance_mm = m->tolerance_mm;
    plan->deepest_cut_mm = m->deepest_mm;
    plan->height_mm = m->height_mm;
    plan->common_tile_mm = plan->common_tile_u95_mm = NAN;
    plan->limiting_tile = -1;
    return status;
}

/* By how much a joint may come out wider than the others: what is hopeless about it, or, on a table that is left alone
 * because it is within as far as can be told, how far that can be told there. */
static double allowed(const sw_making *m, size_t j)
{
    double cut = 0, u95 = m->all->seams[j].max_u95_mm;
    for (size_t c = 0; c < m->up.count; c++)
        cut = fmax(cut, m->up.cuts[c].deepest_mm);
    if (m->up.excess_mm[j] > SW_HOPELESS_MM)
        return m->up.excess_mm[j];
    return cut > 0 || !isfinite(u95) ? 0 : SW_GUARD * u95;
}

/* The joints as they are after sanding: gaps with what came off, floors where a standoff stays. */
static sw_status settle_after(sw_making *m, sw_error *err)
{
    sw_openings *e = &m->e;
    for (size_t j = 0; j < e->count; j++) {
        e->joints[j].floor_mm = m->bevel[j] ? 0 : m->standoff_mm[j];
        e->joints[j].allow_mm = allowed(m, j);
        for (size_t i = 0; i < e->joints[j].point_count; i++)
            e->joints[j].points[i].gap_mm += sw_true_up_off(&m->up, (int)j, e->joints[j].points[i].at_mm);
    }
    sw_status status = sw_settle(e->centres, e->tiles, e->joints, e->count, &m->after, err);
    for (size_t j = 0; j < e->count; j++)
        for (size_t i = 0; i < e->joints[j].point_count; i++)
            e->joints[j].points[i].gap_mm -= sw_true_up_off(&m->up, (int)j, e->joints[j].points[i].at_mm);
    return status;
}

static sw_status plan_layout(sw_making *m, sw_error *err)
{
    sw_status status = sw_true_up_make(m->all, &m->e, m->tolerance_mm, m->deepest_mm, &m->up, err);
    if (!status)
        status = sw_bevels_find(&m->e, &m->up, m->standoff_mm, m->tolerance_mm, m->bevel, err);
    if (!status)
        status = settle_after(m, err);
    if (!status)
        status = sw_plan_edges(m, err);
    return status;
}

static sw_status run(sw_making *m, sw_error *err)
{
    sw_status status = sw_openings_make(m->all, &m->e, err);
    size_t seen = 0;
    for (size_t j = 0; !status && j < m->e.count; j++)
        seen += m->e.seen[j] > 0;
    if (!status && !seen)
        status = sw_fail(err, SW_BAD_INPUT,
                         "%s: not one seam was seen, so there is nothing to plan from; photograph the table again",
                         m->all->file);
    if (status)
        return status;
    m->standoff_mm = calloc(m->e.count + 1, sizeof(double));
    m->standoff_u95_mm = calloc(m->e.count + 1, sizeof(double));
    m->bevel = calloc(m->e.count + 1, sizeof(bool));
    if (!m->standoff_mm || !m->standoff_u95_mm || !m->bevel)
        return sw_plan_no_memory(err);
    status = sw_settle(m->e.centres, m->e.tiles, m->e.joints, m->e.count, &m->pushed, err);
    if (!status) {
        sw_standoffs(&m->e, &m->pushed, m->standoff_mm, m->standoff_u95_mm);
        const sw_lean_sources from = {m->all, m->count, m->layouts, &m->e, &m->pushed, NULL, 0};
        status = sw_leans_of(&from, &m->plan->leans, &m->plan->lean_count, err);
    }
    if (!status)
        status = m->plan->purpose == SW_PLAN_ANY ? sw_plan_any(m, err) : plan_layout(m, err);
    if (!status)
        status = sw_plan_seams(m, err);
    if (!status)
        status = sw_plan_settling(m, err);
    if (!status)
        status = sw_plan_say_notes(m, err);
    if (!status)
        sw_plan_say_next(m);
    return status;
}

sw_status sw_plan_make(const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                       const sw_plan_options *options, sw_plan *plan, sw_error *err)
{
    *plan = (sw_plan){0};
    sw_making m = {.all = inspections, .layouts = layouts, .count = count, .plan = plan};
    sw_status status = sw_same_tiles(inspections, count, layouts, err);
    if (!status)
        status = take_options(options, inspections, &m, err);
    if (!status)
        status = run(&m, err);
    sw_openings_free(&m.e);
    sw_settled_free(&m.pushed);
    sw_settled_free(&m.after);
    sw_true_up_free(&m.up);
    free(m.standoff_mm);
    free(m.standoff_u95_mm);
    free(m.bevel);
    if (status)
        sw_plan_free(plan);
    return status;
}
