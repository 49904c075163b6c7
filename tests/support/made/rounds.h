/* rounds.h - the whole chain on a made-up table: inspect, plan, carry the plan out, push, and again.
 *
 * Outlines are true, pushing is the judge's: nothing of the plan stage judges itself. Plans are carried out exactly, but
 * a face is bevelled only if it leans: the try square is held to every face that a plan names.
 */
#ifndef SW_SUPPORT_ROUNDS_H
#define SW_SUPPORT_ROUNDS_H

#include "seamwright/plan.h"
#include "support/made/judge.h"

/* Plans made; the last one is not carried out: it should ask nothing. */
enum { ROUNDS_PLANS = 3, ROUNDS_CARRIED = 2 };

typedef enum rounds_way {
    ROUNDS_ORDINARY = 0, /* inward from outside: the least total of the gaps, one of the nearly equal ways by chance */
    ROUNDS_CORNER,       /* tile by tile from one corner */
    ROUNDS_WAYS
} rounds_way;

typedef struct rounds_rules {
    rounds_way way;
    double tolerance_mm;
    made_noise noise;
    uint32_t seed;
    int answers; /* 1: what the try square said of a face is told to the later plans */
    int corners; /* 1: tiles that meet only at a corner are kept apart too, as they are in truth */
} rounds_rules;

typedef struct rounds_seam {
    char name[16];
    double seen_mm, seen_u95_mm; /* widest gap as inspected before the plan */
    sw_verdict seen;
    double forecast_mm, forecast_u95_mm;
    sw_verdict forecast;
    int lines;      /* of work at it */
    double came_mm; /* widest true gap once the plan was carried out and the tiles pushed, chips left out */
} rounds_seam;

typedef struct rounds_plan {
    int over;         /* seams that are over as inspected */
    int lines;        /* of work at seams; a plan without a work list: its edges */
    int chip_lines;   /* of work on chips */
    int lines_within; /* at seams that are within as inspected */
    int small;        /* true-ups and bevels of less than ROUNDS_SMALL_MM */
    int listed;       /* 1: the plan has a work list */
    int true_ups, bevels, fits;
    double asked_mm2, deepest_mm;
    double seconds; /* processor time of sw_plan_make */
    rounds_seam seams[JUDGE_SEAMS];
} rounds_plan;

extern const double ROUNDS_SMALL_MM;

/* Free with rounds_free. */
typedef struct rounds_loop {
    int columns, rows, seam_count;
    double tolerance_mm;
    uint32_t seed;
    int corners;
    double first_mm[JUDGE_SEAMS]; /* true widest gaps as the table lay at first */
    rounds_plan plans[ROUNDS_PLANS];
    double overlap_mm; /* deepest true overlap after any push; at corners, if these are kept apart */
    int gave_up;       /* pushes that the judge did not solve */
    made_table from, to;
} rounds_loop;

/* How the rounds push, and look: bases kept apart, and corners. */
extern const judge_rules rounds_judging;

/* Takes off what the plan wants off the top edges. */
void rounds_sand(const sw_plan *plan, made_table *table);

/* A table cut and laid by chance and then pushed the ordinary way. Free with made_free. */
made_table rounds_table(int columns, int rows, const made_quality *quality, uint32_t seed);
void rounds_run(const made_table *laid, const rounds_rules *rules, rounds_loop *loop);
void rounds_free(rounds_loop *loop);

/* Area that came off in all rounds. */
double rounds_area(const rounds_loop *loop);

/* The least area that must come off the first true outlines, faces being bevelled as they were, so that there is a way
 * to lie in which every seam keeps ... NaN where the judge found none. */
typedef enum rounds_keeps {
    ROUNDS_LIMIT = 0, /* to the limit, or to what truly came out where that is wider */
    ROUNDS_CAME       /* to what truly came out */
} rounds_keeps;
double rounds_least(const rounds_loop *loop, rounds_keeps keeps, double knot_mm);

/* What someone takes off who knows the true outlines and how the tiles will be pushed: the least for the limit, pushed;
 * then every seam's own limit tightened by most of what it came out over; and again. over: seams that are over by more
 * than by_mm all the same. The hand that pushes is one of the loop's. */
double rounds_knowing(const rounds_loop *loop, rounds_way way, double by_mm, int *over);

/* Seams wider than the limit by more than so much, after so many rounds (0: as first pushed); the widest. */
int rounds_over(const rounds_loop *loop, int rounds, double by_mm);
double rounds_widest(const rounds_loop *loop, int rounds);

#endif
