#include "lean/lean.h"

#include <math.h>
#include <stdlib.h>

#include "push/lp.h"

/* No standoff is surer than this, mm. */
static const double U95_LEAST_MM = 0.02;
/* A lean counts when it makes up more than this share of the standoff in question. */
static const double COUNTS = 0.25;
/* The descent ends when a sweep moves nothing by more than STILL_MM, or after SWEEPS. */
enum { SWEEPS = 4000 };
static const double STILL_MM = 1e-7;
/* More than the solver's rounding, mm. */
static const double CONTRADICTS_MM = 1e-6;

static int compare(const void *a, const void *b)
{
    int x = *(const int *)a, y = *(const int *)b;
    return (x > y) - (x < y);
}

static int faces_of(const sw_lean_equation *q)
{
    return q->edge[1] == SW_LEAN_ONE_FACE ? 1 : 2;
}

/* The edges that come in any equation, by number; slot[2 i + k] is the place of equation i's edge k in the list. */
static size_t list_edges(const sw_lean_equation *equations, size_t count, int *edges, size_t *slot)
{
    size_t all = 0, n = 0;
    for (size_t i = 0; i < count; i++)
        for (int k = 0; k < faces_of(&equations[i]); k++)
            edges[all++] = equations[i].edge[k];
    qsort(edges, all, sizeof *edges, compare);
    for (size_t i = 0; i < all; i++)
        if (!n || edges[n - 1] != edges[i])
            edges[n++] = edges[i];
    for (size_t i = 0; i < count; i++)
        for (int k = 0; k < faces_of(&equations[i]); k++) {
            const int *at = bsearch(&equations[i].edge[k], edges, n, sizeof *edges, compare);
            slot[2 * i + k] = (size_t)(at - edges);
        }
    return n;
}

static double weight_of(const sw_lean_equation *q, bool loose, double surest)
{
    double u = fmax(q->u95_mm, U95_LEAST_MM);
    return loose ? 0 : surest * surest / (u * u);
}

/* Projected gradient on sum w (l_a + l_b - s)^2, l >= 0, from l = 0: a lean that no equation tells from its partner's
 * gets the same share. step and pull: zeroed room, one each an edge. */
static void least_squares(const sw_lean_equation *q, const bool *loose, size_t count, const size_t *slot,
                          sw_lean *leans, size_t edges, double *step, double *pull)
{
    double surest = INFINITY, most = 0;
    for (size_t i = 0; i < count; i++)
        surest = fmin(surest, fmax(q[i].u95_mm, U95_LEAST_MM));
    for (size_t i = 0; i < count; i++)
        for (int k = 0; k < faces_of(&q[i]); k++)
            step[slot[2 * i + k]] += weight_of(&q[i], loose[i], surest);
    for (size_t e = 0; e < edges; e++)
        most = fmax(most, step[e]);
    double change = most > 0 ? 1 : 0;
    for (int sweep = 0; sweep < SWEEPS && change > STILL_MM; sweep++) {
        change = 0;
        for (size_t e = 0; e < edges; e++)
            pull[e] = 0;
        for (size_t i = 0; i < count; i++) {
            double off = q[i].standoff_mm;
            for (int k = 0; k < faces_of(&q[i]); k++)
                off -= leans[slot[2 * i + k]].lean_mm;
            for (int k = 0; k < faces_of(&q[i]); k++)
                pull[slot[2 * i + k]] += weight_of(&q[i], loose[i], surest) * off;
        }
        for (size_t e = 0; e < edges; e++) {
            double lean = fmax(0, leans[e].lean_mm + pull[e] / (2 * most));
            change = fmax(change, fabs(lean - leans[e].lean_mm));
            leans[e].lean_mm = lean;
        }
    }
}

/* What every equation allows: together no more than the seam's gap, as bases cannot overlap; no less than its standoff,
 * if the tiles were pushed tight. Leans of 0 keep to the former, so only the latter can contradict. Adds one column for
 * each edge, and one for each equation: how much less than tight it has to be. */
static void add_rows(sw_lp *lp, const sw_lean_equation *q, size_t count, const size_t *slot, size_t edges)
{
    for (size_t e = 0; e < edges; e++)
        sw_lp_column(lp, 0, INFINITY, 0);
    for (size_t i = 0; i < count; i++) {
        int stretch = sw_lp_column(lp, 0, INFINITY, 1);
        const int n = faces_of(&q[i]);
        sw_lp_term terms[3];
        for (int k = 0; k < n; k++)
            terms[k] = (sw_lp_term){(int)slot[2 * i + k], 1};
        terms[n] = (sw_lp_term){stretch, 1};
        sw_lp_row(lp, -INFINITY, fmax(0, q[i].gap_mm + q[i].u95_mm), terms, (size_t)n);
        if (!q[i].loose)
            sw_lp_row(lp, q[i].standoff_mm - q[i].u95_mm - (n == 2 ? SW_LEAN_TIGHT_MM : 0), INFINITY, terms,
                      (size_t)n + 1);
    }
}

