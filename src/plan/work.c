/* work.c - the list that a person works through: one line a seam, most worth first.
 *
 * What a line is worth cannot be told from its seam alone, as what holds a seam open may lie elsewhere. So a line is worth
 * what the table's widest gap would be without it, all other lines done, less what it is with all done.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/names.h"
#include "plan/cause.h"
#include "plan/making.h"
#include "plan/removal_words.h"
#include "push/lp.h"

static void put(sw_work_line *line, const char *more)
{
    size_t used = strlen(line->what);
    snprintf(line->what + used, sizeof line->what - used, "%s%s", used ? " " : "", more);
}

/* "Hold a try square to B1 east and C1 west; sand the base of the one that leans, up to 1.9 mm, ..." */
static void say_bevels(const sw_making *m, size_t j, sw_work_line *line)
{
    char name[2][EDGE_NAME_ROOM], part[300];
    const sw_edge_plan *edge[2] = {NULL, NULL};
    int n = 0;
    for (int k = 0; k < line->edge_count; k++)
        if (m->plan->edges[line->edges[k]].bevel_mm > 0) {
            edge[n] = &m->plan->edges[line->edges[k]];
            sw_edge_name(m->all, edge[n]->tile, edge[n]->side, name[n]);
            n++;
        }
    if (!n)
        return;
    if (n == 2 && edge[0]->lean == SW_LEAN_OPEN)
        snprintf(part, sizeof part,
                 "Hold a try square to %s and %s; sand the base of the one that leans, up to %.1f mm off at the "
                 "bottom, less "
                 "and less to nothing at the tile's surface.",
                 name[0], name[1], m->standoff_mm[j]);
    else if (n == 2)
        snprintf(part, sizeof part,
                 "Sand the bases of %s (%.1f mm off at the bottom) and %s (%.1f mm), less and less to nothing at the "
                 "tile's surface.",
                 name[0], edge[0]->bevel_mm, name[1], edge[1]->bevel_mm);
    else if (n == 1 && edge[0]->lean == SW_LEAN_OPEN)
        snprintf(part, sizeof part,
                 "Hold a try square to %s; if it leans, sand its base, up to %.1f mm off at the bottom, less and less "
                 "to nothing at the tile's surface.",
                 name[0], edge[0]->bevel_mm);
    else
        snprintf(part, sizeof part,
                 "Sand the base of %s, %.1f mm off at the bottom, less and less to nothing at the tile's surface.",
                 name[0], edge[0]->bevel_mm);
    put(line, part);
}

static void say_cuts(const sw_making *m, sw_work_line *line)
{
    for (int k = 0; k < line->edge_count; k++) {
        const sw_edge_plan *edge = &m->plan->edges[line->edges[k]];
        char name[EDGE_NAME_ROOM], what[120], part[200];
        if (!edge->true_up_count)
            continue;
        sw_removal_words_short(edge, what, sizeof what);
        snprintf(part, sizeof part, "True up %s by its strip, %s.", sw_edge_name(m->all, edge->tile, edge->side, name),
                 what);
        put(line, part);
    }
}

/* Both edges of a seam as far as they are in the plan. */
static bool find_edges(const sw_making *m, size_t j, sw_work_line *line)
{
    const sw_seam *seam = &m->all->seams[j];
    for (size_t e = 0; e < m->plan->edge_count; e++)
        for (int rim = 0; rim < 2; rim++) {
            const sw_edge_plan *edge = &m->plan->edges[e];
            if (edge->tile == (rim ? seam->second : seam->first) && edge->side == sw_joint_side(seam, rim))
                line->edges[line->edge_count++] = (int)e;
        }
    return line->edge_count > 0;
}

static void make_line(const sw_making *m, size_t j, sw_work_line *line)
{
    line->seam = (int)j;
    sw_cause_say(m->all, &m->closing, j, line->cause, sizeof line->cause);
    say_bevels(m, j, line);
    say_cuts(m, line);
}

/* ---- what it is worth ---- */

/* Work done at some of the joints only. */
typedef struct partly {
    sw_true_up up;
    bool *bevel;
} partly;

/* What is done at joint j, or that nothing is. */
static void set_done(const sw_making *m, partly *p, size_t j, bool done)
{
    p->bevel[j] = done && m->closing.bevel[j];
    for (size_t c = 2 * j; c < 2 * j + 2; c++) {
        const sw_cut *from = &m->closing.up.cuts[c];
        for (int k = 0; k < from->knots; k++)
            p->up.cuts[c].remove_mm[k] = done ? from->remove_mm[k] : 0;
    }
}

/* False when memory is out. */
static bool partly_start(const sw_making *m, partly *p)
{
    p->bevel = calloc(m->e.count + 1, sizeof(bool));
    return sw_true_up_copy(&m->closing.up, &p->up) && p->bevel;
}

