/* plan.h - from gaps to sanding: how far pushing closes the table, what must come off which edge, and what sanding
 * cannot mend.
 *
 * Sanding takes material away, so a gap is closed by sanding where tiles touch, not where they gape. All motions are
 * small, so everything is linear: new gap = gap + J motion + what comes off the two edges; linear programmes find the
 * rest. Places along an edge run from its north or west end, as in inspection.json.
 */
#ifndef SEAMWRIGHT_PLAN_H
#define SEAMWRIGHT_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/layout.h"
#include "seamwright/paper.h"
#include "seamwright/report.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_plan_for { SW_PLAN_LAYOUT = 0, SW_PLAN_ANY } sw_plan_for;

/* What the user wishes. Zero means the default in brackets. */
typedef struct sw_plan_options {
    sw_plan_for purpose;   /* this layout, or every layout and turn [SW_PLAN_LAYOUT] */
    double tolerance_mm;   /* widest gap accepted, SW_TOLERANCE_MM [the first inspection's] */
    double deepest_cut_mm; /* most to take off anywhere [SW_CUT_MM] */
    double height_mm;      /* of the side faces, for bevels in degrees [the first inspection's table height, else 45] */
    const struct sw_lean_answer *answers; /* what a try square said of single faces [none]; only read */
    size_t answer_count;
} sw_plan_options;

/* What a try square said of one face: how far its base stands proud of the top edge, mm; 0: square. */
typedef struct sw_lean_answer {
    int tile;     /* index into the first inspection's tiles */
    sw_side side; /* as the tile lies there */
    double lean_mm;
} sw_lean_answer;

/* What comes off one edge at one place; between two places of an edge it is linear. */
typedef struct sw_removal {
    double at_mm, remove_mm;
} sw_removal;

/* Which of two facing faces leans, as far as the inspections tell. */
typedef enum sw_lean_known {
    SW_LEAN_NONE = 0, /* no bevel planned on this edge */
    SW_LEAN_KNOWN,    /* this edge is known to lean: bevel it */
    SW_LEAN_OPEN      /* this edge or the one it faces, or both: check with a try square first */
} sw_lean_known;

/* What is to be done with one edge. Only edges with something to do are listed. */
typedef struct sw_edge_plan {
    int tile;            /* index into the first inspection's tiles */
    sw_side side;        /* as the tile lies in the first inspection */
    double length_mm;    /* of the edge */
    sw_removal *true_up; /* by place, from 0 to length_mm; NULL when nothing comes off the top edge */
    size_t true_up_count;
    double removed_mm2; /* area that true_up takes off, seen from above */
    double deepest_mm;  /* largest remove_mm */
    double bevel_mm;    /* to take off at the base, tapering to nothing at the top edge; 0 when no bevel */
    double bevel_deg;   /* atan(bevel_mm / height) */
    sw_lean_known lean;
    char why[640]; /* what to do in plain words, with the reason */
} sw_edge_plan;

/* One seam of the layout that is planned for. Gaps without chips; mm; NaN when the seam was not seen. */
typedef struct sw_seam_plan {
    char name[16];
    double max_now_mm, max_now_u95_mm;   /* as inspected */
    double max_pushed_mm;                /* if the tiles are only pushed together, their bases not holding them apart */
    double max_after_mm;                 /* after sanding and pushing; for SW_PLAN_LAYOUT the same as forecast_mm */
    double forecast_mm, forecast_u95_mm; /* after sanding and an ordinary push; the ± holds the gap's own, the other
                                            ways in which tiles may come to lie, and leans that are not known */
    sw_verdict forecast;                 /* of forecast_mm; SW_TOO_CLOSE too for a seam that was not seen */
    double best_mm;     /* forecast_mm if none of the faces leans that may or may not (no more than what is sure) */
    double standoff_mm; /* how far the tops stay apart though pushed tight: lean of the two together; 0
                                          when the top edges explain the gap */
    double touch_mm[4]; /* where the tiles touch when pushed, from the seam's north or west end */
    int touch_count;    /* 0 to 4 */
} sw_seam_plan;

/* What is known of the lean of one edge's side face. */
typedef struct sw_lean {
    int tile;
    sw_side side;
    double lean_mm;           /* how far the base stands proud of the top edge: least squares, never below 0 */
    double least_mm, most_mm; /* what the inspections allow (95 %); most is infinite when nothing limits it */
    bool answered;            /* a try square was held to it */
} sw_lean;

/* One line of the list that a person works through: all that is to be done at one seam. */
typedef struct sw_work_line {
    int seam;                            /* index into the plan's seams; -1: the chips of all */
    char cause[120];                     /* what is wrong: "held open at its ends" */
    char what[480];                      /* what to do, in plain words */
    double worth_mm;                     /* by how much the seam's widest gap comes down through this line */
    double widest_from_mm, widest_to_mm; /* the table's widest gap before this line and after it, when the lines are
                                            worked through in their order */
    int edges[2];                        /* indices into the plan's edges */
    int edge_count;
} sw_work_line;

/* What another limit would cost. */
typedef struct sw_limit_cost {
    double limit_mm;
    int bevels, true_ups; /* faces to bevel, edges to true up */
    double removed_mm2;
} sw_limit_cost;

