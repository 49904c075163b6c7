/* judge_corners.h - tiles that meet only at a corner: they must not overlap either, but may pass each other on either
 * side, east-west or north-south, which no linear programme can choose. Where they overlap, the way that takes less is
 * chosen, and kept. */
#ifndef SW_SUPPORT_JUDGE_CORNERS_H
#define SW_SUPPORT_JUDGE_CORNERS_H

#include "support/made/made_table.h"

enum { JUDGE_CORNERS = 64 };

typedef enum judge_way { JUDGE_NO_WAY = 0, JUDGE_BY_X, JUDGE_BY_Y } judge_way;

/* The upper tile's lower corner against the lower tile's upper one; east 1: the lower tile lies to the east. */
typedef struct judge_corner {
    int upper, lower;
    double east;
    judge_way way;
} judge_corner;

typedef struct judge_corners {
    judge_corner list[JUDGE_CORNERS];
    int count;
} judge_corners;

judge_corners judge_corners_of(const made_table *table);

/* Chooses ways for corners that overlap as the tiles lie and have none; returns how many. */
int judge_corners_choose(const made_table *table, judge_corners *corners);

/* How far a corner overlaps on its chosen way, mm, and how that grows with the motions x, y (mm) and turn (rad) of the
 * upper and the lower tile. */
double judge_corner_reach(const made_table *table, const judge_corner *corner, double slope[6]);

/* The edge whose sanding at its end makes the corner give way: its side, and 1 when its last place is the corner, 0
 * when its first one is. */
sw_side judge_corner_edge(const judge_corner *corner, int lower, int *last);

#endif
