/* report.h - the whole result of an inspection, and the writers that put it on paper, screen and disk. */
#ifndef SEAMWRIGHT_REPORT_H
#define SEAMWRIGHT_REPORT_H

#include <stddef.h>

#include "seamwright/budget.h"
#include "seamwright/mark.h"
#include "seamwright/photo.h"
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
    int rank;            /* from 1 */
    int tile;            /* index into tiles */
    sw_side side;
    int seam;            /* index into seams */
    sw_action action;
    double remove_mm;    /* most to take off; 0 when the action takes nothing off */
    double from_mm, to_mm; /* where along the edge */
    double worst_gap_mm, u95_mm;
    char reason[320];    /* one plain sentence */
} sw_advice;

/* Free with sw_inspection_free. */
typedef struct sw_inspection {
    char file[256], taken[32], camera[96]; /* of the photo */
    int width_px, height_px;
    sw_scale scale;
    sw_table table;
    double tolerance_mm;
    double step_mm;             /* distance between stations */
    sw_tile *tiles;             /* row after row from A1 */
    size_t tile_count;
    sw_seam *seams;
    size_t seam_count;
    sw_advice *ranking;
    size_t advice_count;
    sw_mark *marks;             /* half-way marks, seam after seam, the first tile's before the second's */
    size_t mark_count;
    sw_figure_budget budgets[SW_BUDGET_FIGURES]; /* what the uncertainty of some figures is made of */
    size_t budget_count;                         /* 0 to SW_BUDGET_FIGURES: figures not measured have none */
    char (*warnings)[320];
    size_t warning_count;
    sw_repeatability *repeatability; /* NULL unless made of several photos; see inspect.h */
} sw_inspection;

/* Frees what an inspection owns and zeroes it. */
void sw_inspection_free(sw_inspection *inspection);

/* "true up", "bevel", "fill", "check", "leave". */
const char *sw_action_name(sw_action action);

/* The whole table: SW_OVER if any seam is over, else SW_TOO_CLOSE if any is too close to call, else SW_WITHIN. */
sw_verdict sw_inspection_verdict(const sw_inspection *inspection);

/* Writers. Each makes one file at `path` (no temporary name; sw_report_write takes care of whole-or-nothing). */
sw_status sw_report_json(const sw_inspection *inspection, const char *path, sw_error *err);
sw_status sw_report_seams_csv(const sw_inspection *inspection, const char *path, sw_error *err);
sw_status sw_report_edges_csv(const sw_inspection *inspection, const char *path, sw_error *err);
/* The table seen straight from above, sampled from the photo, each seam drawn with its gap. */
sw_status sw_report_overlay(const sw_inspection *inspection, const sw_photo *photo, const char *path, sw_error *err);
/* One self-contained page; overlay_png is the file written by sw_report_overlay, embedded in the page. */
sw_status sw_report_page(const sw_inspection *inspection, const char *overlay_png, const char *path, sw_error *err);

/* The short text for a terminal: verdict, worst seams, next action. Returns a string that the caller frees with free(),
 * NULL when memory is out. */
char *sw_report_text(const sw_inspection *inspection, const char *folder);

/* Writes inspection.json, seams.csv, edges.csv and, unless pictures is 0, overlay.png and report.html into folder, which
 * is made under a temporary name and then renamed, so that it is there whole or not at all. A folder that is already there
 * is replaced only if it holds an inspection of ours. */
sw_status sw_report_write(const sw_inspection *inspection, const sw_photo *photo, const char *folder, int pictures,
                          sw_error *err);

/* Reads an inspection.json that sw_report_json wrote, or one made by other means that holds the fields the format
 * promises. What the file lacks is worked out where it can be: a seam's upright, start and end, a tile's best square and
 * share seen, a rim's places on the table, states, step. A seam that the file lacks counts as not seen. Not in the file,
 * and 0 or empty after reading: all sw_parts and u_random, budgets, repeatability, and of the scale all but reference,
 * square count, px per mm, residual, edge spread, blur and the lens's source. Written again, an inspection without
 * budgets and repeatability gives the same bytes.
 *
 * Free with sw_inspection_free. SW_CANNOT_READ; SW_BAD_INPUT: over 64 MB, no inspection, a newer format, damaged,
 * contradictory. On failure *inspection is zeroed. */
sw_status sw_inspection_read(const char *path, sw_inspection *inspection, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
