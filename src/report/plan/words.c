#include "report/plan/words.h"

#include <math.h>

#include "report/common/words.h"

/* A widest gap that comes down by less does not show in tenths, mm. */
static const double SHOWS_MM = 0.05;

const char sw_plan_words_try_square[] =
    "Lay the tile on a flat board with its face up, stand a try square on the board and push its blade against the "
    "side face. Light at the top and contact at the base: this face leans, bevel it. Contact all the way up: it does "
    "not, leave it. Do the same with the edge it faces. If both lean, share the figure between them; if neither does, "
    "look for dust or a splinter between the tiles, push and photograph again.";

const char *const sw_plan_words_strips[] = {
    "Print strips.pdf at 100 % (\"actual size\", not fit to page). The ruler on every sheet must measure 100 mm.",
    "Lay an edge's strip on the tile, its arrow to the tile, its ends at the tile's ends, and mark the places on the "
    "tile.",
    "Sand with a flat block longer than the stretch, square to the top, a little at a time. Take off half of what the "
    "strip "
    "says, then measure or try the fit.",
    "Stop early rather than late: what is off stays off.", NULL};

bool sw_plan_stretch(const sw_edge_plan *edge, double from_mm, sw_stretch *stretch)
{
    bool found = false;
    for (size_t i = 1; i < edge->true_up_count; i++) {
        const sw_removal *a = &edge->true_up[i - 1], *b = &edge->true_up[i];
        bool some = a->remove_mm >= SW_PLAN_NOTHING_MM || b->remove_mm >= SW_PLAN_NOTHING_MM;
        if (found && !some)
            break;
        if (!some || (!found && a->at_mm < from_mm))
            continue;
        if (!found)
            stretch->from_mm = a->at_mm;
        stretch->to_mm = b->at_mm;
        found = true;
    }
    return found;
}

double sw_plan_removal(const sw_edge_plan *edge, double at_mm)
{
    for (size_t i = 1; i < edge->true_up_count; i++) {
        const sw_removal *a = &edge->true_up[i - 1], *b = &edge->true_up[i];
        if (at_mm < a->at_mm || at_mm > b->at_mm)
            continue;
        double share = b->at_mm > a->at_mm ? (at_mm - a->at_mm) / (b->at_mm - a->at_mm) : 0;
        return a->remove_mm + share * (b->remove_mm - a->remove_mm);
    }
    return 0;
}

bool sw_plan_sands(const sw_edge_plan *edge)
{
    return edge->true_up && edge->deepest_mm >= SW_PLAN_NOTHING_MM;
}

bool sw_plan_bevels(const sw_edge_plan *edge)
{
    return edge->bevel_mm >= SW_PLAN_NOTHING_MM;
}

bool sw_plan_any_sanding(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->edge_count; i++)
        if (sw_plan_sands(&plan->edges[i]) || sw_plan_bevels(&plan->edges[i]))
            return true;
    return false;
}

double sw_plan_deepest(const sw_plan *plan)
{
    double deepest = 0;
    for (size_t i = 0; i < plan->edge_count; i++)
        if (sw_plan_sands(&plan->edges[i]))
            deepest = fmax(deepest, plan->edges[i].deepest_mm);
    return deepest;
}

sw_verdict sw_plan_seam_verdict(const sw_plan *plan, const sw_seam_plan *seam)
{
    (void)plan;
    return seam->forecast;
}

int sw_plan_decimals(double remove_mm)
{
    return remove_mm < 0.1 - SW_PLAN_NOTHING_MM ? 2 : 1;
}

/* "true up 4 edges, at most 1.25 mm deep, bevel 2, hold a try square to 6" */
static void put_deeds(sw_sheet *sheet, const sw_plan *plan)
{
    size_t sand = 0, bevel = 0, open = 0;
    for (size_t i = 0; i < plan->edge_count; i++) {
        sand += sw_plan_sands(&plan->edges[i]);
        if (sw_plan_bevels(&plan->edges[i]))
            *(plan->edges[i].lean == SW_LEAN_OPEN ? &open : &bevel) += 1;
    }
    if (open)
        sw_sheet_put(sheet, "hold a try square to %zu face%s", open, open == 1 ? "" : "s");
    if (bevel)
        sw_sheet_put(sheet, "%sbevel %zu face%s", open ? ", " : "", bevel, bevel == 1 ? "" : "s");
    if (sand)
        sw_sheet_put(sheet, "%strue up %zu edge%s, at most %.2f mm deep", open || bevel ? ", " : "", sand,
                     sand == 1 ? "" : "s", sw_plan_deepest(plan));
}

/* How the seams will be; unseen ones count apart. */
typedef struct outcome {
    size_t within, close, over, blind;
    const sw_seam_plan *worst; /* of the most serious kind there is but within */
} outcome;

static int gravity(const sw_seam_plan *seam)
{
    return seam->forecast == SW_OVER ? 2 : seam->forecast == SW_TOO_CLOSE ? 1 : 0;
}

static outcome look_outcome(const sw_plan *plan)
{
    outcome all = {0};
    for (size_t i = 0; i < plan->seam_count; i++) {
        const sw_seam_plan *seam = &plan->seams[i];
        if (!isfinite(seam->forecast_mm)) {
            all.blind++;
            continue;
        }
        *(seam->forecast == SW_WITHIN ? &all.within : seam->forecast == SW_OVER ? &all.over : &all.close) += 1;
        if (!all.worst || gravity(seam) > gravity(all.worst) ||
            (gravity(seam) == gravity(all.worst) && seam->forecast_mm > all.worst->forecast_mm))
            all.worst = seam;
    }
    return all;
}