static void partly_free(partly *p)
{
    sw_true_up_free(&p->up);
    free(p->bevel);
}

static sw_status widest(const sw_making *m, const partly *p, double *max_mm, double *mm, sw_error *err)
{
    sw_done done = {&p->up, p->bevel, m->hold_mm, m->standoff_mm, true};
    sw_status status = sw_forecast_widest(&m->e, &done, max_mm, err);
    *mm = 0;
    for (size_t j = 0; !status && j < m->e.count; j++)
        *mm = isfinite(max_mm[j]) ? fmax(*mm, max_mm[j]) : *mm;
    return status;
}

/* Without each line in turn. */
static sw_status weigh(sw_making *m, partly *p, double *max_mm, sw_error *err)
{
    sw_plan *plan = m->plan;
    double all_done, without;
    for (size_t j = 0; j < m->e.count; j++)
        set_done(m, p, j, true);
    sw_status status = widest(m, p, max_mm, &all_done, err);
    for (size_t i = 0; i < plan->work_count && !status; i++) {
        size_t j = (size_t)plan->work[i].seam;
        set_done(m, p, j, false);
        status = widest(m, p, max_mm, &without, err);
        plan->work[i].worth_mm = fmax(0, without - all_done);
        set_done(m, p, j, true);
    }
    return status;
}

static int most_worth_first(const void *a, const void *b)
{
    const sw_work_line *x = a, *y = b;
    return x->worth_mm != y->worth_mm ? (x->worth_mm < y->worth_mm ? 1 : -1) : x->seam - y->seam;
}

/* One line after the other, as they are worked through. */
static sw_status follow(sw_making *m, partly *p, double *max_mm, sw_error *err)
{
    double now = 0;
    for (size_t j = 0; j < m->e.count; j++)
        set_done(m, p, j, false);
    sw_status status = widest(m, p, max_mm, &now, err);
    for (size_t i = 0; i < m->plan->work_count && !status; i++) {
        sw_work_line *line = &m->plan->work[i];
        line->widest_from_mm = now;
        set_done(m, p, (size_t)line->seam, true);
        status = widest(m, p, max_mm, &now, err);
        line->widest_to_mm = now;
    }
    return status;
}

/* ---- chips ---- */

static size_t put_chips(const sw_making *m, const sw_chip *chips, size_t count, sw_work_line *line)
{
    for (size_t i = 0; i < count; i++) {
        char name[EDGE_NAME_ROOM], part[80];
        snprintf(part, sizeof part, "%s%s at %.0f mm", line->what[0] ? "and " : "Fill ",
                 sw_edge_name(m->all, chips[i].tile, chips[i].side, name), chips[i].at_mm);
        put(line, part);
    }
    return count;
}

/* One line for all chips, as far as there is room for a line. */
static void add_chips(sw_making *m, size_t over)
{
    sw_work_line *line = &m->plan->work[m->plan->work_count];
    size_t chips = 0;
    *line = (sw_work_line){.seam = -1};
    for (size_t j = 0; j < m->e.count; j++)
        if (m->all->seams[j].verdict == SW_OVER)
            chips += put_chips(m, m->all->seams[j].chips, m->all->seams[j].chip_count, line);
    if (!chips || m->plan->work_count >= over)
        return;
    snprintf(line->cause, sizeof line->cause, chips == 1 ? "a chip" : "%zu chips", chips);
    put(line, "with wood filler or foam paste; never sand a whole edge for a chip.");
    if (m->plan->work_count)
        line->widest_from_mm = line->widest_to_mm = m->plan->work[m->plan->work_count - 1].widest_to_mm;
    m->plan->work_count++;
}

/* ---- the list ---- */

sw_status sw_plan_work(sw_making *m, sw_error *err)
{
    sw_plan *plan = m->plan;
    size_t over = 0;
    partly p;
    double *max_mm = calloc(m->e.count + 1, sizeof *max_mm);
    plan->work = calloc(m->e.count + 2, sizeof *plan->work);
    sw_status status = partly_start(m, &p) && max_mm && plan->work ? SW_OK : sw_plan_no_memory(err);
    for (size_t j = 0; !status && j < m->e.count; j++) {
        sw_work_line *line = &plan->work[plan->work_count];
        *line = (sw_work_line){0};
        over += m->all->seams[j].verdict == SW_OVER;
        if (find_edges(m, j, line)) {
            make_line(m, j, line);
            plan->work_count++;
        }
    }
    if (!status)
        status = weigh(m, &p, max_mm, err);
    if (!status) {
        qsort(plan->work, plan->work_count, sizeof *plan->work, most_worth_first);
        status = follow(m, &p, max_mm, err);
    }
    if (!status)
        add_chips(m, over);
    partly_free(&p);
    free(max_mm);
    return status;
}