/* Free with sw_plan_free. */
typedef struct sw_plan {
    sw_plan_for purpose;
    double tolerance_mm, deepest_cut_mm, height_mm;
    sw_edge_plan *edges; /* the edge with most to take off first; bevels only come last */
    size_t edge_count;
    sw_seam_plan *seams; /* in the first inspection's order; for SW_PLAN_ANY max_after is the widest that any two edges
                            of the set can leave when every tile lies on its own common square */
    size_t seam_count;
    sw_work_line *work; /* most worth first; no more lines than seams over */
    size_t work_count;
    sw_limit_cost *by_limit; /* by limit, least first; empty for SW_PLAN_ANY */
    size_t by_limit_count;
    sw_lean *leans; /* edges that may lean, by tile and side */
    size_t lean_count;
    sw_lean_answer *answers; /* given, and used */
    size_t answer_count;
    double common_tile_mm, common_tile_u95_mm; /* SW_PLAN_ANY: side of the common square; NaN for SW_PLAN_LAYOUT */
    int limiting_tile;   /* SW_PLAN_ANY: index of the tile that keeps the common square from being larger; else -1 */
    bool fits_every_way; /* SW_PLAN_ANY: after the plan the set fits in every arrangement and turn */
    double removed_total_mm2;
    sw_notes cannot;       /* what sanding cannot mend */
    sw_notes notes;        /* what was not known or was assumed */
    char *settling_layout; /* a further arrangement that would settle which edges lean, as --layout takes it; NULL when
                              nothing is open or none would help */
    char next[512];        /* the one next action */
} sw_plan;

SW_API void sw_plan_free(sw_plan *plan);

/* Makes the plan from `count` inspections (1 or more) of the same tiles, which are only read. The plan is for the first
 * inspection's layout; layouts[k] tells how the tiles lay in inspection k, in the first one's names (layouts NULL for
 * count 1; layouts[0] must be sw_layout_as_is). Further inspections tell edges that lean from edges that do not. With
 * SW_PLAN_ANY the tiles' outlines are the mean over all inspections.
 *
 * Method: linear programmes (see src/plan/): the least cuts, ordinary pushes that judge them, tighter limits, in turn;
 * non-negative least squares and bounds for leans. Time grows with the number of seams to the power 1.6 to 2: 3 x 3 tiles
 * 0.2 s, 6 x 6 some 2.5 s of processor time.
 * SW_BAD_INPUT: options outside their ranges, or an inspection with no seam that was seen. */
SW_API sw_status sw_plan_make(const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                              const sw_plan_options *options, sw_plan *plan, sw_error *err);

/* Whether every seam will be within the tolerance once the plan is carried out: every forecast is "within". */
SW_API bool sw_plan_fits(const sw_plan *plan);

/* Writers, each one file at `path`. first is the inspection that the plan was made from. */
SW_API sw_status sw_report_plan_json(const sw_plan *plan, const sw_inspection *first, const char *path, sw_error *err);

/* The short text for a terminal: what the plan comes to, each edge's reason, what cannot be mended, notes, next action.
 * Returns a string that the caller frees with free(), NULL when memory is out. */
SW_API char *sw_report_plan_text(const sw_plan *plan, const sw_inspection *first, const char *folder);

/* Strips at true scale to lay along the tiles, one edge after the other: where to take off how much, a ruler to check
 * the print on every sheet, cautions. An edge longer than the paper goes over several sheets with marks to join them.
 * With nothing to sand the file is one page that says so. */
SW_API sw_status sw_report_strips(const sw_plan *plan, const sw_inspection *first, const sw_paper *paper,
                                  const char *path, sw_error *err);

/* plan.json, plan.html and strips.pdf into folder: all of them or none. A folder that is not there is made; one that is
 * must be empty or hold an inspection or a plan of ours; what else lies there stays. pictures: the folder that holds the
 * pictures of `first` for the page, if there are any; NULL: none. */
SW_API sw_status sw_report_plan_write(const sw_plan *plan, const sw_inspection *first, const sw_paper *paper,
                                      const char *pictures, const char *folder, sw_error *err);

/* Reads plan.json as sw_report_plan_json writes it: edges (tile and side by the names in `first`, true_up, bevel),
 * tolerance, purpose, answers, work, by_limit, and of seams name and forecast; the rest stays empty, as does what an
 * older plan lacks. SW_CANNOT_READ, SW_BAD_INPUT (no plan of ours, damaged, tiles that `first` lacks). Free with
 * sw_plan_free. */
SW_API sw_status sw_plan_read(const char *path, const sw_inspection *first, sw_plan *plan, sw_error *err);

/* Reads answers of a try square as a person writes them, edges by their names in `first`: how far each base stands proud
 * in mm, or the word square, with commas between: "B1 east=1.9, C1 west=square". SW_BAD_INPUT: no such edge, out of
 * SW_LEAN_MM, an edge twice. *answers for free(). */
SW_API sw_status sw_lean_answers_read(const char *text, const sw_inspection *first, sw_lean_answer **answers,
                                      size_t *count, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
