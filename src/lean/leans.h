/* leans.h - the leans of all faces of a set of tiles, from its inspections and from what a try square said. */
#ifndef SW_LEAN_LEANS_H
#define SW_LEAN_LEANS_H

#include "lean/lean.h"
#include "push/openings.h"
#include "seamwright/plan.h"

typedef struct sw_lean_sources {
    const sw_inspection *inspections; /* of the same tiles */
    size_t count;
    const sw_layout *layouts;    /* how the tiles lay in each; NULL for one inspection */
    const sw_openings *openings; /* of the first inspection, and its tops pushed; NULL: they are made */
    const sw_settled *pushed;
    const sw_lean_answer *answers; /* tile and side as in the first inspection */
    size_t answer_count;
} sw_lean_sources;

/* What all of them say, for sw_leans_make. free() *equations. */
sw_status sw_lean_equations(const sw_lean_sources *from, sw_lean_equation **equations, size_t *count, sw_error *err);

/* One for every face that met another in an inspection, or was answered for; by tile and side. free() *leans. */
sw_status sw_leans_of(const sw_lean_sources *from, sw_lean **leans, size_t *lean_count, sw_error *err);

#endif
