/* judge_model.h - what pushing and least removal share: a table's stations, and rows of linear programmes. Private to
 * judge.c, judge_model.c and judge_removal.c. */
#ifndef SW_SUPPORT_JUDGE_MODEL_H
#define SW_SUPPORT_JUDGE_MODEL_H

#include <stddef.h>

#include "support/made/judge.h"
#include "support/made/judge_corners.h"

/* Corners' ways are chosen before the first rounds only, so that the last ones can converge. */
enum { JUDGE_ROUNDS = 6, JUDGE_CHOOSING = 3 };
/* How far tiles may move from round to round, mm; each round starts with the exact geometry at the last one's poses. */
extern const double JUDGE_REACH_MM[JUDGE_ROUNDS];

/* A station of a seam as the tiles lie, and how the gap changes with the six motions x, y, turn (as mm at 150 mm from
 * the middle) of its first and second tile. */
typedef struct judge_station {
    int seam, limits;
    double place;     /* along the seam: -1 at its north or west end, 1 at the other */
    double gap, open; /* between clean edges; between edges with their chips, less what leans keep apart */
    double slope[6];
    double at[2]; /* of the first's and the second's edge, from its north or west corner */
} judge_station;

/* Free `list`. */
typedef struct judge_stations {
    judge_station *list;
    int count, seam_count;
    made_seam seams[JUDGE_SEAMS];
    int limiting[JUDGE_SEAMS]; /* stations that limit */
    int only;                  /* the one tile that moves; 0: all but tile 0 */
    const made_table *table;
    const judge_corners *corners;
} judge_stations;

/* Zeroed memory; ends the program when it is out. */
void *judge_get(size_t count, size_t size);

/* slopes: 1 to find slopes and places too. */
judge_stations judge_look_along(const made_table *table, const judge_rules *rules, int slopes);
/* The same of one tile's west and north seams, it alone moving. */
judge_stations judge_look_around(const made_table *table, const judge_rules *rules, int tile);

/* Columns of the motions: three a tile that moves, from `first` on. The motions' terms in a station's gap, up to 6;
 * returns how many. */
int judge_motion_terms(const judge_stations *all, const judge_station *s, const judge_rules *rules, int first,
                       int *column, double *factor);
void judge_reach_boxes(judge_lp *lp, int first, int moving, double reach);
/* Columns from `ease` on, two a tile that moves: how far it moves each way, at a cost. */
void judge_ease_motions(judge_lp *lp, int first, int ease, int moving, double cost);
/* How many tiles move. */
int judge_moving(const judge_stations *all);
/* Moves the tiles by the motions' columns; only as in judge_stations. */
void judge_move(made_table *table, int only, const double *x);

/* Corners that have a way: reach + slopes . motion - what comes off (removal may be NULL) <= 0. */
void judge_corners_apart(judge_lp *lp, const judge_stations *all, const judge_rules *rules, int first,
                         const judge_removal *removal);
/* Tiles do not slip along a seam so far that rows and columns step. */
void judge_no_steps(judge_lp *lp, const judge_stations *all, const judge_rules *rules, int first);

/* Columns of least removal: seam by seam and knot by knot, first and second edge in turn; then the motions. */
int judge_knot_column(int knots, int seam, int knot, int second);
/* 4 * tile + side of a seam's edge; whether nothing may come off it. */
int judge_edge_index(const made_seam *seam, int second);
int judge_forbidden(const judge_rules *rules, const made_seam *seam, int second);

#endif
