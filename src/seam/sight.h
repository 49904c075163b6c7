/* sight.h - which stations of a seam are in sight: not covered by a hand, an offcut, tape, glare, sawdust in the gap. */
#ifndef SW_SEAM_SIGHT_H
#define SW_SEAM_SIGHT_H

#include "seam/reading.h"
#include "seam/top_light.h"

/* Sets `seen` to false where a station's sides do not look like their tiles' tops, or where the dark line breaks off. beside: light of the
 * tiles on the low and on the high side. Call before levels are smoothed. SW_NO_MEMORY. */
sw_status sw_sight_judge(const sw_photo *photo, const sw_scale *scale, const sw_top_light *const beside[2],
                         sw_trace *trace, const sw_seam_reading *reading);

/* Whether one of the tops has print or coarse grain, of which more may touch the seam than is found. */
bool sw_sight_printed(const sw_top_light *const beside[2]);

/* How many stations count. */
int sw_sight_count(const sw_trace *trace);

/* What little is left of a seam, of whose stations so many could be read, is as likely a look-alike of it: none of them counts then. */
void sw_sight_drop_remnants(const sw_top_light *const beside[2], sw_trace *trace, int readable);

/* Once everything that is not seen is known: no station counts in a short piece between two such. */
void sw_sight_close_islands(sw_trace *trace);

#endif
