#include "arrange/descend.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of the neighbours of a layout so many are judged before the layout counts as the best among them. */
enum { HOPEFUL = 10 };
/* Rounds of easing before a sum is estimated. */
enum { EASE_ROUNDS = 3 };

sw_status sw_judge(const sw_puzzle *puzzle, const sw_outline *outlines, double pitch_mm, const sw_place *places,
                   sw_score *score, sw_error *err)
{
    sw_joints joints;
    sw_settled settled;
    sw_status status = sw_joints_make(puzzle, places, outlines, pitch_mm, 1, &joints, err);
    if (status)
        return status;
    status = sw_settle(joints.centres, joints.places, joints.joints, joints.count, &settled, err);
    if (!status) {
        *score = (sw_score){settled.worst_mm, settled.sum_mm};
        for (size_t j = 0; j < joints.count; j++)
            if (!joints.joints[j].point_count) {
                score->worst_mm = fmax(score->worst_mm, puzzle->pairs->unknown_mm);
                score->sum_mm += puzzle->pairs->unknown_mm;
            }
        sw_settled_free(&settled);
    }
    sw_joints_free(&joints);
    return status;
}

/* A change to a layout: places a and b swapped (or a alone), their tiles then turned so. */
typedef struct deed {
    int a, b;
    int turns_a, turns_b;
    sw_score hope;
} deed;

/* A way down, and what it needs. */
typedef struct way {
    const sw_puzzle *puzzle;
    sw_place *places;
    double *turns, *trial, *work; /* turns: that reach the present worst gap */
    deed hopeful[HOPEFUL];
    int count;
    size_t tried;
} way;

static void carry_out(const deed *d, sw_place *places)
{
    sw_place a = places[d->a], b = places[d->b];
    places[d->a] = (sw_place){b.tile, d->turns_a};
    places[d->b] = (sw_place){a.tile, d->b == d->a ? d->turns_a : d->turns_b};
}

/* Keeps the deed among the hopeful ones, most hopeful first. */
static void hope(way *w, const deed *d)
{
    int at = w->count;
    if (w->count < HOPEFUL)
        w->count++;
    else if (!sw_score_better(&d->hope, &w->hopeful[--at].hope))
        return;
    for (; at > 0 && sw_score_better(&d->hope, &w->hopeful[at - 1].hope); at--)
        w->hopeful[at] = w->hopeful[at - 1];
    w->hopeful[at] = *d;
}

/* Looks at a deed with the fast judge. */
static void look(way *w, deed *d, const sw_score *now)
{
    sw_place a = w->places[d->a], b = w->places[d->b];
    double enough = now->worst_mm + 2 * SW_PUZZLE_NEAR_MM;
    carry_out(d, w->places);
    w->tried++;
    if (sw_puzzle_least(w->puzzle, w->places, d->a) <= enough &&
        sw_puzzle_least(w->puzzle, w->places, d->b) <= enough) {
        memcpy(w->trial, w->turns, (size_t)w->puzzle->places * sizeof *w->trial);
        d->hope.worst_mm = sw_puzzle_worst(w->puzzle, w->places, enough, w->trial, w->work);
        if (d->hope.worst_mm <= enough) {
            d->hope.sum_mm = sw_ease(w->puzzle, w->places, d->hope.worst_mm, EASE_ROUNDS, w->trial);
            hope(w, d);
        }
    }
    w->places[d->a] = a;
    w->places[d->b] = b;
}

static void look_round(way *w, const sw_deadline *deadline, const sw_score *now)
{
    w->count = 0;
    for (int a = 0; a < w->puzzle->places && !sw_deadline_over(deadline); a++)
        for (int b = a; !w->puzzle->fixed[a] && b < w->puzzle->places; b++)
            for (int t = 0; !w->puzzle->fixed[b] && t < (a == b ? 4 : 16); t++) {
                deed d = {.a = a, .b = b, .turns_a = t & 3, .turns_b = t >> 2};
                if (a != b || d.turns_a != w->places[a].turns)
                    look(w, &d, now);
            }
}

/* Takes the most hopeful deed at its word. Returns 1 when it is better. */
static int take_hope(way *w, sw_score *score)
{
    if (!w->count || !sw_score_better(&w->hopeful[0].hope, score))
        return 0;
    carry_out(&w->hopeful[0], w->places);
    *score = w->hopeful[0].hope;
    return 1;
}

/* Judges the hopeful until one is better. Returns 1 when there was one. */
static int take_better(way *w, const sw_outline *outlines, double pitch_mm, sw_score *score, sw_status *status,
                       sw_error *err)
{
    for (int i = 0; i < w->count; i++) {
        sw_place a = w->places[w->hopeful[i].a], b = w->places[w->hopeful[i].b];
        sw_score judged;
        carry_out(&w->hopeful[i], w->places);
        *status = sw_judge(w->puzzle, outlines, pitch_mm, w->places, &judged, err);
        if (!*status && sw_score_better(&judged, score)) {
            *score = judged;
            return 1;
        }
        w->places[w->hopeful[i].a] = a;
        w->places[w->hopeful[i].b] = b;
        if (*status)
            return 0;
    }
    return 0;
}

sw_status sw_descend(const sw_puzzle *puzzle, const sw_outline *outlines, double pitch_mm, int exact,
                     const sw_deadline *deadline, sw_place *places, sw_score *score, size_t *tried, sw_error *err)
{
    size_t n = (size_t)puzzle->places + 1;
    way w = {
        .puzzle = puzzle, .places = places, .turns = calloc(n, sizeof *w.turns), .trial = calloc(n, sizeof *w.trial)};
    w.work = calloc(sw_puzzle_work(puzzle), sizeof *w.work);
    sw_status status = w.turns && w.trial && w.work ? SW_OK : SW_NO_MEMORY;
    if (status)
        sw_fail(err, status, "not enough memory to search; close other programs and try again");
    if (!status && exact)
        status = sw_judge(puzzle, outlines, pitch_mm, places, score, err);
    for (int better = 1, round = 0; better && !status; round++) {
        memset(w.turns, 0, n * sizeof *w.turns);
        double worst = sw_puzzle_worst(puzzle, places, INFINITY, w.turns, w.work);
        double sum = sw_ease(puzzle, places, worst, EASE_ROUNDS, w.turns);
        if (!exact && round == 0)
            *score = (sw_score){worst, sum};
        if (sw_deadline_over(deadline))
            break;
        look_round(&w, deadline, score);
        better = exact ? take_better(&w, outlines, pitch_mm, score, &status, err) : take_hope(&w, score);
    }
    *tried += w.tried;
    free(w.turns);
    free(w.trial);
    free(w.work);
    return status;
}
