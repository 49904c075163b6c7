/* plan_truth.h - a photo's plan carried out on the true gaps of its truth file (samples/README.md).
 *
 * True gap after = true gap + what comes off both edges there + J motion, three motions a tile; the tiles are pushed by
 * the tests' own solver (unit/judge_lp.h). Nothing of src/plan judges itself. Linear, as all motions are of a mm or
 * two; places along an edge count as along its seam, which is off by the tiles' slip of about 1 mm.
 */
#ifndef SW_GOLDEN_PLAN_TRUTH_H
#define SW_GOLDEN_PLAN_TRUTH_H

#include "seamwright/inspect.h"
#include "seamwright/plan.h"

enum { TRUTH_SEAMS = 40, TRUTH_TILES = 16, TRUTH_STATIONS = 512 };

typedef struct truth_seam {
    char name[16];
    int tile[2], upright; /* indices into the inspection's tiles */
    sw_side side[2];
    double start[2], length_mm;
    double lean_mm;    /* of both faces together: how far the tops stay apart when the bases touch */
    double face_mm[2]; /* of each */
    double least_mm;   /* true gap over the whole seam */
    double widest_mm;  /* the same, chips left out, ends too (as an inspection's max_mm) */
    int count;
    double at[TRUTH_STATIONS], gap[TRUTH_STATIONS]; /* chips left out */
    unsigned char chip[TRUTH_STATIONS];
} truth_seam;

typedef struct plan_truth {
    int seam_count, tile_count;
    truth_seam seams[TRUTH_SEAMS]; /* in the inspection's order */
    double x_mm[TRUTH_TILES], y_mm[TRUTH_TILES];
    /* of every edge, by sw_side: its least-squares line outside the nominal square, and its minimum zone */
    double slope[TRUTH_TILES][4], offset_mm[TRUTH_TILES][4], straightness_mm[TRUTH_TILES][4];
    double tile_mm, height_mm;
} plan_truth;

/* Inspects FOLDER/NAME.jpg; ends the test when it cannot. */
void truth_inspect(const char *folder, const char *name, const sw_options *options, sw_inspection *inspection);

/* Reads FOLDER/NAME.truth.json for the tiles and seams of an inspection; ends the test when it cannot. */
void truth_read(const char *folder, const char *name, const sw_inspection *inspection, plan_truth *truth);

/* Carries the plan out (NULL: nothing) and pushes until the widest gap, chips left out, is least; chips keep tiles
 * apart as if they were whole. bases 1: side faces keep the tops apart as well, as far as they did in the photo, unless
 * the plan bevels the seam. Returns the widest gap. */
double truth_push(const plan_truth *truth, const sw_plan *plan, int bases);

typedef enum truth_way { TRUTH_INWARD = 0, TRUTH_NW, TRUTH_SE } truth_way;

/* Carries the plan out (NULL: nothing) as a person would, bevels only where the truth leans by more than a try square
 * shows, and pushes the ordinary way: the seams' mean gaps add up to the least at which neither tops nor bases overlap;
 * bases as far as they kept the tops apart in the photo. TRUTH_NW, TRUTH_SE: pushed towards that corner, seams weighing
 * less the farther they lie from it. after_mm: each seam's widest gap then, chips and ends left out. Tiles that meet at
 * a corner only are not held apart. */
void truth_press(const plan_truth *truth, const sw_plan *plan, truth_way way, double after_mm[TRUTH_SEAMS]);

/* The least area, mm2, to come off for all seams to close to the tolerance, from the true gaps: one removal profile a
 * seam, linear between knots that lie about knot_mm apart. */
double truth_least(const plan_truth *truth, double tolerance_mm, double knot_mm);

/* Side of the largest square within a tile's true outline, as far as its truth tells: not less than *least_mm, not more
 * than *most_mm. */
void truth_square(const plan_truth *truth, int tile, double *least_mm, double *most_mm);

#endif
