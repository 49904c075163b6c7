#include "arrange/puzzle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void sw_puzzle_free(sw_puzzle *puzzle)
{
    free(puzzle->meetings);
    free(puzzle->around);
    free(puzzle->fixed);
    memset(puzzle, 0, sizeof *puzzle);
}

static void add_meeting(sw_puzzle *puzzle, int first, int second, int upright)
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
    puzzle->fixed = calloc(places + 1, 1);
    if (!puzzle->meetings || !puzzle->around || !puzzle->fixed) {
        sw_puzzle_free(puzzle);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again");
    }
    memset(puzzle->around, -1, places * sizeof *puzzle->around);
    for (int p = 0; p < puzzle->places; p++) {
        if (p % columns < columns - 1)
            add_meeting(puzzle, p, p + 1, 1);
        if (p / columns < rows - 1)
            add_meeting(puzzle, p, p + columns, 0);
    }
    return SW_OK;
}

/* Side of its own that the tile at a place turns to `facing`. */
static sw_side own_side(const sw_place *place, sw_side facing)
{
    return sw_side_turned(facing, -place->turns);
}

const sw_pair *sw_puzzle_pair(const sw_puzzle *puzzle, const sw_place *places, int meeting, int *sense)
{
    const sw_meeting *m = &puzzle->meetings[meeting];
    const sw_place *a = &places[m->first], *b = &places[m->second];
    int first = 4 * a->tile + (int)own_side(a, m->upright ? SW_EAST : SW_SOUTH);
    int second = 4 * b->tile + (int)own_side(b, m->upright ? SW_WEST : SW_NORTH);
    return sw_pair_of(puzzle->pairs, first, second, sense);
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
static int feasible(const sw_puzzle *puzzle, const double *span, double *turns)
{
    static const double TINY = 1e-12;
    for (int round = 0; round <= puzzle->places; round++) {
        int changed = 0;
        for (int m = 0; m < puzzle->meeting_count; m++) {
            double *a = &turns[puzzle->meetings[m].first], *b = &turns[puzzle->meetings[m].second];
            if (*b > *a + span[2 * m + 1] + TINY) {
                *b = *a + span[2 * m + 1];
                changed = 1;
            }
            if (*a > *b - span[2 * m] + TINY) {
                *a = *b - span[2 * m];
                changed = 1;
            }
        }
        if (!changed)
            return 1;
    }
    return 0;
}

/* Are there turns with no gap above `most`? If so they are left in turns. work begins with spans that a larger `most`
 * gave. */
static int closes(const sw_puzzle *puzzle, const sw_place *places, double most, double *turns, double *work)
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
        return 0;
    memcpy(wide, span, spans * sizeof *wide);
    memcpy(turns, try, (size_t)puzzle->places * sizeof *try);
    return 1;
}

/* The zone of a meeting's pair: what it leaves at least. */
static double zone_of(const sw_puzzle *puzzle, const sw_place *places, int meeting)
{
    int sense;
    const sw_pair *pair = sw_puzzle_pair(puzzle, places, meeting, &sense);
    return pair->upper ? (double)pair->zone_mm : puzzle->pairs->unknown_mm;
}

double sw_puzzle_least(const sw_puzzle *puzzle, const sw_place *places, int place)
{
    double least = 0;
    for (int k = 0; k < 4 && puzzle->around[place][k] >= 0; k++)
        least = fmax(least, zone_of(puzzle, places, puzzle->around[place][k]));
    return least;
}

double sw_puzzle_worst(const sw_puzzle *puzzle, const sw_place *places, double enough, double *turns, double *work)
{
    double least = 0, most = 0;
    for (int m = 0; m < puzzle->meeting_count; m++) {
        least = fmax(least, zone_of(puzzle, places, m));
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
