/* read.h - the rims along a followed path: first roughly, from half-way brightness, then by the model of slot.h. */
#ifndef SW_SEAM_READ_H
#define SW_SEAM_READ_H

#include "seam/slot.h"
#include "seam/top_light.h"
#include "seam/trace.h"

/* The pixel lines of a followed seam, looked at roughly, ready to be fitted. */
typedef struct sw_seam_reading sw_seam_reading;

/* Reads a seam along its path; stations that lie under a card or anything else (sight.h) are no longer seen then. beside: light of the
 * tiles on its low and on its high side; NULL: nothing is known of them. *reading (NULL when no station can be read) is
 * the caller's: sw_seam_reading_free. */
sw_status sw_trace_read_seam(const sw_photo *photo, const sw_scale *scale, const sw_top_light *const beside[2],
                             sw_trace *trace, sw_seam_reading **reading, sw_error *err);
/* None of its stations counts any more. */
void sw_seam_leave_out(sw_seam_reading *reading);
void sw_seam_reading_free(sw_seam_reading *reading);

/* Width of the seam, px across it: median of the rough readings; 0 when there are none. */
double sw_seam_rough_width(const sw_seam_reading *reading, const sw_trace *trace);

/* Fits the slot model, from result->light on. far_wider: start with the far rim so much of the rough width farther out. Without all: only what tells of the light. SW_NOT_FOUND when nothing could
 * be fitted. */
sw_status sw_seam_fit(const sw_cavity *cavity, sw_seam_reading *reading, const sw_trace *trace,
                      const sw_slot_prior *prior, double far_wider, bool all, sw_slot_result *result);

/* Median of how much farther out than roughly read the fitted far rim lies, share of the rough width. */
double sw_seam_far_wider(const sw_seam_reading *reading, const sw_trace *trace);

/* Writes the last fit into the trace. */
void sw_seam_hand_over(const sw_seam_reading *reading, const sw_slot_result *result, sw_trace *trace);

#endif
