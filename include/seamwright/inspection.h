/* inspection.h - the whole result of an inspection: what every later stage fills, reads or writes. */
#ifndef SEAMWRIGHT_INSPECTION_H
#define SEAMWRIGHT_INSPECTION_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/budget.h"
#include "seamwright/mark.h"
#include "seamwright/note.h"
#include "seamwright/repeat.h"
#include "seamwright/scale.h"
#include "seamwright/seam.h"
#include "seamwright/status.h"
#include "seamwright/table.h"
#include "seamwright/tile.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_action { SW_TRUE_UP = 0, SW_BEVEL, SW_FILL, SW_CHECK, SW_LEAVE } sw_action;

/* One line of the ranked list, most urgent first. */
typedef struct sw_advice {
    int rank; /* from 1 */
    int tile; /* index into tiles */
    sw_side side;
    int seam; /* index into seams */
    sw_action action;
    double remove_mm;      /* most to take off; 0 when the action takes nothing off */
    double from_mm, to_mm; /* where along the edge */
    double worst_gap_mm, u95_mm;
    char reason[320]; /* one plain sentence */
} sw_advice;

typedef enum sw_top_action { SW_PLANE_DOWN = 0, SW_PACK_UP } sw_top_action;

/* What to do about steps between tops that are over the limit: one tile planed down or packed up. Each line supposes that
 * those before it were done. */
typedef struct sw_top_advice {
    int rank; /* from 1: the tile whose change mends most comes first */
    int tile; /* index into tiles */
    sw_top_action action;
    double by_mm;    /* the least that mends these steps, > 0, a whole number of tenths */
    double level_mm; /* what lays the tile level with its neighbours, where that is more; NaN where by_mm does */
    int seams[4];    /* the steps that it mends, seam_count of them: indices into seams */
    size_t seam_count;
    char reason[320]; /* a plain sentence or two */
} sw_top_advice;

/* What the user said that shapes the measuring and is told by no figure of the result. */
typedef struct sw_given {
    bool card_thickness; /* said at all */
    double card_thickness_mm;
    double height_mm;        /* of the tops not named, over the table; 0: not said */
    sw_tile_height *heights; /* those named, height_count of them */
    size_t height_count;
    sw_lens lens; /* the profile; its source is SW_LENS_NONE when none was named, or an older file does not hold it */
} sw_given;

/* One earlier inspection of the table, as a later one reports it. */
typedef struct sw_round {
    char file[256];             /* of its photo */
    int over, too_close, seams; /* how many seams it had over the limit, too close to call, in all */
    double tolerance_mm;        /* the limit they were held against */
} sw_round;

/* Free with sw_inspection_free. */
typedef struct sw_inspection {
    char file[256], taken[32], camera[96]; /* of the photo */
    int width_px, height_px;
    sw_scale scale;
    sw_table table;
    double tolerance_mm;
    double step_mm; /* distance between stations */
    sw_tile *tiles; /* row after row from A1 */
    size_t tile_count;
    sw_seam *seams;
    size_t seam_count;
    sw_advice *ranking;
    size_t advice_count;
    double lippage_mm;   /* limit for the steps between neighbouring tops; 0: not asked */
    sw_top_advice *tops; /* what to do about steps over it; empty where nothing is asked, over or known */
    size_t top_count;
    sw_mark *marks; /* half-way marks, seam after seam, the first tile's before the second's */
    size_t mark_count;
    sw_figure_budget budgets[SW_BUDGET_FIGURES]; /* what the uncertainty of some figures is made of */
    size_t budget_count;                         /* 0 to SW_BUDGET_FIGURES: figures not measured have none */
    sw_notes notes;                              /* what the user should know that is no error */
    sw_repeatability *repeatability;             /* NULL unless made of several photos; see inspect.h */
    sw_given given;
    char after[256];  /* the earlier inspection that this one follows, as it was named; "" when it follows none */
    sw_round *rounds; /* all inspections before it, the first one first; see earlier.h */
    size_t round_count;
} sw_inspection;

/* Frees what an inspection owns and zeroes it. */
SW_API void sw_inspection_free(sw_inspection *inspection);

/* "true up", "bevel", "fill", "check", "leave". */
SW_API const char *sw_action_name(sw_action action);

/* "plane down", "pack up". */
SW_API const char *sw_top_action_name(sw_top_action action);

/* A seam's largest step against lippage_mm; SW_TOO_CLOSE where it is not known or nothing was asked. */
SW_API sw_verdict sw_step_verdict(const sw_inspection *inspection, const sw_seam *seam);

/* The whole table: SW_OVER if any seam is over, else SW_TOO_CLOSE if any is too close to call, else SW_WITHIN. */
SW_API sw_verdict sw_inspection_verdict(const sw_inspection *inspection);

#ifdef __cplusplus
}
#endif
#endif
