/* rounding.h - whether the rims of a table are round, and how far each edge is. */
#ifndef SW_SEAM_ROUNDING_H
#define SW_SEAM_ROUNDING_H

#include "seam/job.h"

/* How far all edges are rounded, if they are: what the table's own rims say with what the wide seams did. Hears the light anew. SW_NO_MEMORY. */
sw_status sw_weigh_rounding(sw_seams_job *job, const sw_table_light *floor);

/* Whether this is a table of round rims. */
bool sw_round_table(const sw_seams_job *job);

/* Radii go along with the other shared numbers of a slot's prior. */
void sw_believe_radii(sw_slot_prior *prior, const sw_radius *near, const sw_radius *far);

/* How far both rims are rounded, for the trace. */
void sw_note_radii(const sw_seams_job *job, const sw_seam_job *seam, const sw_slot_result *result);

#endif
