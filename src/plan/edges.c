/* edges.c - cuts and bevels as a list of edges, each with its line in words. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lean/lean.h"
#include "plan/making.h"
#include "plan/removal_words.h"
#include "push/lp.h"

static const double DEG = 180 / 3.14159265358979323846;

sw_edge_plan *sw_plan_edge_add(sw_plan *plan, int tile, sw_side side, double length_mm)
{
    sw_edge_plan *more = realloc(plan->edges, (plan->edge_count + 1) * sizeof *more);
    if (!more)
        return NULL;
    plan->edges = more;
    sw_edge_plan *edge = &more[plan->edge_count++];
    *edge = (sw_edge_plan){.tile = tile, .side = side, .length_mm = length_mm};
    return edge;
}

static bool before(const sw_edge_plan *a, const sw_edge_plan *b)
{
    return a->removed_mm2 != b->removed_mm2 ? a->removed_mm2 > b->removed_mm2 : a->bevel_mm > b->bevel_mm;
}

void sw_plan_edges_sort(sw_plan *plan)
{
    for (size_t i = 1; i < plan->edge_count; i++) {
        sw_edge_plan edge = plan->edges[i];
        size_t k = i;
        for (; k > 0 && before(&edge, &plan->edges[k - 1]); k--)
            plan->edges[k] = plan->edges[k - 1];
        plan->edges[k] = edge;
    }
}

sw_status sw_plan_edge_take(const sw_cut *cut, sw_edge_plan *edge)
{
    edge->true_up = calloc((size_t)cut->knots, sizeof *edge->true_up);
    if (!edge->true_up)
        return SW_NO_MEMORY;
    edge->true_up_count = (size_t)cut->knots;
    for (int k = 0; k < cut->knots; k++)
        edge->true_up[k] = (sw_removal){cut->length_mm * k / (cut->knots - 1), cut->remove_mm[k]};
    edge->removed_mm2 = cut->area_mm2;
    edge->deepest_mm = cut->deepest_mm;
    return SW_OK;
}

const sw_lean *sw_plan_lean_of(const sw_plan *plan, int tile, sw_side side)
{
    for (size_t i = 0; i < plan->lean_count; i++)
        if (plan->leans[i].tile == tile && plan->leans[i].side == side)
            return &plan->leans[i];
    return NULL;
}

static void put(char *text, size_t room, const char *more)
{
    size_t used = strlen(text);
    if (used < room)
        snprintf(text + used, room - used, "%s", more);
}

static void say_cut(const sw_making *m, const sw_seam *seam, const sw_cut *cut, sw_edge_plan *edge)
{
    char what[320], part[400];
    const sw_inspection *ins = m->all;
    int other = cut->rim ? seam->first : seam->second;
    sw_removal_words(edge, what, sizeof what);
    snprintf(part, sizeof part, "%s. There it touches %s %s and holds the seam open elsewhere.", what,
             ins->tiles[other].name, sw_side_name(sw_joint_side(seam, !cut->rim)));
    put(edge->why, sizeof edge->why, part);
}

/* The edge's plan; made when there is none yet. NULL when memory is out. */
static sw_edge_plan *edge_plan_of(sw_making *m, int tile, sw_side side)
{
    for (size_t i = 0; i < m->plan->edge_count; i++)
        if (m->plan->edges[i].tile == tile && m->plan->edges[i].side == side)
            return &m->plan->edges[i];
    /* Both corners of an edge may be hidden, where the seam along it is seen. */
    double length_mm = m->all->tiles[tile].edges[side].length_mm;
    sw_edge_plan *edge = sw_plan_edge_add(m->plan, tile, side, isfinite(length_mm) ? length_mm : m->all->table.tile_mm);
    if (edge)
        snprintf(edge->why, sizeof edge->why, "%s %s: ", m->all->tiles[tile].name, sw_side_name(side));
    return edge;
}

static void say_bevel(const sw_making *m, int joint, int other, sw_side facing, sw_edge_plan *edge)
{
    char part[480];
    const char *seam = m->all->seams[joint].name;
    put(edge->why, sizeof edge->why, edge->true_up_count ? " Before that, " : "");
    if (edge->lean == SW_LEAN_KNOWN)
        snprintf(part, sizeof part,
                 "bevel the side face: %.1f mm off at the base (%.1f degrees), less and less to nothing at the top "
                 "edge. Its base stands proud and holds the tops of %s apart.",
                 edge->bevel_mm, edge->bevel_deg, seam);
    else
        snprintf(part, sizeof part,
                 "hold a try square to the side face; if it leans, bevel it: at most %.1f mm off at the base (%.1f "
                 "degrees), less and less to nothing at the top edge. The tops of %s stay %.1f mm apart; this face "
                 "leans, or %s %s, or both.",
                 edge->bevel_mm, edge->bevel_deg, seam, m->standoff_mm[joint], m->all->tiles[other].name,
                 sw_side_name(facing));
    put(edge->why, sizeof edge->why, part);
}

sw_status sw_plan_bevel_add(sw_making *m, int joint)
{
    const sw_seam *seam = &m->all->seams[joint];
    const int tile[2] = {seam->first, seam->second};
    const sw_lean *lean[2];
    for (int rim = 0; rim < 2; rim++)
        lean[rim] = sw_plan_lean_of(m->plan, tile[rim], sw_joint_side(seam, rim));
    for (int rim = 0; rim < 2; rim++) {
        double standoff = m->standoff_mm[joint];
        sw_lean_known known = sw_lean_judge(lean[0], lean[1], rim, standoff);
        if (known == SW_LEAN_NONE)
            continue;
        sw_edge_plan *edge = edge_plan_of(m, tile[rim], sw_joint_side(seam, rim));
        if (!edge)
            return SW_NO_MEMORY;
        edge->lean = known;
        edge->bevel_mm = known == SW_LEAN_KNOWN ? fmin(lean[rim]->lean_mm, standoff) : standoff;
        edge->bevel_deg = atan(edge->bevel_mm / m->height_mm) * DEG;
        say_bevel(m, joint, tile[!rim], sw_joint_side(seam, !rim), edge);
    }
    return SW_OK;
}

static sw_status add_cut(sw_making *m, const sw_cut *cut)
{
    const sw_seam *seam = &m->all->seams[cut->joint];
    if (!(cut->area_mm2 > 0))
        return SW_OK;
    sw_edge_plan *edge = edge_plan_of(m, cut->rim ? seam->second : seam->first, sw_joint_side(seam, cut->rim));
    if (!edge || sw_plan_edge_take(cut, edge))
        return SW_NO_MEMORY;
    say_cut(m, seam, cut, edge);
    m->plan->removed_total_mm2 += edge->removed_mm2;
    return SW_OK;
}

sw_status sw_plan_edges(sw_making *m, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t c = 0; c < m->closing.up.count && !status; c++)
        status = add_cut(m, &m->closing.up.cuts[c]);
    for (size_t j = 0; j < m->e.count && !status; j++)
        status = m->closing.bevel[j] ? sw_plan_bevel_add(m, (int)j) : SW_OK;
    if (status)
        return sw_plan_no_memory(err);
    sw_plan_edges_sort(m->plan);
    return SW_OK;
}
