/* recheck.c - two inspections of the same tiles held against each other. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "push/openings.h"
#include "recheck/parts.h"
#include "seamwright/defaults_and_ranges.h"

bool sw_recheck_fits(const sw_recheck *recheck)
{
    return recheck->over == 0 && recheck->too_close == 0;
}

void sw_recheck_free(sw_recheck *recheck)
{
    if (!recheck)
        return;
    free(recheck->seams);
    free(recheck->edges);
    free(recheck->places);
    sw_notes_free(&recheck->notes);
    memset(recheck, 0, sizeof *recheck);
}

/* ---- seams ---- */

/* The earlier inspection's tile and side behind one of the later one's edges. */
static void edge_before(const sw_comparing *c, int tile, sw_side side, int *tile_before, sw_side *side_before)
{
    *tile_before = c->places[tile].tile;
    *side_before = sw_side_turned(side, -c->places[tile].turns);
}

/* Index of the earlier seam between these two edges, -1 when they did not face each other then. */
static int find_before(const sw_inspection *before, const sw_seam_change *change)
{
    for (size_t i = 0; i < before->seam_count; i++) {
        const sw_seam *seam = &before->seams[i];
        for (int k = 0; k < 2; k++)
            if (seam->first == change->tile[k] && sw_joint_side(seam, 0) == change->side[k] &&
                seam->second == change->tile[!k] && sw_joint_side(seam, 1) == change->side[!k])
                return (int)i;
    }
    return -1;
}

static void compare_seam(const sw_comparing *c, int index, sw_seam_change *change)
{
    const sw_seam *after = &c->after->seams[index];
    change->seam = index;
    edge_before(c, after->first, sw_joint_side(after, 0), &change->tile[0], &change->side[0]);
    edge_before(c, after->second, sw_joint_side(after, 1), &change->tile[1], &change->side[1]);
    change->before = find_before(c->before, change);
    const sw_seam *before = change->before < 0 ? NULL : &c->before->seams[change->before];
    change->before_mm = before ? before->max_mm : NAN;
    change->before_u95_mm = before ? before->max_u95_mm : NAN;
    change->after_mm = after->max_mm;
    change->after_u95_mm = after->max_u95_mm;
    change->change_mm = change->after_mm - change->before_mm;
    change->change_u95_mm = hypot(change->before_u95_mm, change->after_u95_mm);
    change->verdict = sw_verdict_of(after->max_mm, after->max_u95_mm, c->out->tolerance_mm);
}

/* Over before too close to call before within, each wider gap first, not seen last of its kind. */
static int worse_first(const void *a, const void *b)
{
    static const int urgency[] = {[SW_WITHIN] = 0, [SW_OVER] = 2, [SW_TOO_CLOSE] = 1};
    const sw_seam_change *x = a, *y = b;
    double gap[2] = {isfinite(x->after_mm) ? x->after_mm : -1, isfinite(y->after_mm) ? y->after_mm : -1};
    if (urgency[x->verdict] != urgency[y->verdict])
        return urgency[y->verdict] - urgency[x->verdict];
    if (gap[0] != gap[1])
        return gap[0] < gap[1] ? 1 : -1;
    return x->seam - y->seam;
}

static sw_status compare_seams(sw_comparing *c, sw_error *err)
{
    sw_recheck *out = c->out;
    out->seams = calloc(c->after->seam_count + 1, sizeof *out->seams);
    if (!out->seams)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    for (size_t i = 0; i < c->after->seam_count; i++) {
        sw_seam_change *change = &out->seams[out->seam_count++];
        compare_seam(c, (int)i, change);
        out->over += change->verdict == SW_OVER;
        out->too_close += change->verdict == SW_TOO_CLOSE;
        out->within += change->verdict == SW_WITHIN;
    }
    out->stop = !out->over;
    sw_recheck_apart(c);
    qsort(out->seams, out->seam_count, sizeof *out->seams, worse_first);
    return SW_OK;
}

/* ---- the whole ---- */

/* Planned edges, too much before not enough before as planned; then the others, too much first. */
static int urgency(const sw_edge_change *e)
{
    bool over = e->too_much || e->together_over;
    return e->planned ? (over ? 4 : e->not_enough ? 3 : 2) : over;
}

static int urgent_first(const void *a, const void *b)
{
    const sw_edge_change *x = a, *y = b;
    double taken[2] = {isfinite(x->taken_mm) ? x->taken_mm : -1, isfinite(y->taken_mm) ? y->taken_mm : -1};
    if (urgency(x) != urgency(y))
        return urgency(y) - urgency(x);
    if (x->most_over_mm != y->most_over_mm && x->too_much && y->too_much)
        return x->most_over_mm < y->most_over_mm ? 1 : -1;
    if (x->too_much != y->too_much)
        return y->too_much - x->too_much;
    if (taken[0] != taken[1])
        return taken[0] < taken[1] ? 1 : -1;
    return x->tile != y->tile ? x->tile - y->tile : (int)x->side - (int)y->side;
}

static sw_status check_input(sw_comparing *c, const sw_layout *layout, double tolerance_mm, sw_error *err)
{
    const sw_table *a = &c->before->table, *b = &c->after->table;
    sw_status status = sw_range_take(SW_TOLERANCE_MM, "the tolerance", tolerance_mm, c->after->tolerance_mm,
                                     &c->out->tolerance_mm, err);
    if (status)
        return status;
    if (c->before->tile_count != c->after->tile_count || !c->after->tile_count)
        return sw_fail(err, SW_BAD_INPUT,
                       "the earlier inspection has %zu tiles and the later one %zu; both must show the same tiles",
                       c->before->tile_count, c->after->tile_count);
    int columns = layout ? layout->columns : a->columns, rows = layout ? layout->rows : a->rows;
    if (columns != b->columns || rows != b->rows)
        return sw_fail(
            err, SW_BAD_INPUT,
            "the later inspection shows %d x %d tiles where %d x %d are expected; say how they lie there with --layout",
            b->columns, b->rows, columns, rows);
    return SW_OK;
}

static sw_status take_places(sw_comparing *c, const sw_layout *layout, sw_error *err)
{
    sw_recheck *out = c->out;
    if (!layout) {
        sw_status status = sw_layout_as_is(c->before, &c->own, err);
        if (status)
            return status;
        layout = &c->own;
    }
    out->places = calloc(c->after->tile_count, sizeof *out->places);
    if (!out->places)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    memcpy(out->places, layout->places, c->after->tile_count * sizeof *out->places);
    out->place_count = c->after->tile_count;
    c->places = out->places;
    return SW_OK;
}

sw_status sw_recheck_make(const sw_inspection *before, const sw_inspection *after, const sw_layout *layout,
                          const sw_plan *plan, double tolerance_mm, sw_recheck *recheck, sw_error *err)
{
    sw_comparing c = {.before = before, .after = after, .plan = plan, .out = recheck};
    memset(recheck, 0, sizeof *recheck);
    recheck->planned = plan != NULL;
    sw_status status = check_input(&c, layout, tolerance_mm, err);
    if (!status)
        status = take_places(&c, layout, err);
    if (!status)
        status = sw_recheck_same(&c, layout != NULL, err);
    if (!status)
        status = compare_seams(&c, err);
    if (!status)
        status = sw_recheck_edges(&c, err);
    if (!status) {
        qsort(recheck->edges, recheck->edge_count, sizeof *recheck->edges, urgent_first);
        status = sw_recheck_say(&c, err);
    }
    sw_layout_free(&c.own);
    if (status)
        sw_recheck_free(recheck);
    return status;
}
