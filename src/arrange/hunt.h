/* hunt.h - the search among layouts: many starts, on as many threads as there are processors, with one answer for a
 * seed. */
#ifndef SW_ARRANGE_HUNT_H
#define SW_ARRANGE_HUNT_H

#include <stdint.h>

#include "arrange/descend.h"

typedef struct sw_hunt {
    const sw_puzzle *puzzle;
    const sw_outline *outlines;
    double pitch_mm;
    uint64_t seed;
    sw_deadline deadline;
    bool brief; /* first starts only, nothing is shaken: a tenth of the time */
    void (*progress)(void *context, const char *what,
                     double share); /* may be NULL; called by the caller's thread only */
    void *context;
} sw_hunt;

/* Pushes a layout the ordinary way, faces leaning as much as they may; joints hardly seen count as
 * puzzle->pairs->unknown_mm. */
sw_status sw_hunt_judge(const sw_hunt *hunt, const sw_place *places, sw_score *score, sw_error *err);

/* places and score: a layout, judged; replaced by the best found, which is never worse. tried counts layouts looked at.
 * cut_short: the deadline came first. SW_NO_MEMORY, SW_BROKEN. */
sw_status sw_hunt_run(const sw_hunt *hunt, sw_place *places, sw_score *score, size_t *tried, bool *cut_short,
                      sw_error *err);

#endif
