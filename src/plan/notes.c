/* notes.c - what sanding cannot mend, and what was not known. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/names.h"
#include "plan/making.h"
#include "plan/removal_words.h"
#include "push/lp.h"

/* Less than this share of a seam seen is said. */
static const double SEEN_WELL = 0.8;

static sw_status say_chips(sw_notes *cannot, const sw_inspection *ins, const sw_chip *chips, size_t count)
{
    sw_status status = SW_OK;
    for (size_t i = 0; i < count && !status; i++) {
        char edge[EDGE_NAME_ROOM];
        sw_edge_name(ins, chips[i].tile, chips[i].side, edge);
        status = sw_note_add(
            cannot, SW_NOTE_CHIP,
            "%s has a chip at %.0f mm, %.0f mm long and %.1f mm deep: fill it; never sand a whole edge for a chip.",
            edge, chips[i].at_mm, chips[i].length_mm, chips[i].depth_mm);
        sw_note_at(cannot, edge);
    }
    return status;
}

/* What the plan does not promise of a seam. */
static sw_status say_forecast(sw_making *m, size_t j)
{
    sw_plan *plan = m->plan;
    const sw_seam_plan *seam = &plan->seams[j];
    const sw_seam *from = &m->all->seams[j];
    if (seam->forecast == SW_WITHIN)
        return SW_OK;
    if (seam->forecast == SW_TOO_CLOSE)
        return sw_note_add(
            &plan->cannot, SW_NOTE_NOT_PROMISED,
            "%s is not promised: it will be %.2f ± %.2f mm, too close to %.2f mm to call. See what it is "
            "when all is done and pushed.",
            seam->name, seam->forecast_mm, seam->forecast_u95_mm, plan->tolerance_mm);
    if (m->closing.up.excess_mm[j] > SW_HOPELESS_MM)
        return sw_note_add(&plan->cannot, SW_NOTE_STAYS_OPEN,
                           "%s stays open by %.1f mm even with %.1f mm taken off, the most that is sensible to sand: "
                           "fill it, or cut %s or %s anew.",
                           seam->name, seam->forecast_mm, plan->deepest_cut_mm, m->all->tiles[from->first].name,
                           m->all->tiles[from->second].name);
    return sw_note_add(&plan->cannot, SW_NOTE_STAYS_OPEN,
                       "%s stays open by %.2f mm: that little is not worth sanding; fill it if you see it.", seam->name,
                       seam->forecast_mm);
}

static sw_status say_cannot(sw_making *m)
{
    sw_plan *plan = m->plan;
    const sw_inspection *ins = m->all;
    sw_status status = SW_OK;
    for (size_t j = 0; j < plan->seam_count && !status; j++) {
        const sw_seam_plan *seam = &plan->seams[j];
        const sw_seam *from = &ins->seams[j];
        size_t before = plan->cannot.count;
        if (isnan(seam->max_now_mm))
            status = sw_note_add(&plan->cannot, SW_NOTE_SEAM_UNSEEN,
                                 "%s was not seen, so nothing is planned for it: clear it and photograph again.",
                                 seam->name);
        else if (plan->purpose == SW_PLAN_LAYOUT)
            status = say_forecast(m, j);
        if (plan->cannot.count > before)
            sw_note_at(&plan->cannot, seam->name);
        if (!status)
            status = say_chips(&plan->cannot, ins, from->chips, from->chip_count);
    }
    for (size_t t = 0; t < ins->tile_count && !status; t++)
        status = say_chips(&plan->cannot, ins, ins->tiles[t].chips, ins->tiles[t].chip_count);
    return status;
}

static bool any_standoff(const sw_making *m)
{
    for (size_t j = 0; j < m->e.count; j++)
        if (m->standoff_mm[j] > 0)
            return true;
    return false;
}

static sw_status say_notes(sw_making *m)
{
    sw_plan *plan = m->plan;
    sw_status status = SW_OK;
    for (size_t j = 0; j < m->e.count && !status; j++)
        if (m->e.seen[j] > 0 && m->e.seen[j] < SEEN_WELL) {
            status = sw_note_add(&plan->notes, SW_NOTE_SEAM_UNSEEN,
                                 "%s: only %.0f %% of it was seen; the plan knows nothing of the rest.",
                                 plan->seams[j].name, 100 * m->e.seen[j]);
            sw_note_at(&plan->notes, plan->seams[j].name);
        }
    if (!status && any_standoff(m))
        status = sw_note_add(&plan->notes, SW_NOTE_LEAN_POSSIBLE,
                             "That side faces lean supposes that the tiles were pushed tight for the photo. If they "
                             "were not, push them, photograph again, and plan from that.");
    if (!status && any_standoff(m) && !(m->all->table.height_mm > 0))
        status = sw_note_add(&plan->notes, SW_NOTE_HEIGHT_ASSUMED,
                             "Bevel angles are for side faces %.0f mm high; if yours are not, plan again and say how "
                             "high with --height.",
                             plan->height_mm);
    return status;
}

sw_status sw_plan_say_notes(sw_making *m, sw_error *err)
{
    sw_status status = say_cannot(m);
    if (!status)
        status = say_notes(m);
    return status ? sw_plan_no_memory(err) : SW_OK;
}
