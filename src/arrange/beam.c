#include "arrange/beam.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Ways carried along: so many in all over the places, so that large tables do not take for ever. Of six 6x4 sheets with
 * 0.1 mm of noise on every edge 50 ways a place found one again, 400 one, 1600 two; with 0.05 mm 400 found all. */
enum { ALL_WAYS = 20000, LEAST_WAYS = 50, MOST_WAYS = 800 };

/* One way to fill the places up to a place. */
typedef struct way {
    double cost;
    int before; /* the way that fills the places before; index into the place's former ways */
    sw_place lay;
} way;

typedef struct beam {
    const sw_puzzle *puzzle;
    const sw_place *given; /* where fixed tiles lie */
    int power;
    int width;   /* ways carried along */
    way *ways;   /* of place p: ways[p * width] onwards */
    int *counts; /* of each place */
    way *next;   /* all continuations, before the best are kept */
    sw_place *partial;
    bool *used;
} beam;

/* What a tile at place p costs, laid against those to its west and north. */
static double cost_at(const beam *b, int p)
{
    double sum = 0;
    for (int k = 0; k < 4 && b->puzzle->around[p][k] >= 0; k++) {
        int m = b->puzzle->around[p][k];
        if (b->puzzle->meetings[m].second != p)
            continue;
        double g = sw_puzzle_zone(b->puzzle, b->partial, m), square = g * g;
        sum += b->power == 1 ? g : b->power == 2 ? square : square * square;
    }
    return sum;
}

/* Lays the places before p as a way has them. */
static void retrace(const beam *b, int p, int index)
{
    memset(b->used, 0, (size_t)b->puzzle->places * sizeof *b->used);
    for (int q = 0; q < b->puzzle->places; q++)
        if (b->puzzle->fixed[q])
            b->used[b->given[q].tile] = true;
    for (int q = p - 1; q >= 0; q--) {
        const way *w = &b->ways[(size_t)q * (size_t)b->width + (size_t)index];
        b->partial[q] = w->lay;
        b->used[w->lay.tile] = true;
        index = w->before;
    }
}

/* All ways to go on from one; returns how many are in next then. */
static int go_on(const beam *b, int p, int index, double cost, int count)
{
    bool fixed = b->puzzle->fixed[p];
    retrace(b, p, index);
    for (int tile = 0; tile < b->puzzle->places; tile++)
        for (int turns = 0; turns < 4; turns++) {
            sw_place lay = {tile, turns};
            if (fixed ? tile != b->given[p].tile || turns != b->given[p].turns : b->used[tile])
                continue;
            b->partial[p] = lay;
            b->next[count++] = (way){cost + cost_at(b, p), index, lay};
        }
    return count;
}

static int cheaper(const void *a, const void *b)
{
    const way *one = a, *two = b;
    if (one->cost != two->cost)
        return one->cost < two->cost ? -1 : 1;
    if (one->before != two->before)
        return one->before < two->before ? -1 : 1;
    return one->lay.tile != two->lay.tile ? one->lay.tile - two->lay.tile : one->lay.turns - two->lay.turns;
}

static void fill(const beam *b, const sw_deadline *deadline, sw_place *places)
{
    int last = b->puzzle->places - 1;
    for (int p = 0; p <= last; p++) {
        int count = 0;
        if (sw_deadline_over(deadline))
            return;
        if (p == 0)
            count = go_on(b, 0, 0, 0, 0);
        for (int i = 0; p > 0 && i < b->counts[p - 1]; i++)
            count = go_on(b, p, i, b->ways[(size_t)(p - 1) * (size_t)b->width + (size_t)i].cost, count);
        qsort(b->next, (size_t)count, sizeof *b->next, cheaper);
        b->counts[p] = count < b->width ? count : b->width;
        memcpy(&b->ways[(size_t)p * (size_t)b->width], b->next, (size_t)b->counts[p] * sizeof *b->next);
    }
    retrace(b, last + 1, 0);
    memcpy(places, b->partial, (size_t)b->puzzle->places * sizeof *places);
}

sw_status sw_beam_run(const sw_puzzle *puzzle, int power, const sw_deadline *deadline, sw_place *places, sw_error *err)
{
    size_t n = (size_t)puzzle->places;
    int width = ALL_WAYS / (puzzle->places + 1);
    beam b = {.puzzle = puzzle, .given = places, .power = power};
    b.width = width < LEAST_WAYS ? LEAST_WAYS : width > MOST_WAYS ? MOST_WAYS : width;
    b.ways = calloc(n * (size_t)b.width + 1, sizeof *b.ways);
    b.counts = calloc(n + 1, sizeof *b.counts);
    b.next = calloc(4 * n * (size_t)b.width + 1, sizeof *b.next);
    b.partial = calloc(n + 1, sizeof *b.partial);
    b.used = calloc(n + 1, sizeof *b.used);
    bool room = b.ways && b.counts && b.next && b.partial && b.used;
    if (room)
        fill(&b, deadline, places);
    free(b.ways);
    free(b.counts);
    free(b.next);
    free(b.partial);
    free(b.used);
    return room ? SW_OK : sw_fail(err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again");
}
