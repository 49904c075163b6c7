/* marks.c - the half-way marks of several photos. A tile's edge may show several strokes, and a photo the wrong
 * one: marks are the same when they lie close together, and the one that most photos show counts. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "inspect/combine/together.h"

/* The same mark in two photos, mm: strokes closer together are not told apart (SAME_MM of tick.c). */
static const double MARK_NEAR_MM = 2;

static const sw_mark *find_mark(const sw_inspection *ins, int tile, sw_side side)
{
    for (size_t i = 0; i < ins->mark_count; i++)
        if (ins->marks[i].tile == tile && ins->marks[i].side == side)
            return &ins->marks[i];
    return NULL;
}

/* One edge of a seam in all photos. */
typedef struct edge_marks {
    int tile;
    sw_side side;
    double near_mm; /* the place that most photos show, from the half; NaN: none */
} edge_marks;

/* Photo k's mark there, when it counts for the seam; NULL without. */
static const sw_mark *counting_mark(const sw_together *t, size_t k, size_t seam, const edge_marks *e)
{
    return sw_photo_counts(t, k, seam) ? find_mark(&t->photos[k], e->tile, e->side) : NULL;
}

static const sw_mark *same_mark(const sw_together *t, size_t k, size_t seam, const edge_marks *e)
{
    const sw_mark *m = counting_mark(t, k, seam, e);
    return m && fabs(m->from_half_mm - e->near_mm) < MARK_NEAR_MM ? m : NULL;
}

static edge_marks vote(const sw_together *t, size_t seam, bool second)
{
    const sw_seam *s = &t->out->seams[seam];
    edge_marks e = {second ? s->second : s->first, SW_NORTH, NAN};
    e.side = s->upright ? (second ? SW_WEST : SW_EAST) : (second ? SW_NORTH : SW_SOUTH);
    size_t voters = 0, most = 0;
    for (size_t k = 0; k < t->count; k++)
        voters += (size_t)sw_photo_counts(t, k, seam);
    double best = NAN;
    for (size_t k = 0; k < t->count; k++) {
        const sw_mark *m = counting_mark(t, k, seam, &e);
        size_t seen = 0;
        e.near_mm = m ? m->from_half_mm : NAN;
        for (size_t j = 0; m && j < t->count; j++)
            seen += same_mark(t, j, seam, &e) != NULL;
        if (seen > most && 2 * seen >= voters) {
            most = seen;
            best = e.near_mm;
        }
    }
    e.near_mm = best;
    return e;
}

static void read_marks(const sw_together *t, size_t seam, const edge_marks *e, sw_photo_figure *readings)
{
    for (size_t k = 0; k < t->count; k++) {
        const sw_mark *m = same_mark(t, k, seam, e);
        readings[k] =
            m ? (sw_photo_figure){m->from_half_mm, m->u95_mm / 2, m->u_random_mm} : (sw_photo_figure){NAN, NAN, NAN};
    }
}

/* Steps of the photos that show both of the seam's marks. */
static void read_steps(const sw_together *t, size_t seam, const edge_marks pair[2], sw_photo_figure *readings)
{
    for (size_t k = 0; k < t->count; k++) {
        const sw_mark *a = same_mark(t, k, seam, &pair[0]), *b = same_mark(t, k, seam, &pair[1]);
        readings[k] = a && b ? (sw_photo_figure){a->step_mm, a->step_u95_mm / 2, a->step_u_random_mm}
                             : (sw_photo_figure){NAN, NAN, NAN};
    }
}

/* The place on the straight line between the edge's corners. */
static sw_point place_on(const sw_tile *tile, sw_side side, double at_mm)
{
    const int here = (int)side, next = (here + 1) % 4;
    const bool back = side == SW_SOUTH || side == SW_WEST;
    sw_point a = tile->corners[back ? next : here].mm, b = tile->corners[back ? here : next].mm;
    double part = at_mm / tile->edges[side].length_mm;
    return (sw_point){a.x + part * (b.x - a.x), a.y + part * (b.y - a.y)};
}

static void join_mark(const sw_together *t, size_t seam, const edge_marks *e, const sw_spread *kind,
                      const sw_joined *step)
{
    read_marks(t, seam, e, t->readings);
    sw_joined j = sw_join(t->readings, t->count, kind);
    if (isnan(j.value))
        return;
    const sw_tile *tile = &t->out->tiles[e->tile];
    double at = tile->edges[e->side].length_mm / 2 + j.value;
    t->out->marks[t->out->mark_count++] = (sw_mark){.seam = (int)seam,
                                                    .tile = e->tile,
                                                    .side = e->side,
                                                    .at_mm = at,
                                                    .from_half_mm = j.value,
                                                    .u95_mm = 2 * j.u,
                                                    .u_random_mm = j.u_random,
                                                    .step_mm = step->value,
                                                    .step_u95_mm = 2 * step->u,
                                                    .step_u_random_mm = step->u_random,
                                                    .mm = place_on(tile, e->side, at)};
}

sw_status sw_join_marks(sw_together *t)
{
    sw_inspection *out = t->out;
    sw_tally halves = {0}, steps = {0};
    edge_marks *edges = calloc(2 * out->seam_count + 1, sizeof *edges);
    free(out->marks);
    out->marks = calloc(2 * out->seam_count + 1, sizeof *out->marks);
    out->mark_count = 0;
    if (!edges || !out->marks) {
        free(edges);
        return SW_NO_MEMORY;
    }
    for (size_t i = 0; i < out->seam_count; i++) {
        for (size_t k = 0; k < 2; k++) {
            edges[2 * i + k] = vote(t, i, k == 1);
            read_marks(t, i, &edges[2 * i + k], t->readings);
            sw_tally_add(&halves, t->readings, t->count);
        }
        read_steps(t, i, &edges[2 * i], t->readings);
        sw_tally_add(&steps, t->readings, t->count);
    }
    sw_spread half = sw_tally_close(&halves, 1), apart = sw_tally_close(&steps, 1);
    for (size_t i = 0; i < out->seam_count; i++) {
        read_steps(t, i, &edges[2 * i], t->readings);
        sw_joined step = sw_join(t->readings, t->count, &apart);
        for (size_t k = 0; k < 2; k++)
            join_mark(t, i, &edges[2 * i + k], &half, &step);
    }
    free(edges);
    return SW_OK;
}
