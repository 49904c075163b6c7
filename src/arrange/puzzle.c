#include "arrange/puzzle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a mm above the limit costs in sw_puzzle_ease, in mm of the sum. */
static const double OVER = 1000;

void sw_puzzle_free(sw_puzzle *puzzle)
{
    free(puzzle->meetings);
    free(puzzle->around);
    free(puzzle->fixed);
    memset(puzzle, 0, sizeof *puzzle);
}

static void add_meeting(sw_puzzle *puzzle, int first, int second, bool upright)
{
    int m = puzzle->meeting_count++;
    puzzle->meetings[m] = (sw_meeting){first, second, upright};
    for (int k = 0; k < 2; k++) {
        int *around = puzzle->around[k ? second : first], i = 0;
        while (around[i] >= 0)
            i++;
        around[i] = m;
    }
}

sw_status sw_puzzle_make(const sw_pairs *pairs, int columns, int rows, sw_puzzle *puzzle, sw_error *err)
{
    size_t places = (size_t)columns * (size_t)rows;
    *puzzle = (sw_puzzle){.columns = columns, .rows = rows, .places = (int)places, .pairs = pairs};
    puzzle->meetings = calloc(2 * places + 1, sizeof *puzzle->meetings);
    puzzle->around = calloc(places + 1, sizeof *puzzle->around);
    puzzle->fixed = calloc(places + 1, sizeof *puzzle->fixed);
    if (!puzzle->meetings || !puzzle->around || !puzzle->fixed) {
        sw_puzzle_free(puzzle);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again");
    }
    memset(puzzle->around, -1, places * sizeof *puzzle->around);
    for (int p = 0; p < puzzle->places; p++) {
        if (p % columns < columns - 1)
            add_meeting(puzzle, p, p + 1, true);
        if (p / columns < rows - 1)
            add_meeting(puzzle, p, p + columns, false);
    }
    return SW_OK;
}

/* Side of its own that the tile at a place turns to `facing`. */
static sw_side own_side(const sw_place *place, sw_side facing)
{
    return sw_side_turned(facing, -place->turns);
}

void sw_puzzle_faces(const sw_place *places, const sw_meeting *meeting, int faces[2])
{
    const sw_place *a = &places[meeting->first], *b = &places[meeting->second];
    faces[0] = 4 * a->tile + (int)own_side(a, meeting->upright ? SW_EAST : SW_SOUTH);
    faces[1] = 4 * b->tile + (int)own_side(b, meeting->upright ? SW_WEST : SW_NORTH);
}

const sw_pair *sw_puzzle_pair(const sw_puzzle *puzzle, const sw_place *places, int meeting, int *sense)
{
    int faces[2];
    sw_puzzle_faces(places, &puzzle->meetings[meeting], faces);
    return sw_pair_of(puzzle->pairs, faces[0], faces[1], sense);
}

double sw_puzzle_gap(const sw_puzzle *puzzle, const sw_place *places, int meeting, const double *turns)
{
    const sw_meeting *m = &puzzle->meetings[meeting];
    int sense;
    const sw_pair *pair = sw_puzzle_pair(puzzle, places, meeting, &sense);
    return sw_pair_range(puzzle->pairs, pair, sense * (turns[m->second] - turns[m->first]));
}

size_t sw_puzzle_work(const sw_puzzle *puzzle)
{
    return 4 * (size_t)puzzle->meeting_count + (size_t)puzzle->places + 1;
}

/* Are there turns with every tilt between from and to (span: two a meeting)? A system of difference constraints:
 * Bellman 1958, Ford. Starts from the turns given and leaves turns that fulfil it. */
static bool feasible(const sw_puzzle *puzzle, const double *span, double *turns)
{
    static const double TINY = 1e-12;
    for (int round = 0; round <= puzzle->places; round++) {
        bool changed = false;
        for (int m = 0; m < puzzle->meeting_count; m++) {
            double *a = &turns[puzzle->meetings[m].first], *b = &turns[puzzle->meetings[m].second];
            if (*b > *a + span[2 * m + 1] + TINY) {
                *b = *a + span[2 * m + 1];
                changed = true;
            }
            if (*a > *b - span[2 * m] + TINY) {
                *a = *b - span[2 * m];
                changed = true;
            }
        }
        if (!changed)
            return true;
    }
    return false;
}