/* Least and most of every lean; loose[i] becomes true for equations that contradict others: their seams were not tight
 * (two tiles that meet at a corner hold them open, say), or the face was bevelled since a try square was held to it;
 * of these only the gap counts. */
static sw_status find_bounds(const sw_lean_equation *q, size_t count, const size_t *slot, sw_lean *leans, size_t edges,
                             bool *loose, sw_error *err)
{
    sw_lp *lp = sw_lp_new();
    if (!lp)
        return sw_plan_no_memory(err);
    add_rows(lp, q, count, slot, edges);
    sw_status status = sw_lp_solve(lp, err);
    for (size_t i = 0; !status && i < count; i++)
        loose[i] = q[i].loose || sw_lp_value(lp, (int)(edges + i)) > CONTRADICTS_MM;
    for (size_t i = 0; !status && i < count; i++) {
        sw_lp_set_column(lp, (int)(edges + i), 0, loose[i] ? INFINITY : CONTRADICTS_MM);
        sw_lp_set_cost(lp, (int)(edges + i), 0);
    }
    for (size_t e = 0; !status && e < edges; e++)
        for (int most = 0; most < 2 && !status; most++) {
            sw_lp_set_cost(lp, (int)e, most ? -1 : 1);
            status = sw_lp_solve(lp, err);
            if (!status)
                *(most ? &leans[e].most_mm : &leans[e].least_mm) = fmax(0, sw_lp_value(lp, (int)e));
            sw_lp_set_cost(lp, (int)e, 0);
        }
    sw_lp_free(&lp);
    return status;
}

sw_status sw_leans_make(sw_lean_equation *equations, size_t count, sw_lean **leans, size_t *lean_count, sw_error *err)
{
    *leans = NULL;
    *lean_count = 0;
    int *edges = calloc(2 * count + 1, sizeof *edges);
    size_t *slot = calloc(2 * count + 1, sizeof *slot);
    double *work = calloc(4 * count + 2, sizeof *work);
    bool *loose = calloc(count + 1, sizeof *loose);
    sw_lean *list = calloc(2 * count + 1, sizeof *list);
    sw_status status = edges && slot && work && loose && list ? SW_OK : sw_plan_no_memory(err);
    if (!status) {
        size_t n = list_edges(equations, count, edges, slot);
        for (size_t e = 0; e < n; e++)
            list[e] = (sw_lean){.tile = edges[e] / 4, .side = (sw_side)(edges[e] % 4)};
        status = find_bounds(equations, count, slot, list, n, loose, err);
        least_squares(equations, loose, count, slot, list, n, work, work + n);
        for (size_t i = 0; i < count; i++)
            if (faces_of(&equations[i]) == 1)
                list[slot[2 * i]].answered = true;
        for (size_t e = 0; e < n; e++)
            list[e].lean_mm = fmin(fmax(list[e].lean_mm, list[e].least_mm), list[e].most_mm);
        for (size_t i = 0; i < count; i++)
            equations[i].loose = loose[i];
        *lean_count = n;
    }
    free(edges);
    free(slot);
    free(work);
    free(loose);
    if (status)
        free(list);
    *leans = status ? NULL : list;
    *lean_count = status ? 0 : *lean_count;
    return status;
}

sw_lean_known sw_lean_judge(const sw_lean *a, const sw_lean *b, int which, double standoff_mm)
{
    const sw_lean *me = which ? b : a, *other = which ? a : b;
    double counts = fmax(COUNTS * standoff_mm, SW_LEAN_TIGHT_MM);
    if (!me || !other)
        return SW_LEAN_OPEN;
    if (me->most_mm <= counts)
        return SW_LEAN_NONE;
    if (me->answered) /* nobody is asked twice, nor to take off less than how surely it is known */
        return me->lean_mm > fmax(counts, (me->most_mm - me->least_mm) / 2) ? SW_LEAN_KNOWN : SW_LEAN_NONE;
    /* That the other does not lean says nothing when something else than leans may hold the seam open: least is 0 then.
     */
    if (me->least_mm > counts || (other->most_mm <= counts && me->least_mm > 0))
        return SW_LEAN_KNOWN;
    return SW_LEAN_OPEN;
}
