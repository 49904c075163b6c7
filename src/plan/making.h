/* making.h - a plan in the making: what the steps hand on to each other. */
#ifndef SW_PLAN_MAKING_H
#define SW_PLAN_MAKING_H

#include <stdbool.h>

#include "plan/closing.h"
#include "push/openings.h"
#include "seamwright/plan.h"

typedef struct sw_making {
    const sw_inspection *all; /* the inspections; all[0] is the first one */
    const sw_layout *layouts; /* how the tiles lay in each; NULL for one inspection */
    size_t count;
    double tolerance_mm, deepest_mm, height_mm;
    sw_openings e;                         /* of the first inspection */
    sw_settled pushed;                     /* the ordinary way, nothing done, as if no face leant */
    double *standoff_mm, *standoff_u95_mm; /* of each joint: how far bases hold the tops apart; 0 when nothing says so
                                              with 95 % confidence */
    double *hold_mm;    /* of each joint: how far its bases may hold the tops apart, as far as is known */
    sw_cutter *cutter;  /* of e */
    sw_closing closing; /* for SW_PLAN_ANY its bevels only */
    sw_plan *plan;      /* what is made */
} sw_making;

/* What is known of an edge's lean; NULL when nothing is. */
const sw_lean *sw_plan_lean_of(const sw_plan *plan, int tile, sw_side side);

/* Fills plan->edges and removed_total_mm2 from the cuts and bevels. */
sw_status sw_plan_edges(sw_making *m, sw_error *err);
/* Copies a cut into an edge's plan. SW_NO_MEMORY. */
sw_status sw_plan_edge_take(const sw_cut *cut, sw_edge_plan *edge);
/* Adds the bevel of a joint's standoff to the plans of its two edges, or of the one that is known to lean.
 * SW_NO_MEMORY. */
sw_status sw_plan_bevel_add(sw_making *m, int joint);
/* Adds an empty edge plan; NULL when memory is out. */
sw_edge_plan *sw_plan_edge_add(sw_plan *plan, int tile, sw_side side, double length_mm);
/* Most to take off first, bevels only last. */
void sw_plan_edges_sort(sw_plan *plan);

/* Fills plan->seams: pushed, standoff, touching places; forecasts. */
sw_status sw_plan_seams(sw_making *m, sw_error *err);

/* Fills plan->work from plan->edges and m->closing. */
sw_status sw_plan_work(sw_making *m, sw_error *err);
/* Fills plan->by_limit. */
sw_status sw_plan_by_limit(sw_making *m, sw_error *err);

/* Fills cannot and notes. */
sw_status sw_plan_say_notes(sw_making *m, sw_error *err);
/* Fills next, from everything else. */
void sw_plan_say_next(const sw_making *m);

/* The common square: fills edges, common_tile_mm and what belongs to it. */
sw_status sw_plan_any(sw_making *m, sw_error *err);

/* A further arrangement in which edges that may lean face others: fills settling_layout when something is open. */
sw_status sw_plan_settling(sw_making *m, sw_error *err);

#endif