/* Are there turns with no gap above `most`? If so they are left in turns. work begins with spans that a larger `most`
 * gave. */
static bool closes(const sw_puzzle *puzzle, const sw_place *places, double most, double *turns, double *work)
{
    size_t spans = 2 * (size_t)puzzle->meeting_count;
    double *wide = work, *span = work + spans, *try = span + spans;
    memcpy(span, wide, spans * sizeof *span);
    for (int m = 0; m < puzzle->meeting_count; m++) {
        int sense;
        const sw_pair *pair = sw_puzzle_pair(puzzle, places, m, &sense);
        double from = sense > 0 ? span[2 * m] : -span[2 * m + 1], to = sense > 0 ? span[2 * m + 1] : -span[2 * m];
        sw_pair_span(puzzle->pairs, pair, most, &from, &to);
        span[2 * m] = sense > 0 ? from : -to;
        span[2 * m + 1] = sense > 0 ? to : -from;
    }
    memcpy(try, turns, (size_t)puzzle->places * sizeof *try);
    if (!feasible(puzzle, span, try))
        return false;
    memcpy(wide, span, spans * sizeof *wide);
    memcpy(turns, try, (size_t)puzzle->places * sizeof *try);
    return true;
}

double sw_puzzle_zone(const sw_puzzle *puzzle, const sw_place *places, int meeting)
{
    int sense;
    const sw_pair *pair = sw_puzzle_pair(puzzle, places, meeting, &sense);
    return pair->upper ? (double)pair->zone_mm : puzzle->pairs->unknown_mm;
}

double sw_puzzle_least(const sw_puzzle *puzzle, const sw_place *places, int place)
{
    double least = 0;
    for (int k = 0; k < 4 && puzzle->around[place][k] >= 0; k++)
        least = fmax(least, sw_puzzle_zone(puzzle, places, puzzle->around[place][k]));
    return least;
}

double sw_puzzle_worst(const sw_puzzle *puzzle, const sw_place *places, double enough, double *turns, double *work)
{
    double least = 0, most = 0;
    for (int m = 0; m < puzzle->meeting_count; m++) {
        least = fmax(least, sw_puzzle_zone(puzzle, places, m));
        most = fmax(most, sw_puzzle_gap(puzzle, places, m, turns));
        work[2 * m] = -SW_PAIR_MOST_TILT;
        work[2 * m + 1] = SW_PAIR_MOST_TILT;
    }
    if (least > enough)
        return least;
    if (enough < most) {
        if (!closes(puzzle, places, enough, turns, work))
            return 2 * enough + 1;
        most = enough;
    }
    least += SW_PUZZLE_NEAR_MM / 4; /* zones are rounded to floats */
    if (most <= least || closes(puzzle, places, least, turns, work))
        return least;
    /* As a rule the meeting that held before still holds. */
    double middle = most - SW_PUZZLE_NEAR_MM;
    while (most - least > SW_PUZZLE_NEAR_MM) {
        if (closes(puzzle, places, middle, turns, work))
            most = middle;
        else
            least = middle;
        middle = (least + most) / 2;
    }
    return most;
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

static double ease_cost(const sw_puzzle *puzzle, const sw_place *places, double most, int place, const double *turns)
{
    double sum = 0;
    for (int k = 0; k < 4 && puzzle->around[place][k] >= 0; k++) {
        double g = sw_puzzle_gap(puzzle, places, puzzle->around[place][k], turns);
        sum += g + OVER * fmax(0, g - most);
    }
    return sum;
}

double sw_puzzle_ease(const sw_puzzle *puzzle, const sw_place *places, double most, int rounds, double *turns)
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
