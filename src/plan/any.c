/* any.c - the plan for every layout and turn: one common square for all tiles.
 *
 * A larger common square always takes less off, so the largest that the smallest tile allows costs the whole set least.
 * Where that would cost other tiles more than the deepest cut, it is better to cut the smallest tile anew: every number
 * of tiles left out, smallest first, is tried, and the one taken that leaves fewest tiles to be cut anew, too small or
 * too large.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "maths/guard.h"
#include "plan/common.h"
#include "plan/making.h"
#include "plan/removal_words.h"
#include "push/lp.h"
#include "push/tile_outline.h"

/* The aim lies so much further below, mm, for rounding; and by no more than this share of the limit altogether. */
static const double SPARE_MM = 0.002, GUARD_MOST = 0.5;
/* No more than one tile, and one more in so many, is left out for being too small. */
enum { LEFT_OUT_SHARE = 4 };

typedef struct set {
    size_t tiles;
    sw_outline *outlines;
    double *largest_mm; /* of each tile; NaN when too little of it was seen */
    size_t *by_size;    /* tiles that were seen well enough, smallest first */
    size_t sized;
    sw_cut (*cuts)[4];
    double **below_mm; /* of each tile, as sw_common_cuts gives it; NULL when it is out */
    bool *out;         /* cut it anew */
} set;

static void set_free(set *s)
{
    for (size_t t = 0; t < s->tiles; t++) {
        if (s->outlines)
            sw_outline_free(&s->outlines[t]);
        for (int side = 0; s->cuts && side < 4; side++)
            free(s->cuts[t][side].remove_mm);
        if (s->below_mm)
            free(s->below_mm[t]);
    }
    free(s->outlines);
    free(s->largest_mm);
    free(s->by_size);
    free(s->cuts);
    free(s->below_mm);
    free(s->out);
    *s = (set){0};
}

/* What any two edges may leave between them: as much less than the limit as their gap is not known to, or what is promised
 * would be too close to call. */
static double aim(const sw_making *m)
{
    double u95 = 0;
    for (size_t j = 0; j < m->e.count; j++)
        u95 = isfinite(m->all->seams[j].max_u95_mm) ? fmax(u95, m->all->seams[j].max_u95_mm) : u95;
    return m->tolerance_mm - fmin(SW_GUARD * u95 + SPARE_MM, GUARD_MOST * m->tolerance_mm);
}

static sw_status start_tile(const sw_making *m, set *s, size_t t, sw_error *err)
{
    sw_status status = sw_tile_outline(m->all, m->count, m->layouts, (int)t, &s->outlines[t], err);
    if (!status)
        status = sw_common_largest(&s->outlines[t], aim(m), &s->largest_mm[t], err);
    if (status || !isfinite(s->largest_mm[t]))
        return status;
    for (int side = 0; side < 4; side++) {
        double length = m->all->tiles[t].edges[side].length_mm;
        sw_cut *cut = &s->cuts[t][side];
        cut->length_mm = isfinite(length) ? length : 2 * s->outlines[t].half_mm;
        cut->knots = sw_cut_knots(cut->length_mm);
        cut->remove_mm = calloc((size_t)cut->knots, sizeof *cut->remove_mm);
        if (!cut->remove_mm)
            return sw_plan_no_memory(err);
    }
    s->below_mm[t] = calloc(4 * (2 * (size_t)s->outlines[t].reach + 1), sizeof **s->below_mm);
    if (!s->below_mm[t])
        return sw_plan_no_memory(err);
    size_t k = s->sized++;
    for (; k > 0 && s->largest_mm[s->by_size[k - 1]] > s->largest_mm[t]; k--)
        s->by_size[k] = s->by_size[k - 1];
    s->by_size[k] = t;
    return SW_OK;
}

