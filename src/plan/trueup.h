/* trueup.h - the least that must come off the edges of one layout so that, pushed together, every seam is within
 * tolerance. */
#ifndef SW_PLAN_TRUEUP_H
#define SW_PLAN_TRUEUP_H

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

/* Knots on an edge that long, and what comes off at a place on it. */
int sw_cut_knots(double length_mm);
double sw_cut_at(const sw_cut *cut, double at_mm);

/* What comes off both edges of a joint at a place of the joint. */
double sw_true_up_off(const sw_true_up *up, int joint, double at_mm);

/* Less than this is not worth picking up a sanding block for, mm. */
#define SW_LEAST_REMOVAL_MM 0.05

/* A joint that sanding leaves wider than the tolerance by more than this, mm, is hopeless: the others are not opened
 * for its sake. Less is an edge dropped for taking too little off. */
#define SW_HOPELESS_MM 0.1

/* Plans for the joints of `openings`, made from `ins`. Everything in `up` is zero when nothing needs to come off. */
sw_status sw_true_up_make(const sw_inspection *ins, const sw_openings *openings, double tolerance_mm, double deepest_mm,
                          sw_true_up *up, sw_error *err);

#endif
