/* plan_edges.c - cuts and bevels as a list of edges, each with its line in words. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lean.h"
#include "plan_make.h"
#include "words.h"

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

static int before(const sw_edge_plan *a, const sw_edge_plan *b)
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

static int take_cut(const sw_cut *cut, sw_edge_plan *edge)
{
    edge->true_up = calloc((size_t)cut->knots, sizeof *edge->true_up);
    if (!edge->true_up)
        return -1;
    edge->true_up_count = (size_t)cut->knots;
    for (int k = 0; k < cut->knots; k++)
        edge->true_up[k] = (sw_removal){cut->length_mm * k / (cut->knots - 1), cut->remove_mm[k]};
    edge->removed_mm2 = cut->area_mm2;
    edge->deepest_mm = cut->deepest_mm;
    return 0;
}

static const sw_lean *find_lean(const sw_plan *plan, int tile, sw_side side)
{
    for (size_t i = 0; i < plan->lean_count; i++)
        if (plan->leans[i].tile == tile && plan->leans[i].side == side)
            return &plan->leans[i];
    return NULL;
}

static void take_bevel(const sw_making *m, const sw_seam *seam, const sw_cut *cut, sw_lean_known lean,
                       sw_edge_plan *edge)
{
    const sw_lean *mine = find_lean(m->plan, edge->tile, edge->side);
    double standoff = m->standoff_mm[cut->joint];
    (void)seam;
    edge->lean = lean;
    edge->bevel_mm = lean == SW_LEAN_KNOWN && mine ? fmin(mine->lean_mm, standoff) : standoff;
    edge->bevel_deg = atan(edge->bevel_mm / m->height_mm) * DEG;
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
    sw_words_removal(edge, what, sizeof what);
    snprintf(part, sizeof part, "%s. The tiles touch there; with it off, %s %s and the table's open seams close.", what,
             ins->tiles[other].name, sw_side_name(sw_joint_side(seam, !cut->rim)));
    put(edge->why, sizeof edge->why, part);
}

static void say_bevel(const sw_making *m, const sw_seam *seam, const sw_cut *cut, sw_edge_plan *edge)
{
    char part[480];
    const char *other = m->all->tiles[cut->rim ? seam->first : seam->second].name,
               *facing = sw_side_name(sw_joint_side(seam, !cut->rim)),
               *then = edge->true_up_count ? " Then bevel" : "bevel";
    if (edge->lean == SW_LEAN_KNOWN)
        snprintf(part, sizeof part,
                 "%s the lower part of the side face: %.1f mm off at the base, less and less to nothing at the top "
                 "edge (%.1f degrees). Its "
                 "base stands proud and holds the tops of %s apart.",
                 then, edge->bevel_mm, edge->bevel_deg, seam->name);
    else
        snprintf(part, sizeof part,
                 "%s only if this face leans: the tops of %s stay %.1f mm apart, and one photo cannot tell whether "
                 "this face leans or %s %s "
                 "does. First push the two tiles together; if the gap stays, hold a try square to both faces. Take off "
                 "at the base what the "
                 "square shows, at most %.1f mm (%.1f degrees), less and less to nothing at the top edge.",
                 then, seam->name, m->standoff_mm[cut->joint], other, facing, edge->bevel_mm, edge->bevel_deg);
    put(edge->why, sizeof edge->why, part);
}

static sw_status add_edge(sw_making *m, const sw_cut *cut, sw_lean_known lean)
{
    const sw_seam *seam = &m->all->seams[cut->joint];
    int bevel = lean != SW_LEAN_NONE;
    if (!(cut->area_mm2 > 0) && !bevel)
        return SW_OK;
    sw_edge_plan *edge =
        sw_plan_edge_add(m->plan, cut->rim ? seam->second : seam->first, sw_joint_side(seam, cut->rim), cut->length_mm);
    if (!edge || (cut->area_mm2 > 0 && take_cut(cut, edge)))
        return SW_NO_MEMORY;
    if (bevel)
        take_bevel(m, seam, cut, lean, edge);
    snprintf(edge->why, sizeof edge->why, "%s %s: ", m->all->tiles[edge->tile].name, sw_side_name(edge->side));
    if (cut->area_mm2 > 0)
        say_cut(m, seam, cut, edge);
    if (bevel)
        say_bevel(m, seam, cut, edge);
    m->plan->removed_total_mm2 += edge->removed_mm2;
    return SW_OK;
}

static sw_lean_known lean_of(const sw_making *m, const sw_cut *cut)
{
    if (!m->bevel[cut->joint])
        return SW_LEAN_NONE;
    const sw_seam *seam = &m->all->seams[cut->joint];
    const sw_lean *a = find_lean(m->plan, seam->first, sw_joint_side(seam, 0)),
                  *b = find_lean(m->plan, seam->second, sw_joint_side(seam, 1));
    return sw_lean_judge(a, b, cut->rim, m->standoff_mm[cut->joint]);
}

sw_status sw_plan_edges(sw_making *m, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t c = 0; c < m->up.count && !status; c++)
        status = add_edge(m, &m->up.cuts[c], lean_of(m, &m->up.cuts[c]));
    if (status)
        return sw_fail(err, status, "not enough memory for a plan; close other programs and try again");
    sw_plan_edges_sort(m->plan);
    return SW_OK;
}