static sw_status set_start(const sw_making *m, set *s, sw_error *err)
{
    size_t n = m->all->tile_count;
    *s = (set){n, calloc(n + 1, sizeof(sw_outline)), calloc(n + 1, sizeof(double)),   calloc(n + 1, sizeof(size_t)),
               0, calloc(n + 1, sizeof(sw_cut[4])),  calloc(n + 1, sizeof(double *)), calloc(n + 1, sizeof(bool))};
    if (!s->outlines || !s->largest_mm || !s->by_size || !s->cuts || !s->below_mm || !s->out)
        return sw_plan_no_memory(err);
    sw_status status = SW_OK;
    for (size_t t = 0; t < n && !status; t++)
        status = start_tile(m, s, t, err);
    if (!status && !s->sized)
        status = sw_fail(err, SW_BAD_INPUT,
                         "%s: of no tile enough was seen to know its size; photograph the table again", m->all->file);
    return status;
}

/* Cuts of all tiles but the `left_out` smallest, for the square of the smallest left. *anew: tiles to be cut anew. */
static sw_status try_square(const sw_making *m, set *s, size_t left_out, size_t *anew, sw_error *err)
{
    double side = s->largest_mm[s->by_size[left_out]];
    *anew = left_out;
    for (size_t k = 0; k < s->sized; k++) {
        size_t t = s->by_size[k];
        sw_status status = k < left_out ? SW_NOT_FOUND
                                        : sw_common_cuts(&s->outlines[t], side, aim(m), m->deepest_mm, s->cuts[t],
                                                         s->below_mm[t], err);
        s->out[t] = status == SW_NOT_FOUND;
        *anew += k >= left_out && s->out[t];
        if (status && status != SW_NOT_FOUND)
            return status;
    }
    return SW_OK;
}

/* The square that leaves fewest tiles to be cut anew; its cuts are in s. */
static sw_status choose_square(const sw_making *m, set *s, size_t *left_out, sw_error *err)
{
    size_t best = s->sized + 1, anew = 0, last = 0;
    sw_status status = SW_OK;
    for (size_t k = 0; k <= 1 + s->sized / LEFT_OUT_SHARE && k < s->sized && k < best && !status; k++) {
        last = k;
        status = try_square(m, s, k, &anew, err);
        if (!status && anew < best) {
            best = anew;
            *left_out = k;
        }
    }
    return status || last == *left_out ? status : try_square(m, s, *left_out, &anew, err);
}

/* Less than the guard of the edge's own uncertainty, or than a sanding block takes, is left on. */
static bool worth_it(const sw_making *m, size_t tile, int side, const sw_cut *cut)
{
    double u95 = m->all->tiles[tile].edges[side].straightness_u95_mm;
    return cut->deepest_mm >= fmax(SW_LEAST_REMOVAL_MM, SW_GUARD * (isfinite(u95) ? u95 : 0));
}

static sw_status add_edges(sw_making *m, const set *s)
{
    for (size_t t = 0; t < s->tiles; t++)
        for (int side = 0; side < 4; side++) {
            const sw_cut *cut = &s->cuts[t][side];
            if (s->out[t] || !cut->remove_mm || !worth_it(m, t, side, cut))
                continue;
            sw_edge_plan *edge = sw_plan_edge_add(m->plan, (int)t, (sw_side)side, cut->length_mm);
            char what[320];
            if (!edge || sw_plan_edge_take(cut, edge))
                return SW_NO_MEMORY;
            sw_removal_words(edge, what, sizeof what);
            snprintf(edge->why, sizeof edge->why,
                     "%s %s: %s. That is what stands out beyond the common square of %.1f mm.", m->all->tiles[t].name,
                     sw_side_name((sw_side)side), what, m->plan->common_tile_mm);
            m->plan->removed_total_mm2 += edge->removed_mm2;
        }
    for (size_t j = 0; j < m->e.count; j++) {
        double gap = m->plan->seams[j].max_after_mm, open = isfinite(gap) ? gap : m->tolerance_mm / 2;
        /* Held apart by its bases, a seam shows its standoff and the unevenness of its tops. */
        m->closing.bevel[j] =
            m->standoff_mm[j] > 0 && m->standoff_mm[j] + open > m->tolerance_mm + SW_GUARD * m->standoff_u95_mm[j];
        if (m->closing.bevel[j] && sw_plan_bevel_add(m, (int)j))
            return SW_NO_MEMORY;
    }
    sw_plan_edges_sort(m->plan);
    return SW_OK;
}

