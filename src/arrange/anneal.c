#include "arrange/anneal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Temperature at the start and at the end, in joints of typical gap: the first lets bad swaps pass freely, the last
 * hardly any. */
static const double HOT = 1.0, COLD = 0.01;
/* Of a hundred steps so many swap two tiles as they lie, swap and turn, turn one; the rest only ease one tile's small
 * turn. */
enum { SWAP = 35, SWAP_AND_TURN = 65, TURN = 95 };
/* Steps between two looks at the clock: some hundredths of a second. */
enum { STEPS_A_LOOK = 4096 };
/* What a mm above the limit costs in sw_ease, in mm of the sum. */
static const double OVER = 1000;

sw_deadline sw_deadline_in(double seconds)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (sw_deadline){(double)now.tv_sec + 1e-9 * (double)now.tv_nsec + seconds};
}

int sw_deadline_over(const sw_deadline *deadline)
{
    return sw_deadline_in(0).seconds > deadline->seconds;
}

uint32_t sw_chance(uint64_t *state, uint32_t below)
{
    uint64_t z = *state += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    z ^= z >> 31;
    return (uint32_t)(((z >> 32) * below) >> 32);
}

/* A run's state. */
typedef struct run {
    const sw_puzzle *puzzle;
    const sw_anneal *how;
    sw_place *places;
    double *turns;
    double *cost; /* of each meeting */
    int *loose;   /* places that are not fixed */
    int loose_count;
    uint64_t chance;
} run;

static double cost_of(const run *r, int meeting)
{
    double g = sw_puzzle_gap(r->puzzle, r->places, meeting, r->turns) / r->how->typical_mm;
    double square = g * g, fourth = square * square;
    switch (r->how->power) {
    case 1:
        return g;
    case 2:
        return square;
    case 4:
        return fourth;
    default:
        return fourth * fourth;
    }
}

static double cost_around(const run *r, int place)
{
    double sum = 0;
    for (int k = 0; k < 4 && r->puzzle->around[place][k] >= 0; k++)
        sum += cost_of(r, r->puzzle->around[place][k]);
    return sum;
}

/* The turn of the tile at a place at which a meeting of it leaves its least range. */
static double turn_for(const sw_puzzle *puzzle, const sw_place *places, const double *turns, int place, int meeting)
{
    int sense;
    const sw_pair *pair = sw_puzzle_pair(puzzle, places, meeting, &sense);
    const sw_meeting *m = &puzzle->meetings[meeting];
    double tilt = sense * (double)pair->tilt_rad; /* second's turn less first's */
    return m->second == place ? turns[m->first] + tilt : turns[m->second] - tilt;
}

/* The best of the turns that suit one neighbour each, their mean, and the present one. */
static void suit(run *r, int place)
{
    double *turn = &r->turns[place], best_turn = *turn, best = cost_around(r, place), sum = 0;
    int n = 0;
    for (; n < 4 && r->puzzle->around[place][n] >= 0; n++) {
        *turn = turn_for(r->puzzle, r->places, r->turns, place, r->puzzle->around[place][n]);
        sum += *turn;
        double cost = cost_around(r, place);
        if (cost < best) {
            best = cost;
            best_turn = *turn;
        }
    }
    *turn = n ? sum / n : *turn;
    if (!(cost_around(r, place) < best))
        *turn = best_turn;
}

/* What a step may change, to be put back. */
typedef struct undo {
    int place[2], count;
    sw_place lay[2];
    double turn[2];
    int meeting[8], meetings;
    double cost[8];
} undo;

static void remember(const run *r, int place, undo *u)
{
    u->place[u->count] = place;
    u->lay[u->count] = r->places[place];
    u->turn[u->count++] = r->turns[place];
    for (int k = 0; k < 4 && r->puzzle->around[place][k] >= 0; k++) {
        int m = r->puzzle->around[place][k], known = 0;
        for (int i = 0; i < u->meetings; i++)
            known |= u->meeting[i] == m;
        if (known)
            continue;
        u->meeting[u->meetings] = m;
        u->cost[u->meetings++] = r->cost[m];
    }
}

static void put_back(run *r, const undo *u)
{
    for (int i = 0; i < u->count; i++) {
        r->places[u->place[i]] = u->lay[i];
        r->turns[u->place[i]] = u->turn[i];
    }
    for (int i = 0; i < u->meetings; i++)
        r->cost[u->meeting[i]] = u->cost[i];
}

