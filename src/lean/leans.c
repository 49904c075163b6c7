/* leans.c - the standoffs of all inspections as equations about the same edges. */
#include "lean/leans.h"

#include <math.h>
#include <stdlib.h>

#include "lean/answers.h"
#include "lean/lean.h"
#include "lean/standoff.h"
#include "push/lp.h"

/* Corners nearer than this, mm, may touch: what two corners together are good to in a photo, and a little play. */
static const double CORNERS_MM = 0.15;

/* Whether two tiles that meet only at the crossing south-east of place `north_west` touch there, so that tiles cannot
 * be pushed nearer to each other across upright (or level) seams:
 *
 *     NW | NE      the south-east tile slipped west, under the north-west one: it cannot go north, however far its own
 *     --++---      northern neighbour lies
 *     SW| SE
 */
static bool corner_holds(const sw_inspection *ins, int north_west, bool upright)
{
    const sw_tile *nw = &ins->tiles[north_west], *ne = nw + 1, *sw = nw + ins->table.columns, *se = sw + 1;
    const sw_point p[2] = {nw->corners[SW_SE].mm, ne->corners[SW_SW].mm},
                   q[2] = {se->corners[SW_NW].mm, sw->corners[SW_NE].mm};
    for (int k = 0; k < 2; k++) {
        double over_x = k ? q[k].x - p[k].x : p[k].x - q[k].x, over_y = q[k].y - p[k].y;
        if (over_x > -CORNERS_MM && over_y > -CORNERS_MM && (upright ? over_x <= over_y : over_y <= over_x))
            return true;
    }
    return false;
}

/* Whether a corner at either end of a seam may hold it open. */
static bool held_open(const sw_inspection *ins, const sw_seam *seam)
{
    int columns = ins->table.columns, rows = ins->table.rows, row = seam->first / columns,
        column = seam->first % columns;
    if ((size_t)columns * (size_t)rows != ins->tile_count)
        return false;
    if (seam->upright)
        return (row > 0 && corner_holds(ins, seam->first - columns, true)) ||
               (row + 1 < rows && corner_holds(ins, seam->first, true));
    return (column > 0 && corner_holds(ins, seam->first - 1, false)) ||
           (column + 1 < columns && corner_holds(ins, seam->first, false));
}

/* A small standoff that is not sure counts here as it was read, not as none. */
static size_t add_equations(const sw_lean_sources *from, size_t k, const sw_openings *e, const sw_settled *pushed,
                            sw_lean_equation *equations)
{
    const sw_inspection *ins = &from->inspections[k];
    size_t n = 0;
    for (size_t j = 0; j < e->count; j++) {
        const sw_seam *seam = &ins->seams[j];
        const sw_layout *layout = from->layouts ? &from->layouts[k] : NULL;
        double left = sw_standoff_left(e, pushed, j);
        if (!(e->seen[j] > 0) || !isfinite(left) || !isfinite(e->least_u95_mm[j]))
            continue;
        equations[n++] = (sw_lean_equation){{sw_lean_face(layout, seam->first, sw_joint_side(seam, 0)),
                                             sw_lean_face(layout, seam->second, sw_joint_side(seam, 1))},
                                            fmax(0, left),
                                            e->least_mm[j],
                                            e->least_u95_mm[j],
                                            held_open(ins, seam)};
    }
    return n;
}

/* The same of an inspection that nobody has pushed yet. */
static sw_status push_and_add(const sw_lean_sources *from, size_t k, sw_lean_equation *equations, size_t *n,
                              sw_error *err)
{
    sw_openings e;
    sw_settled pushed = {0};
    sw_status status = sw_openings_make(&from->inspections[k], &e, err);
    if (!status)
        status = sw_settle(e.centres, e.tiles, e.joints, e.count, &pushed, err);
    if (!status)
        *n += add_equations(from, k, &e, &pushed, equations + *n);
    sw_settled_free(&pushed);
    sw_openings_free(&e);
    return status;
}

static size_t add_answers(const sw_lean_sources *from, sw_lean_equation *equations)
{
    for (size_t i = 0; i < from->answer_count; i++) {
        const sw_lean_answer *a = &from->answers[i];
        equations[i] = (sw_lean_equation){
            {4 * a->tile + (int)a->side, SW_LEAN_ONE_FACE}, a->lean_mm, a->lean_mm, sw_answer_u95_mm(a), false};
    }
    return from->answer_count;
}

sw_status sw_lean_equations(const sw_lean_sources *from, sw_lean_equation **equations, size_t *count, sw_error *err)
{
    size_t most = from->answer_count, n = 0;
    *count = 0;
    for (size_t k = 0; k < from->count; k++)
        most += from->inspections[k].seam_count;
    *equations = calloc(most + 1, sizeof **equations);
    if (!*equations)
        return sw_plan_no_memory(err);
    sw_status status = SW_OK;
    if (from->openings)
        n = add_equations(from, 0, from->openings, from->pushed, *equations);
    for (size_t k = from->openings ? 1 : 0; k < from->count && !status; k++)
        status = push_and_add(from, k, *equations, &n, err);
    *count = n + add_answers(from, *equations + n);
    if (!status)
        return SW_OK;
    free(*equations);
    *equations = NULL;
    *count = 0;
    return status;
}

sw_status sw_leans_of(const sw_lean_sources *from, sw_lean **leans, size_t *lean_count, sw_error *err)
{
    sw_lean_equation *equations;
    size_t n;
    *leans = NULL;
    *lean_count = 0;
    sw_status status = sw_lean_equations(from, &equations, &n, err);
    if (!status)
        status = sw_leans_make(equations, n, leans, lean_count, err);
    free(equations);
    return status;
}
