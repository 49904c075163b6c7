/* trueup.h - the least that must come off the edges of one layout so that, pushed together, every seam is within
 * tolerance. */
#ifndef SW_PLAN_TRUEUP_H
#define SW_PLAN_TRUEUP_H

#include <stdbool.h>

#include "push/openings.h"

/* What comes off one edge of a joint, linear between knots that lie evenly from one corner to the other. */
typedef struct sw_cut {
    int joint, rim;   /* rim 0: the first tile's edge, 1: the second's */
    double length_mm; /* of the edge */
    double from_mm;   /* where on the edge the joint's place 0 lies */
    int knots;        /* 2 or more */
    double *remove_mm;
    double area_mm2, deepest_mm; /* 0 when nothing comes off */
} sw_cut;

/* Free with sw_true_up_free. */
typedef struct sw_true_up {
    sw_cut *cuts; /* 2 k and 2 k + 1: the two edges of joint k */
    size_t count;
    double *excess_mm; /* of each joint: what is left beyond the tolerance, because no more may come off */
} sw_true_up;

void sw_true_up_free(sw_true_up *up);
/* A copy, to be freed too. False when memory is out. */
bool sw_true_up_copy(const sw_true_up *from, sw_true_up *up);

/* Distance of knots, mm: a sanding block bridges it. From the design notes. */
static const double SW_KNOT_MM = 25;

/* Knots on an edge that long, and what comes off at a place on it. */
int sw_cut_knots(double length_mm);
/* The knot before a place on the edge, and how far on to the next one it lies, 0 to 1. */
int sw_cut_knot_at(const sw_cut *cut, double at_mm, double *on);
double sw_cut_at(const sw_cut *cut, double at_mm);

/* What comes off both edges of a joint at a place of the joint. */
double sw_true_up_off(const sw_true_up *up, int joint, double at_mm);

/* Less than this is not worth picking up a sanding block for, mm: a hand cannot take less off on purpose. Common
 * practice, no source. */
#define SW_LEAST_REMOVAL_MM 0.1

/* A joint that sanding leaves wider than its limit by more than this, mm, is hopeless: the others are not opened for its
 * sake. Less is an edge dropped for taking too little off. */
#define SW_HOPELESS_MM 0.1

/* Finds cuts, again and again for other limits and edges. */
typedef struct sw_cutter sw_cutter;

/* For the joints of `openings`, made from `ins`; both must outlive it. Nothing may come off yet. Free with
 * sw_cutter_free, which sets the pointer to NULL. */
sw_status sw_cutter_new(const sw_inspection *ins, const sw_openings *openings, double deepest_mm, sw_cutter **cutter,
                        sw_error *err);
void sw_cutter_free(sw_cutter **cutter);

/* The widest gap wanted of every joint; floors are taken anew from the openings. */
void sw_cutter_limits(sw_cutter *cutter, const double *limit_mm);
/* Which joints' edges may lose something. */
void sw_cutter_allow(sw_cutter *cutter, const bool *may);

/* Nothing may come off one joint's edges any more. */
void sw_cutter_forbid(sw_cutter *cutter, size_t joint);

/* The least area in all. */
sw_status sw_cutter_least(sw_cutter *cutter, sw_error *err);
/* After it: few edges, for little more area. Edges given up stay so until sw_cutter_allow. */
sw_status sw_cutter_few(sw_cutter *cutter, sw_error *err);
/* After either: edges that would lose less than SW_LEAST_REMOVAL_MM, or than their gap's own ±, are given up. */
sw_status sw_cutter_trim(sw_cutter *cutter, sw_error *err);
/* Nothing comes off. */
void sw_cutter_nothing(sw_cutter *cutter);

/* What the last one found; it stays the cutter's. */
const sw_true_up *sw_cutter_cuts(const sw_cutter *cutter);
/* A copy of it: free with sw_true_up_free. */
sw_status sw_cutter_copy(const sw_cutter *cutter, sw_true_up *up, sw_error *err);

#endif