static void change(run *r, undo *u)
{
    uint32_t kind = sw_chance(&r->chance, 100);
    int a = r->loose[sw_chance(&r->chance, (uint32_t)r->loose_count)];
    remember(r, a, u);
    if (kind < SWAP_AND_TURN && r->loose_count > 1) {
        int b = a;
        while (b == a)
            b = r->loose[sw_chance(&r->chance, (uint32_t)r->loose_count)];
        remember(r, b, u);
        sw_place keep = r->places[a];
        r->places[a] = r->places[b];
        r->places[b] = keep;
        if (kind >= SWAP) {
            r->places[a].turns = (int)sw_chance(&r->chance, 4);
            r->places[b].turns = (int)sw_chance(&r->chance, 4);
        }
        suit(r, a);
        suit(r, b);
    } else if (kind < TURN)
        r->places[a].turns = (r->places[a].turns + 1 + (int)sw_chance(&r->chance, 3)) & 3;
    suit(r, a);
}

static void step(run *r, double temperature)
{
    undo u = {.count = 0};
    double before = 0, after = 0;
    change(r, &u);
    for (int i = 0; i < u.meetings; i++) {
        before += u.cost[i];
        after += r->cost[u.meeting[i]] = cost_of(r, u.meeting[i]);
    }
    double chance = sw_chance(&r->chance, 1u << 30) / (double)(1u << 30);
    if (after > before && chance >= exp((before - after) / temperature))
        put_back(r, &u);
}

sw_status sw_anneal_run(const sw_puzzle *puzzle, const sw_anneal *how, const sw_deadline *deadline, sw_place *places,
                        double *turns, sw_error *err)
{
    run r = {.puzzle = puzzle, .how = how, .places = places, .turns = turns, .chance = how->seed};
    r.cost = calloc((size_t)puzzle->meeting_count + 1, sizeof *r.cost);
    r.loose = calloc((size_t)puzzle->places + 1, sizeof *r.loose);
    int failed = !r.cost || !r.loose;
    for (int p = 0; !failed && p < puzzle->places; p++)
        if (!puzzle->fixed[p])
            r.loose[r.loose_count++] = p;
    for (int m = 0; !failed && m < puzzle->meeting_count; m++)
        r.cost[m] = cost_of(&r, m);
    double fall = pow(COLD / HOT, 1.0 / (double)(how->steps > 0 ? how->steps : 1)), temperature = HOT;
    for (long i = 0; !failed && r.loose_count && i < how->steps; i++, temperature *= fall) {
        if (i % STEPS_A_LOOK == 0 && sw_deadline_over(deadline))
            break;
        step(&r, temperature);
    }
    free(r.cost);
    free(r.loose);
    return failed ? sw_fail(err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again")
                  : SW_OK;
}

static double ease_cost(const sw_puzzle *puzzle, const sw_place *places, double most, int place, const double *turns)
{
    double sum = 0;
    for (int k = 0; k < 4 && puzzle->around[place][k] >= 0; k++) {
        double g = sw_puzzle_gap(puzzle, places, puzzle->around[place][k], turns);
        sum += g + OVER * fmax(0, g - most);
    }
    return sum;
}

double sw_ease(const sw_puzzle *puzzle, const sw_place *places, double most, int rounds, double *turns)
{
    for (int round = 0; round < rounds; round++)
        for (int p = 0; p < puzzle->places; p++) {
            double best = ease_cost(puzzle, places, most, p, turns), best_turn = turns[p];
            for (int k = 0; k < 4 && puzzle->around[p][k] >= 0; k++)
                for (int part = 1; part < 3; part++) { /* all the way to what suits this neighbour, and half of it */
                    turns[p] =
                        best_turn + (turn_for(puzzle, places, turns, p, puzzle->around[p][k]) - best_turn) / part;
                    double cost = ease_cost(puzzle, places, most, p, turns);
                    if (cost < best) {
                        best = cost;
                        best_turn = turns[p];
                    }
                    turns[p] = best_turn;
                }
        }
    double sum = 0;
    for (int m = 0; m < puzzle->meeting_count; m++)
        sum += sw_puzzle_gap(puzzle, places, m, turns);
    return sum;
}
