/* budget.h - an uncertainty budget: from standard uncertainties to an expanded one (JCGM 100, clauses 5.1, 6.3 and
 * G.4). */
#ifndef SW_MATHS_BUDGET_H
#define SW_MATHS_BUDGET_H

#include <stddef.h>

#include "seamwright/status.h"

/* One input of a measurement. */
typedef struct sw_component {
    const char *name;          /* for the reader; not looked at here, may be NULL */
    double u;                  /* standard uncertainty of the input, in the input's own unit; >= 0 */
    double degrees_of_freedom; /* of u; INFINITY when u is taken as exact */
    double sensitivity;        /* change of the result for a change of 1 in the input */
} sw_component;

/* The result's unit throughout. */
typedef struct sw_budget {
    double u;                  /* combined standard uncertainty */
    double degrees_of_freedom; /* effective, by Welch and Satterthwaite, not rounded; INFINITY when every u is exact */
    double k95, k99; /* coverage factors: Student's t for the degrees of freedom cut to a whole number (G.4.1) */
    double expanded95, expanded99; /* k u */
} sw_budget;

/* Combines components that are independent of each other. Components without effect (u or sensitivity 0) may have any
 * degrees of freedom; no components at all give u = 0. Under one effective degree of freedom k is infinite. SW_BAD_INPUT,
 * with a zeroed budget, when a number is NaN or infinite, u is negative, or degrees of freedom are not above 0. */
sw_status sw_budget_combine(const sw_component *components, size_t count, sw_budget *budget);

#endif
