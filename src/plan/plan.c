/* plan.c - the whole way from inspections to a plan: push, find standoffs and leans, close the table, say it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lean/answers.h"
#include "lean/leans.h"
#include "lean/standoff.h"
#include "plan/making.h"
#include "push/lp.h"
#include "push/press.h"
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

/* As far as a seam was closed in the photo its bases cannot have held it open; nor further than both faces can lean. */
static void find_hold(sw_making *m)
{
    for (size_t j = 0; j < m->e.count; j++) {
        const sw_seam *seam = &m->all->seams[j];
        double most = 0;
        for (int rim = 0; rim < 2; rim++) {
            const sw_lean *lean = sw_plan_lean_of(m->plan, rim ? seam->second : seam->first, sw_joint_side(seam, rim));
            most += lean ? lean->most_mm : INFINITY;
        }
        m->hold_mm[j] = fmin(sw_hold_seen(&m->e, j), most);
    }
}

static sw_status plan_layout(sw_making *m, sw_error *err)
{
    sw_status status = sw_cutter_new(m->all, &m->e, m->deepest_mm, &m->cutter, err);
    sw_gaping gaping = {m->all, &m->e, m->hold_mm, m->standoff_mm, m->cutter};
    if (!status)
        status = sw_closing_find(&gaping, m->tolerance_mm, SW_FULLY, &m->closing, err);
    if (!status)
        status = sw_plan_edges(m, err);
    if (!status)
        status = sw_plan_work(m, err);
    if (!status)
        status = sw_plan_by_limit(m, err);
    return status;
}

static sw_status find_leans(const sw_plan_options *options, sw_making *m, sw_error *err)
{
    sw_plan *plan = m->plan;
    sw_status status = sw_answers_used(options->answers, options->answer_count, m->all, &m->e, &plan->answers,
                                       &plan->answer_count, &plan->notes, err);
    const sw_lean_sources from = {m->all, m->count, m->layouts, &m->e, &m->pushed, plan->answers, plan->answer_count};
    return status ? status : sw_leans_of(&from, &plan->leans, &plan->lean_count, err);
}

static sw_status run(const sw_plan_options *options, sw_making *m, sw_error *err)
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
    m->hold_mm = calloc(m->e.count + 1, sizeof(double));
    if (!m->standoff_mm || !m->standoff_u95_mm || !m->hold_mm)
        return sw_plan_no_memory(err);
    status = sw_press(m->e.centres, m->e.tiles, m->e.joints, m->e.count, 1, &m->pushed, err);
    if (!status) {
        sw_standoffs(&m->e, &m->pushed, m->standoff_mm, m->standoff_u95_mm);
        status = find_leans(options, m, err);
    }
    if (!status)
        find_hold(m);
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
        status = run(options, &m, err);
    sw_cutter_free(&m.cutter);
    sw_openings_free(&m.e);
    sw_settled_free(&m.pushed);
    sw_closing_free(&m.closing);
    free(m.standoff_mm);
    free(m.standoff_u95_mm);
    free(m.hold_mm);
    if (status)
        sw_plan_free(plan);
    return status;
}
