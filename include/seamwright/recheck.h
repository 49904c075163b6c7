/* recheck.h - before against after: what came off, what it did to the gaps, and when to stop. */
#ifndef SEAMWRIGHT_RECHECK_H
#define SEAMWRIGHT_RECHECK_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/layout.h"
#include "seamwright/plan.h"
#include "seamwright/report.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* One seam of the later inspection. Its `before` is the seam between the same two edges in the earlier one; NaN when
 * these two did not face each other then, or were not seen. */
typedef struct sw_seam_change {
    int seam;                        /* index into the later inspection's seams */
    int before;                      /* index into the earlier inspection's seams; -1: no such seam there */
    double before_mm, before_u95_mm; /* widest gap, chips left out */
    double after_mm, after_u95_mm;
    double change_mm, change_u95_mm; /* after - before; the two ± as root sum of squares */
    bool
        pushed_apart; /* surely wider than before, and the mean gaps of its row or column, too, taken together: the tiles
                          were not pushed together (openness that only moved along the row leaves their sum) */
    sw_verdict verdict; /* of the later gap, against the tolerance used here */
    int tile[2];        /* whose edges face each other here: indices into the earlier inspection's tiles */
    sw_side side[2];    /* and which edges, as these tiles lie in the earlier inspection */
} sw_seam_change;

/* One edge, as the tile lies in the earlier inspection. Places run from its north or west end there. Every ± is 95 %.
 */
typedef struct sw_edge_change {
    int tile;
    sw_side side;
    bool planned;                     /* the plan wanted something taken off this edge's top */
    double planned_mm, planned_at_mm; /* deepest place of the plan; 0 and NaN when not planned */
    double taken_mm, taken_u95_mm; /* what came off there, or at the nearest place seen well (15 mm at most), or, for an
                                      edge not planned, where most did; NaN when not seen */
    double taken_at_mm;
    bool sure; /* taken_mm is no error: of an edge not planned with all places of all tiles looked at together */
    double together_mm, together_u95_mm;   /* what came off there and, straight across the tile, off the opposite edge:
                                              known even where nothing tells the two apart; NaN when not seen */
    double together_planned_mm;            /* what the plan wanted off these two places; 0 without a plan */
    double most_over_mm, most_over_u95_mm; /* most by which more came off than planned within 20 mm, anywhere; 0 when
                                              nowhere, or without a plan */
    double most_over_at_mm;
    /* What is said here is wrong in no more than 5 % of tables, all places of all tiles looked at together, so it takes
     * more than one figure's ±. */
    bool too_much;      /* more came off than planned */
    bool not_enough;    /* at the deepest planned place less came off than planned, off this edge, or off it and the
                       opposite one together; never after a stop */
    bool together_over; /* off it and the opposite one together more came off than planned */
} sw_edge_change;

/* Free with sw_recheck_free. */
typedef struct sw_recheck {
    double tolerance_mm;
    bool planned;          /* a plan was given */
    sw_seam_change *seams; /* worst first */
    size_t seam_count;
    sw_edge_change *edges; /* edges planned for, and those off which something surely came (off the edge, or off it and
                              the opposite one together); planned ones first, of them too much before not enough; each
                              by most_over or taken */
    size_t edge_count;
    sw_place *places; /* which of the earlier inspection's tiles lies at each place of the later one */
    size_t place_count;
    int over, too_close, within; /* how many seams */
    bool stop;                   /* nothing is over: stop here */
    sw_notes notes;              /* too much came off, a seam got worse, ... */
    char next[512];              /* the one next action */
} sw_recheck;

SW_API void sw_recheck_free(sw_recheck *recheck);

/* Whether every seam is within the tolerance; one over or too close to call is not. */
SW_API bool sw_recheck_fits(const sw_recheck *recheck);

/* Compares two inspections of the same tiles. layout tells how the tiles lie in `after`, in the names of `before`;
 * NULL: as in `before`. plan (of `before`) may be NULL. tolerance_mm 0: that of `after`.
 *
 * What came off an edge: the tile's outline before less after, the after outline first laid on the before one by a
 * turn and a shift. Sanding only takes away, and where nothing was planned nothing should be missing (least absolute
 * differences, which a few sanded places do not sway). All motions that fit nearly as well as the best are looked at
 * (linear programmes): what came off is the middle of what they allow, and half their range goes into its ±. So an edge
 * sanded alike all along, with nothing to tell it from its opposite, has a wide one, and `together` says what is known.
 * Where a tile lost much all over that the plan leaves alone, the plan is not believed there.
 * Between two photos sizes compare only as well as the two scales: the ± holds both lengths'. With a plan, four or more
 * widths between edges that it leaves alone compare the scales better, unless the cards contradict them.
 * SW_BAD_INPUT: other numbers of tiles, sizes that differ by more than sanding explains. */
SW_API sw_status sw_recheck_make(const sw_inspection *before, const sw_inspection *after, const sw_layout *layout,
                                 const sw_plan *plan, double tolerance_mm, sw_recheck *recheck, sw_error *err);

/* Writers. The text is for a terminal, for free(); NULL when memory is out. */
SW_API char *sw_report_recheck_text(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after);
SW_API sw_status sw_report_recheck_json(const sw_recheck *recheck, const sw_inspection *before,
                                        const sw_inspection *after, const char *path, sw_error *err);

/* What the report of an inspection tells of the one before it. NULL where one is asked for: nothing. */
typedef struct sw_comparison {
    const sw_recheck *recheck; /* of the two */
    const sw_inspection *before;
} sw_comparison;

/* recheck.json and recheck.html into folder: both or neither. A folder that is not there is made; whatever else lies in
 * one that is stays. Files of these names that no recheck wrote are left alone: SW_CANNOT_WRITE. The two folders of pictures:
 * those that hold the pictures of the two inspections for the page; NULL: none. */
SW_API sw_status sw_report_recheck_write(const sw_recheck *recheck, const sw_inspection *before,
                                         const char *before_pictures, const sw_inspection *after,
                                         const char *after_pictures, const char *folder, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
