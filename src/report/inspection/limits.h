/* limits.h - figures of an inspection.json that cannot be: further off than any tile reaches, a negative ±. A file that
 * holds one was not written by us or was damaged since, and what is planned from it would be material off a good edge.
 *
 * Limits are wide, some five times what 1400 inspections of all kinds hold (the worst: rims 5 % of a tile off its best
 * square, gaps 6 %): they tell damage from measurement, not good measurement from bad. */
#ifndef SW_REPORT_INSPECTION_LIMITS_H
#define SW_REPORT_INSPECTION_LIMITS_H

#include "json/fields.h"

/* Numbers or null, of the tables that have an inspection as their context; its table comes first in the file. */
sw_take sw_take_along;  /* a place along an edge or a seam */
sw_take sw_take_off;    /* off a straight line, either way */
sw_take sw_take_width;  /* the same, never below 0: a gap, a chip */
sw_take sw_take_side;   /* a length from corner to corner */
sw_take sw_take_place;  /* on the table */
sw_take sw_take_height; /* over or under the other tops */
sw_take sw_take_u95;    /* a ± */

#endif