/* How far an edge lies below the common square, at most, over places seen on both edges of a seam: the gap there when
 * both tiles lie on their squares. */
static double widest_between(const set *s, const sw_seam *seam)
{
    const int tile[2] = {seam->first, seam->second};
    double widest = NAN;
    if (s->out[tile[0]] || s->out[tile[1]] || !s->below_mm[tile[0]] || !s->below_mm[tile[1]])
        return widest;
    int reach = s->outlines[tile[0]].reach, other = s->outlines[tile[1]].reach, both = reach < other ? reach : other;
    for (int k = -both; k <= both; k++) {
        double a = s->below_mm[tile[0]][sw_joint_side(seam, 0) * (2 * reach + 1) + reach + k];
        double b =
            s->below_mm[tile[1]][sw_joint_side(seam, 1) * (2 * other + 1) + other - k]; /* u runs the other way */
        if (isfinite(a) && isfinite(b) && !(a + b <= widest))
            widest = a + b;
    }
    return widest;
}

static sw_status say_anew(sw_making *m, const set *s, size_t left_out)
{
    sw_notes *cannot = &m->plan->cannot;
    sw_status status = SW_OK;
    for (size_t k = 0; k < s->sized && !status; k++) {
        const char *name = m->all->tiles[s->by_size[k]].name;
        if (!s->out[s->by_size[k]])
            continue;
        if (k < left_out)
            status = sw_note_add(cannot, SW_NOTE_TILE_TOO_SMALL,
                                 "%s is too small: it only fits a square of %.1f mm, and all others would have to come "
                                 "down to it. Cut a new tile of %.1f mm in its place.",
                                 name, s->largest_mm[s->by_size[k]], m->plan->common_tile_mm);
        else
            status = sw_note_add(
                cannot, SW_NOTE_TILE_TOO_LARGE,
                "%s cannot be sanded to %.1f mm with cuts of at most %.1f mm: saw it to size, or cut a new tile.", name,
                m->plan->common_tile_mm, m->plan->deepest_cut_mm);
        sw_note_at(cannot, name);
    }
    for (size_t t = 0; t < s->tiles && !status; t++)
        if (!isfinite(s->largest_mm[t])) {
            status = sw_note_add(cannot, SW_NOTE_TILE_UNSEEN,
                                 "Too little of %s was seen to know its size: clear it and photograph again.",
                                 m->all->tiles[t].name);
            sw_note_at(cannot, m->all->tiles[t].name);
        }
    return status;
}

sw_status sw_plan_any(sw_making *m, sw_error *err)
{
    set s;
    sw_plan *plan = m->plan;
    size_t left_out = 0;
    sw_status status = set_start(m, &s, err);
    if (!status)
        status = choose_square(m, &s, &left_out, err);
    if (status)
        goto done;
    size_t limiting = s.by_size[left_out];
    plan->common_tile_mm = s.largest_mm[limiting];
    plan->common_tile_u95_mm = 0;
    for (int side = 0; side < 4; side++)
        plan->common_tile_u95_mm = fmax(plan->common_tile_u95_mm, m->all->tiles[limiting].edges[side].length_u95_mm);
    plan->limiting_tile = (int)limiting;
    plan->fits_every_way = 1;
    for (size_t t = 0; t < s.tiles; t++)
        plan->fits_every_way &= isfinite(s.largest_mm[t]) && !s.out[t];
    plan->seams = calloc(m->e.count + 1, sizeof *plan->seams);
    m->closing.bevel = calloc(m->e.count + 1, sizeof(bool));
    for (size_t j = 0; plan->seams && m->closing.bevel && j < m->e.count; j++)
        plan->seams[j].max_after_mm = widest_between(&s, &m->all->seams[j]);
    status = plan->seams && m->closing.bevel ? add_edges(m, &s) : SW_NO_MEMORY;
    if (!status)
        status = say_anew(m, &s, left_out);
    if (status)
        sw_plan_no_memory(err);
done:
    set_free(&s);
    return status;
}