/* "every seam is promised to be within 0.50 mm", or how many are, how many are too close, over, not seen. */
static void put_outcome(sw_sheet *sheet, const sw_plan *plan)
{
    outcome all = look_outcome(plan);
    if (sw_plan_fits(plan)) {
        sw_sheet_put(sheet, "every seam is promised to be within %.2f mm", plan->tolerance_mm);
        return;
    }
    sw_sheet_put(sheet, "%zu of %zu seams %s promised to be within %.2f mm", all.within, plan->seam_count,
                 all.within == 1 ? "is" : "are", plan->tolerance_mm);
    if (all.close)
        sw_sheet_put(sheet, ", %zu %s too close to promise", all.close, all.close == 1 ? "is" : "are");
    if (all.over)
        sw_sheet_put(sheet, ", %zu will stay over", all.over);
    if (all.blind)
        sw_sheet_put(sheet, ", %zu %s not seen", all.blind, all.blind == 1 ? "was" : "were");
    if (all.over || all.close) {
        sw_sheet_put(sheet, "; the worst is %s with ", all.worst->name);
        sw_words_figure(sheet, all.worst->forecast_mm, all.worst->forecast_u95_mm);
        sw_sheet_put(sheet, " mm");
    }
}

static void put_any_outcome(sw_sheet *sheet, const sw_plan *plan)
{
    if (plan->fits_every_way)
        sw_sheet_put(sheet, "the tiles will then fit in every arrangement, turned any way, within %.2f mm",
                     plan->tolerance_mm);
    else
        sw_sheet_put(sheet, "the tiles will not fit in every arrangement within %.2f mm", plan->tolerance_mm);
}

void sw_plan_words_work(sw_sheet *sheet, const sw_plan *plan)
{
    size_t seams = 0;
    if (!plan->edge_count)
        return;
    for (size_t i = 0; i < plan->work_count; i++)
        seams += plan->work[i].seam >= 0;
    sw_sheet_put(sheet, "Work");
    if (seams)
        sw_sheet_put(sheet, " at %zu seam%s", seams, seams == 1 ? "" : "s");
    sw_sheet_put(sheet, ": ");
    put_deeds(sheet, plan);
    sw_sheet_put(sheet, ".");
}

void sw_plan_words_verdict(sw_sheet *sheet, const sw_plan *plan)
{
    sw_sheet_put(sheet, "%s", plan->edge_count ? "Carried out and pushed: " : "Nothing to sand. Pushed: ");
    if (plan->purpose == SW_PLAN_ANY)
        put_any_outcome(sheet, plan);
    else
        put_outcome(sheet, plan);
    sw_sheet_put(sheet, ".");
}

const char *sw_plan_work_name(const sw_inspection *first, const sw_work_line *line)
{
    return line->seam >= 0 && (size_t)line->seam < first->seam_count ? first->seams[line->seam].name : "Chips";
}

void sw_plan_words_worth(sw_sheet *sheet, const sw_work_line *line)
{
    double from_mm = line->widest_from_mm, to_mm = line->widest_to_mm;
    if (line->seam < 0)
        return;
    if (from_mm - to_mm < SHOWS_MM)
        sw_sheet_put(sheet, "other seams stay open by up to %.1f mm", to_mm);
    else
        sw_sheet_put(sheet, "widest gap of the table %.1f -> %.1f mm", from_mm, to_mm);
}

bool sw_plan_own_limit(const sw_plan *plan, const sw_limit_cost *cost)
{
    return fabs(cost->limit_mm - plan->tolerance_mm) < SW_PLAN_NOTHING_MM;
}

bool sw_plan_words_chips(sw_sheet *sheet, const char *before, const sw_plan *plan)
{
    size_t count = 0;
    for (size_t i = 0; i < plan->cannot.count; i++) {
        const sw_note *note = &plan->cannot.list[i];
        if (note->kind == SW_NOTE_CHIP && note->place_count)
            sw_sheet_put(sheet, "%s%s%s", count ? "" : before,
                         count ? ", " : "Chips, to be filled and never sanded out: ", note->places[0]);
        count += note->kind == SW_NOTE_CHIP && note->place_count;
    }
    if (count)
        sw_sheet_put(sheet, ".");
    return count > 0;
}

void sw_plan_words_edge(sw_sheet *sheet, const sw_edge_plan *edge)
{
    bool bevels = sw_plan_bevels(edge);
    if (bevels)
        sw_sheet_put(sheet, "%s %.2f mm (%.1f°) at the base, nothing at the top edge.%s",
                     edge->lean == SW_LEAN_OPEN ? "If it leans: bevel at most" : "Bevel", edge->bevel_mm,
                     edge->bevel_deg, sw_plan_sands(edge) ? " Then t" : "");
    if (sw_plan_sands(edge))
        sw_sheet_put(sheet, "%sake off at most %.2f mm of the top edge.", bevels ? "" : "T", edge->deepest_mm);
}

bool sw_plan_words_proposal(sw_sheet *sheet, const sw_plan *plan)
{
    if (!plan->settling_layout || !plan->settling_layout[0])
        return false;
    sw_sheet_put(sheet,
                 "Or find out which edges lean without a try square: lay the tiles as \"%s\", push tight, photograph, "
                 "inspect, and plan from both inspections with that as --layout.",
                 plan->settling_layout);
    return true;
}
