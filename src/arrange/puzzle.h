/* puzzle.h - a layout while it is searched for: which pairs of edges face each other, and how wide it gapes. */
#ifndef SW_ARRANGE_PUZZLE_H
#define SW_ARRANGE_PUZZLE_H

#include <stdbool.h>

#include "arrange/pairs.h"
#include "push/settle.h"
#include "seamwright/layout.h"

/* Two neighbouring places. */
typedef struct sw_meeting {
    int first, second; /* places, row after row; first lies west or north */
    bool upright;
} sw_meeting;

/* What does not change during a search. Free with sw_puzzle_free. */
typedef struct sw_puzzle {
    int columns, rows, places;
    const sw_pairs *pairs;
    sw_meeting *meetings; /* place after place, the one to the east first */
    int meeting_count;
    int (*around)[4]; /* of each place: its up to four meetings, -1 for none */
    bool *fixed;      /* of each place: its tile stays as it is */
} sw_puzzle;

void sw_puzzle_free(sw_puzzle *puzzle);
/* SW_NO_MEMORY. *puzzle is zeroed on failure. Nothing is fixed. */
sw_status sw_puzzle_make(const sw_pairs *pairs, int columns, int rows, sw_puzzle *puzzle, sw_error *err);

/* The two edges that face each other at a meeting, first's and second's, as pairs number them. */
void sw_puzzle_faces(const sw_place *places, const sw_meeting *meeting, int faces[2]);
/* The pair of edges that face each other at a meeting; multiply tilts (second's turn - first's) with *sense. */
const sw_pair *sw_puzzle_pair(const sw_puzzle *puzzle, const sw_place *places, int meeting, int *sense);
/* Its widest gap when the tiles at the places are turned so, mm; turns by place, radians. */
double sw_puzzle_gap(const sw_puzzle *puzzle, const sw_place *places, int meeting, const double *turns);

/* The zone of a meeting's pair: the least gap it leaves, mm. */
double sw_puzzle_zone(const sw_puzzle *puzzle, const sw_place *places, int meeting);

/* How near the fast judge finds the widest gap, mm: far below what any photo shows. */
static const double SW_PUZZLE_NEAR_MM = 1e-4;

/* The least that the widest gap of the table can be for what lies round one place, mm: its meetings' zones. */
double sw_puzzle_least(const sw_puzzle *puzzle, const sw_place *places, int place);

/* The widest gap of the table after pushing, mm, to within SW_PUZZLE_NEAR_MM; or anything above `enough` when it is
 * above. turns (by place) are where to begin, and become turns that reach it. work: sw_puzzle_work(puzzle) doubles. */
double sw_puzzle_worst(const sw_puzzle *puzzle, const sw_place *places, double enough, double *turns, double *work);
size_t sw_puzzle_work(const sw_puzzle *puzzle);

/* Turns the tiles one after the other so that the sum of the gaps shrinks, none above `most` if that can be; some
 * rounds of one search along each turn. Returns the sum of the gaps. */
double sw_puzzle_ease(const sw_puzzle *puzzle, const sw_place *places, double most, int rounds, double *turns);

/* The seams of a layout, for sw_settle: places stand for tiles, pitch_mm apart. Free with sw_joints_free.
 * SW_NO_MEMORY. */
typedef struct sw_joints {
    sw_point *centres;
    sw_joint *joints; /* in the order of the puzzle's meetings */
    size_t places, count;
    sw_joint_point *points;
} sw_joints;

void sw_joints_free(sw_joints *joints);
sw_status sw_joints_make(const sw_puzzle *puzzle, const sw_place *places, const sw_outline *outlines, double pitch_mm,
                         sw_joints *joints, sw_error *err);

#endif
