#include "arrange/descend.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Rounds of easing before a sum is estimated. */
enum { EASE_ROUNDS = 3 };

/* A way down, and what it needs. */
typedef struct descent {
    const sw_puzzle *puzzle;
    sw_place *places;
    sw_score score;
    double *turns, *trial, *work; /* turns: that reach the present worst gap */
    size_t tried;
} descent;

/* The fast judge, from the turns in trial, which become those that reach the score. False: wider than `enough`. */
static bool judge(const descent *d, double enough, sw_score *score)
{
    score->worst_mm = sw_puzzle_worst(d->puzzle, d->places, enough, d->trial, d->work);
    if (score->worst_mm > enough)
        return false;
    score->sum_mm = sw_puzzle_ease(d->puzzle, d->places, score->worst_mm, EASE_ROUNDS, d->trial);
    return true;
}

/* Swaps the tiles at places a and b (or takes a alone), turned so; puts them back unless that is better. */
static bool try_swap(descent *d, int a, int b, int turns_a, int turns_b)
{
    sw_place was_a = d->places[a], was_b = d->places[b];
    size_t size = (size_t)d->puzzle->places * sizeof *d->turns;
    double enough = d->score.worst_mm + 2 * SW_PUZZLE_NEAR_MM;
    sw_score score;
    d->places[b] = (sw_place){was_a.tile, turns_b};
    d->places[a] = (sw_place){was_b.tile, turns_a};
    d->tried++;
    if (sw_puzzle_least(d->puzzle, d->places, a) <= enough && sw_puzzle_least(d->puzzle, d->places, b) <= enough) {
        memcpy(d->trial, d->turns, size);
        if (judge(d, enough, &score) && sw_score_better(&score, &d->score)) {
            d->score = score;
            memcpy(d->turns, d->trial, size);
            return true;
        }
    }
    d->places[a] = was_a;
    d->places[b] = was_b;
    return false;
}

/* All pairs of places once. */
static bool go_round(descent *d, const sw_deadline *deadline)
{
    bool better = false;
    for (int a = 0; a < d->puzzle->places && !sw_deadline_over(deadline); a++)
        for (int b = a; !d->puzzle->fixed[a] && b < d->puzzle->places; b++)
            for (int t = 0; !d->puzzle->fixed[b] && t < (a == b ? 4 : 16); t++)
                if (a != b || t != d->places[a].turns)
                    better |= try_swap(d, a, b, t & 3, a == b ? t : t >> 2);
    return better;
}

sw_status sw_descend(const sw_puzzle *puzzle, const sw_deadline *deadline, sw_place *places, sw_score *score,
                     size_t *tried, sw_error *err)
{
    size_t n = (size_t)puzzle->places + 1;
    descent d = {.puzzle = puzzle, .places = places};
    d.turns = calloc(n, sizeof *d.turns);
    d.trial = calloc(n, sizeof *d.trial);
    d.work = calloc(sw_puzzle_work(puzzle), sizeof *d.work);
    bool room = d.turns && d.trial && d.work;
    if (room) {
        judge(&d, INFINITY, &d.score);
        memcpy(d.turns, d.trial, n * sizeof *d.turns);
        while (!sw_deadline_over(deadline) && go_round(&d, deadline))
            ;
    }
    *score = d.score;
    *tried += d.tried;
    free(d.turns);
    free(d.trial);
    free(d.work);
    return room ? SW_OK : sw_fail(err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again");
}
