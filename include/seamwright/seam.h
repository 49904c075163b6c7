/* seam.h - the gap along a seam.
 *
 * An upright seam (A1-B1) joins the east edge of its first tile to the west edge of its second; a level seam (A1-A2) the
 * south edge of its first to the north edge of its second. `at_mm` runs from the seam's north (upright) or west (level) end.
 */
#ifndef SEAMWRIGHT_SEAM_H
#define SEAMWRIGHT_SEAM_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/budget.h"
#include "seamwright/photo.h"
#include "seamwright/status.h"
#include "seamwright/table.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_station_state {
    SW_STATION_OK = 0,
    SW_STATION_CHIP,  /* inside a chip: visible gap, but left out of the verdict */
    SW_STATION_END,   /* within a few mm of a seam's end, where the crossing seam disturbs the reading */
    SW_STATION_UNSEEN /* under a card, or nothing could be read; gap_mm and u95_mm are NaN */
} sw_station_state;

typedef struct sw_station {
    double at_mm;  /* distance from the seam's north or west end */
    double gap_mm; /* opening between the two top edges, across the seam; >= 0 */
    double u95_mm; /* its 95 % expanded uncertainty */
    sw_station_state state;
    double
        u_random_mm; /* the part of its standard uncertainty that another photo of the same table would draw anew (noise);
                           the rest (light in the gap, print, lens) is taken to be common to all photos */
} sw_station;

/* A short bite out of an edge. */
typedef struct sw_chip {
    int tile; /* index into sw_inspection.tiles */
    sw_side side;
    double at_mm; /* middle, measured along the seam (or the edge, for an edge at the table's rim) */
    double length_mm;
    double depth_mm;
} sw_chip;

typedef enum sw_verdict { SW_WITHIN = 0, SW_OVER, SW_TOO_CLOSE } sw_verdict;

/* Free with sw_seam_free. */
typedef struct sw_seam {
    char name[16];
    bool upright;      /* runs north-south */
    int first, second; /* indices into sw_inspection.tiles; first is the west or the north one */
    double length_mm;
    sw_point start_mm, end_mm; /* its north or west end and the other one, on the seam's middle line */
    sw_verdict verdict;
    double mean_mm, min_mm, max_mm,
        max_at_mm; /* over state "ok" (chips and ends left out); NaN when nothing was seen */
    double mean_u95_mm, max_u95_mm;
    /* Where a part was not seen: how wide the gap may be there (one-sided 95 %), 0 where that is nowhere. Of a seam that is
     * within, max_u95_mm reaches as far; seen_u95_mm is then what it was without that, else 0. */
    double hidden_mm, seen_u95_mm;
    sw_parts mean_parts, max_parts; /* what these two are made of, mm: u95 is twice their root sum of squares */
    double taper_mm, taper_u95_mm;  /* growth of the gap's straight-line fit from start to end */
    double mean_u_random_mm, taper_u_random_mm; /* as sw_station.u_random_mm */
    double corner_step_mm; /* slip of the second tile along the seam against the first; + towards the end */
    /* Lippage: how far the first tile's top stands above the second's along the seam, its mean and where it is largest
     * (either may be below 0; tops may be tilted); NaN where not known. */
    double step_mm, step_u95_mm, step_largest_mm;
    sw_chip *chips;
    size_t chip_count;
    sw_station *stations;
    size_t station_count;
} sw_seam;

/* Frees what a seam owns and zeroes it. */
SW_API void sw_seam_free(sw_seam *seam);

/* "within", "over", "too close to call"; "ok", "chip", "end", "unseen". */
SW_API const char *sw_verdict_name(sw_verdict verdict);
SW_API const char *sw_station_state_name(sw_station_state state);

/* Guard-banded verdict of a figure against a limit (JCGM 106, ISO 14253-1: g = 1.645 u, one-sided 95 %).
 * gap_mm NaN gives SW_TOO_CLOSE. */
SW_API sw_verdict sw_verdict_of(double gap_mm, double u95_mm, double tolerance_mm);

/* A seam's verdict at any limit, by the same rule as its own. */
SW_API sw_verdict sw_seam_verdict_at(const sw_seam *seam, double tolerance_mm);

#ifdef __cplusplus
}
#endif
#endif
