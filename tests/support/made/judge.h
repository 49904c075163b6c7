/* judge.h - what becomes of made-up tiles when they are pushed together, and the least that must come off them.
 *
 * True outlines, exact geometry: the gaps' slopes are taken by small motions at the poses found so far, a linear
 * programme moves the tiles, and so on. Nothing of src/plan.
 */
#ifndef SW_SUPPORT_JUDGE_H
#define SW_SUPPORT_JUDGE_H

#include "support/made/judge_lp.h"
#include "support/made/made_table.h"

enum { JUDGE_SEAMS = 64 };

typedef enum judge_aim {
    JUDGE_WORST = 0, /* the widest gap of the table; among those the least sum of the seams' widest */
    JUDGE_SUM        /* the sum of the seams' mean gaps, as hands do that push everywhere */
} judge_aim;

typedef struct judge_rules {
    double end_mm;  /* so far from a seam's ends gaps are not limited (the tiles must not overlap there all the same) */
    double step_mm; /* between stations */
    double knot_mm; /* least removal: between knots */
    int leans;      /* 1: the bases must not overlap either */
    int corners;    /* 1: tiles that meet only at a corner must not overlap either; see judge_corners.h */
    int fixed_turns; /* 1: tiles do not turn */
    const unsigned char
        *forbidden;         /* least removal: 1 at 4 * tile + side: nothing comes off; NULL: all may be sanded */
    const double *allow_mm; /* pushing: the worst gap is that beyond so much of each seam's, and seams that keep to it
                               are free to; least removal: so much more than the tolerance; NULL: 0 */
    uint32_t hand; /* pushing for the least sum: which of the nearly equal ways to lie, by chance; 0: the middle */
} judge_rules;

/* 5, 1, 10; the rest 0 */
extern const judge_rules judge_usual;

/* Free with judge_settled_free. */
typedef struct judge_settled {
    made_table table; /* as the tiles lie then */
    int seam_count;
    double max_mm[JUDGE_SEAMS];   /* widest true gap, chips and ends left out */
    double whole_mm[JUDGE_SEAMS]; /* widest true gap, chips left out, ends counted */
    double worst_mm, sum_mm;      /* of max_mm */
    double corner_mm;             /* deepest overlap of tiles that meet only at a corner */
    double overlap_mm;            /* deepest true overlap anywhere, chips being hollow; 0 for none */
} judge_settled;

void judge_settled_free(judge_settled *settled);

/* The figures above, as the tiles lie. */
void judge_look(const made_table *table, const judge_rules *rules, judge_settled *settled);

/* Pushes. Not JUDGE_SOLVED: the figures are of the last poses found. */
judge_end judge_settle(const made_table *table, judge_aim aim, const judge_rules *rules, judge_settled *settled);

/* Pushes from the north-west corner: row after row, each tile in turn against the ones to its west and north, which stay
 * (least sum of these seams' mean gaps, turned as need be; no overlap). A tile of the first row or column, which nothing
 * holds along its one seam, lies flush with its neighbour. Corners, if so ruled: a tile gives way, or taps aside the one
 * it would lie under. */
judge_end judge_from_corner(const made_table *table, const judge_rules *rules, judge_settled *settled);

/* Least removal. Free with judge_removal_free. */
typedef struct judge_removal {
    double area_mm2;
    int edges, knots;       /* of each edge */
    double *at_mm, *off_mm; /* edges * knots, edge 4 * tile + side */
    double *area_by_edge;   /* mm2 */
} judge_removal;

void judge_removal_free(judge_removal *removal);

/* The least area that can come off the true outlines so that some motion brings every gap into 0 to tolerance_mm (over
 * chips and ends: only not below 0). JUDGE_INFEASIBLE when forbidden edges leave no way. */
judge_end judge_least_removal(const made_table *table, double tolerance_mm, const judge_rules *rules,
                              judge_removal *removal);
/* Takes it off. */
void judge_carry_out(const judge_removal *removal, made_table *table);

#endif
