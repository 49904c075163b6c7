#include "report/plan/words.h"

#include <math.h>

const char sw_plan_words_try_square[] =
    "Lay the tile on a flat board with its face up, stand a try square on the board and push its blade against the "
    "side face. Light at the top and contact at the base: this face leans, bevel it. Contact all the way up: it does "
    "not, leave it. Do the same with the edge it faces.";

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
    sw_plan alone = *plan; /* a plan of this seam only, so that the verdict is always the plan's own */
    alone.purpose = SW_PLAN_LAYOUT;
    alone.seams = (sw_seam_plan *)seam;
    alone.seam_count = 1;
    if (!isfinite(seam->max_after_mm))
        return SW_TOO_CLOSE;
    if (seam->max_after_mm < plan->tolerance_mm + SW_PLAN_NOTHING_MM) /* shows as the tolerance, or less */
        return SW_WITHIN;
    return sw_plan_fits(&alone) ? SW_TOO_CLOSE : SW_OVER;
}

int sw_plan_decimals(double remove_mm)
{
    return remove_mm < 0.1 - SW_PLAN_NOTHING_MM ? 2 : 1;
}

/* "Sand 4 edges, at most 1.25 mm deep, and bevel 2: " */
static void put_deeds(sw_sheet *sheet, const sw_plan *plan)
{
    size_t sand = 0, bevel = 0, open = 0;
    for (size_t i = 0; i < plan->edge_count; i++) {
        sand += sw_plan_sands(&plan->edges[i]);
        if (sw_plan_bevels(&plan->edges[i]))
            *(plan->edges[i].lean == SW_LEAN_OPEN ? &open : &bevel) += 1;
    }
    if (sand)
        sw_sheet_put(sheet, "Sand %zu edge%s, at most %.2f mm deep", sand, sand == 1 ? "" : "s", sw_plan_deepest(plan));
    if (bevel)
        sw_sheet_put(sheet, "%s %zu", sand ? ", bevel" : "Bevel", bevel);
    if (bevel && !sand)
        sw_sheet_put(sheet, " edge%s", bevel == 1 ? "" : "s");
    if (open)
        sw_sheet_put(sheet, "%s %zu that may lean", sand || bevel ? ", check" : "Check", open);
    sw_sheet_put(sheet, ": ");
}

/* "every seam will be within 0.50 mm" or how many will not, and the worst of them. */
static void put_outcome(sw_sheet *sheet, const sw_plan *plan)
{
    size_t over = 0, blind = 0, close = 0;
    const sw_seam_plan *worst = NULL;
    for (size_t i = 0; i < plan->seam_count; i++) {
        const sw_seam_plan *seam = &plan->seams[i];
        sw_verdict verdict = sw_plan_seam_verdict(plan, seam);
        over += verdict == SW_OVER;
        blind += !isfinite(seam->max_after_mm);
        close += verdict == SW_TOO_CLOSE && isfinite(seam->max_after_mm);
        if (verdict == SW_OVER && (!worst || seam->max_after_mm > worst->max_after_mm))
            worst = seam;
    }
    if (worst)
        sw_sheet_put(sheet, "%zu of %zu seams will still be over %.2f mm, the worst is %s with %.2f mm", over,
                     plan->seam_count, plan->tolerance_mm, worst->name, worst->max_after_mm);
    else
        sw_sheet_put(sheet, "every seam%s will be within %.2f mm%s", blind ? " that was seen" : "", plan->tolerance_mm,
                     close ? " as far as the photo can tell" : "");
    if (blind)
        sw_sheet_put(sheet, "; %zu %s not seen, so nobody knows about %s", blind, blind == 1 ? "was" : "were",
                     blind == 1 ? "it" : "them");
}

static void put_any_outcome(sw_sheet *sheet, const sw_plan *plan)
{
    if (plan->fits_every_way)
        sw_sheet_put(sheet, "the tiles will then fit in every arrangement, turned any way, within %.2f mm",
                     plan->tolerance_mm);
    else
        sw_sheet_put(sheet, "the tiles will not fit in every arrangement within %.2f mm", plan->tolerance_mm);
}

void sw_plan_words_verdict(sw_sheet *sheet, const sw_plan *plan)
{
    if (plan->edge_count)
        put_deeds(sheet, plan);
    else
        sw_sheet_put(sheet, "Nothing to sand: ");
    if (plan->purpose == SW_PLAN_ANY)
        put_any_outcome(sheet, plan);
    else
        put_outcome(sheet, plan);
    if (!plan->edge_count && plan->purpose != SW_PLAN_ANY)
        sw_sheet_put(sheet, " once the tiles are pushed together");
    sw_sheet_put(sheet, ".");
}

void sw_plan_words_edge(sw_sheet *sheet, const sw_edge_plan *edge)
{
    if (sw_plan_sands(edge))
        sw_sheet_put(sheet, "Take off at most %.2f mm of the top edge.", edge->deepest_mm);
    if (sw_plan_bevels(edge))
        sw_sheet_put(sheet, "%s %.2f mm (%.1f°) at the base, nothing at the top edge.",
                     !sw_plan_sands(edge)         ? edge->lean == SW_LEAN_OPEN ? "If it leans: bevel at most" : "Bevel"
                     : edge->lean == SW_LEAN_OPEN ? " If it leans, also bevel at most"
                                                  : " Also bevel",
                     edge->bevel_mm, edge->bevel_deg);
}
