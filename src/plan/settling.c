/* settling.c - which further arrangement would tell the faces that lean from those that do not.
 *
 * Every seam of every inspection is an equation between two faces (lean.h). A face is settled when a chain of few such
 * equations leads to a face that is known already: one at a closed seam, for instance, has no lean. So the arrangement
 * is wanted in which most open faces come to lie against, or near, known ones, with few tiles moved: from the layout as
 * it is, the best single change (one tile turned, or two swapped) is made again and again while it settles more.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "lean/lean.h"
#include "plan/making.h"
#include "push/lp.h"

/* A face whose lean is known to SURELY_TO_MM surely tells of the face that it meets; one known to MAYBE_TO_MM does when
 * that face leans much, which is about half the times (tests/unit/test_plan_leans.c). */
static const double SURELY_TO_MM = 0.12, MAYBE_TO_MM = 0.3;
/* Every equation in a chain adds its own uncertainty and how tight hands push: longer ones tell too little. */
enum { CHAIN = 2 };
/* A tile moved must settle at least this many faces more. */
static const double PRICE_OF_A_MOVE = 0.3;
enum { MOVES_MOST = 12 };
/* Every pair of tiles is tried, so larger sets than this get no proposal. */
enum { TILES_MOST = 64 };

/* partner[p * faces + f]: the face that f faced in inspection p; -1 none. The last row is the arrangement on trial. */
typedef struct face_search {
    const sw_making *m;
    size_t faces;
    int *partner;
    bool *surely, *maybe, *open; /* surely known, and maybe; may lean */
    unsigned char *reached;      /* 0: not found by a chain; else its length + 1 */
    sw_layout trial;
} face_search;

static void pair_up(const sw_layout *l, int *partner)
{
    int n = l->columns * l->rows;
    for (int k = 0; k < 4 * n; k++)
        partner[k] = -1;
    for (int p = 0; p < n; p++)
        for (int level = 0; level < 2; level++) {
            bool last = level ? p / l->columns == l->rows - 1 : p % l->columns == l->columns - 1;
            if (last)
                continue;
            int a = sw_lean_face(l, p, level ? SW_SOUTH : SW_EAST),
                b = sw_lean_face(l, p + (level ? l->columns : 1), level ? SW_NORTH : SW_WEST);
            partner[a] = b;
            partner[b] = a;
        }
}

/* Open faces that a chain of equations, the trial's among them, joins to known ones. */
static int reach(face_search *s, const bool *known)
{
    int count = 0;
    for (size_t f = 0; f < s->faces; f++)
        s->reached[f] = known[f];
    for (int step = 1; step <= CHAIN; step++)
        for (size_t k = 0; k <= s->m->count; k++)
            for (size_t f = 0; f < s->faces; f++) {
                int other = s->partner[k * s->faces + f];
                if (s->reached[f] && s->reached[f] <= step && other >= 0 && !s->reached[other])
                    s->reached[other] = (unsigned char)(step + 1);
            }
    for (size_t f = 0; f < s->faces; f++)
        count += s->open[f] && s->reached[f];
    return count;
}

/* How many open faces the trial may be expected to settle. */
static double settled(face_search *s)
{
    pair_up(&s->trial, s->partner + s->m->count * s->faces);
    return (reach(s, s->surely) + reach(s, s->maybe)) / 2.0;
}

static void swap(sw_layout *l, int p, int q)
{
    sw_place place = l->places[p];
    l->places[p] = l->places[q];
    l->places[q] = place;
}

static void turn(sw_layout *l, int p, int by)
{
    l->places[p].turns = (l->places[p].turns + by) % 4;
}

/* Makes the best single change: returns how many faces are expected to be settled with it, or `now` when none is worth
 * it. */
static double improve(face_search *s, double now)
{
    int n = s->trial.columns * s->trial.rows, best_p = -1, best_q = -1, best_turn = 0;
    double best = now + PRICE_OF_A_MOVE;
    for (int p = 0; p < n; p++)
        for (int by = 1; by < 4; by++) {
            turn(&s->trial, p, by);
            double worth = settled(s);
            turn(&s->trial, p, 4 - by);
            if (worth > best) {
                best = worth;
                best_p = p;
                best_turn = by;
            }
        }
    for (int p = 0; p < n; p++)
        for (int q = p + 1; q < n; q++) {
            swap(&s->trial, p, q);
            double worth = settled(s) - PRICE_OF_A_MOVE; /* two tiles are moved */
            swap(&s->trial, p, q);
            if (worth > best) {
                best = worth;
                best_p = p;
                best_q = q;
            }
        }
    if (best_p < 0)
        return now;
    if (best_q < 0)
        turn(&s->trial, best_p, best_turn);
    else
        swap(&s->trial, best_p, best_q);
    return settled(s);
}

static int mark_faces(face_search *s)
{
    const sw_plan *plan = s->m->plan;
    int open = 0;
    for (size_t i = 0; i < plan->lean_count; i++) {
        const sw_lean *l = &plan->leans[i];
        int face = 4 * l->tile + (int)l->side;
        s->surely[face] = l->most_mm - l->least_mm <= SURELY_TO_MM;
        s->maybe[face] = l->most_mm - l->least_mm <= MAYBE_TO_MM;
    }
    for (size_t i = 0; i < plan->edge_count; i++)
        if (plan->edges[i].lean == SW_LEAN_OPEN) {
            s->open[4 * plan->edges[i].tile + (int)plan->edges[i].side] = true;
            open++;
        }
    return open;
}

static sw_status suggest(face_search *s, int open, sw_error *err)
{
    sw_plan *plan = s->m->plan;
    for (size_t k = 0; k < s->m->count; k++)
        if (s->m->layouts)
            pair_up(&s->m->layouts[k], s->partner + k * s->faces);
        else
            pair_up(&s->trial, s->partner);
    double start = settled(s), now = start;
    for (int move = 0; move < MOVES_MOST && now < open; move++) {
        double next = improve(s, now);
        if (next <= now)
            break;
        now = next;
    }
    if (now <= start)
        return SW_OK;
    plan->settling_layout = sw_layout_text(&s->trial, s->m->all);
    if (!plan->settling_layout)
        return sw_plan_no_memory(err);
    return sw_note_add(&plan->notes, SW_NOTE_LEAN_TOLD_BY,
                       "Laid anew as proposed, pushed and photographed, the tiles would tell of about %d of the %d "
                       "faces that may lean.",
                       (int)floor(now), open);
}

sw_status sw_plan_settling(sw_making *m, sw_error *err)
{
    size_t faces = 4 * m->all->tile_count;
    face_search s = {.m = m,
                     .faces = faces,
                     .partner = calloc((m->count + 1) * faces + 1, sizeof(int)),
                     .surely = calloc(faces + 1, sizeof(bool)),
                     .maybe = calloc(faces + 1, sizeof(bool)),
                     .open = calloc(faces + 1, sizeof(bool)),
                     .reached = calloc(faces + 1, 1)};
    sw_status status = s.partner && s.surely && s.maybe && s.open && s.reached ? sw_layout_as_is(m->all, &s.trial, err)
                                                                               : sw_plan_no_memory(err);
    int open = status ? 0 : mark_faces(&s);
    if (!status && open && m->all->tile_count <= TILES_MOST)
        status = suggest(&s, open, err);
    sw_layout_free(&s.trial);
    free(s.partner);
    free(s.surely);
    free(s.maybe);
    free(s.open);
    free(s.reached);
    return status;
}
