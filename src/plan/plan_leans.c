/* plan_leans.c - the standoffs of all inspections as equations about the same edges. */
#include <math.h>
#include <stdlib.h>

#include "lean.h"
#include "plan_make.h"

/* The edge of the first inspection that a side of place `place` in inspection k is: 4 x tile + side. */
static int edge_number(const sw_making *m, size_t k, int place, sw_side side)
{
    if (!m->layouts)
        return 4 * place + side;
    const sw_place *p = &m->layouts[k].places[place];
    return 4 * p->tile + sw_side_turned(side, 4 - p->turns);
}

/* A small standoff that is not sure counts here as it was read, not as none. */
static size_t add_equations(const sw_making *m, size_t k, const sw_openings *e, const sw_settled *pushed,
                            sw_lean_equation *equations)
{
    size_t n = 0;
    for (size_t j = 0; j < e->count; j++) {
        const sw_seam *seam = &m->all[k].seams[j];
        double left = sw_standoff_left(e, pushed, j);
        if (!(e->seen[j] > 0) || !isfinite(left) || !isfinite(e->least_u95_mm[j]))
            continue;
        equations[n++] = (sw_lean_equation){{edge_number(m, k, seam->first, sw_joint_side(seam, 0)),
                                             edge_number(m, k, seam->second, sw_joint_side(seam, 1))},
                                            fmax(0, left),
                                            e->least_mm[j],
                                            e->least_u95_mm[j]};
    }
    return n;
}

/* Standoffs of a further inspection. */
static sw_status further(const sw_making *m, size_t k, sw_lean_equation *equations, size_t *n, sw_error *err)
{
    sw_openings e;
    sw_settled pushed = {0};
    sw_status status = sw_openings_make(&m->all[k], &e, err);
    if (!status)
        status = sw_settle(e.centres, e.tiles, e.joints, e.count, &pushed, err);
    if (!status)
        *n += add_equations(m, k, &e, &pushed, equations + *n);
    sw_settled_free(&pushed);
    sw_openings_free(&e);
    return status;
}

sw_status sw_plan_leans(sw_making *m, sw_error *err)
{
    size_t most = 0, n = 0;
    for (size_t k = 0; k < m->count; k++)
        most += m->all[k].seam_count;
    sw_lean_equation *equations = calloc(most + 1, sizeof *equations);
    if (!equations)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory for a plan; close other programs and try again");
    sw_status status = SW_OK;
    n = add_equations(m, 0, &m->e, &m->pushed, equations);
    for (size_t k = 1; k < m->count && !status; k++)
        status = further(m, k, equations, &n, err);
    if (!status)
        status = sw_leans_make(equations, n, &m->plan->leans, &m->plan->lean_count, err);
    free(equations);
    return status;
}
