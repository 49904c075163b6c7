/* unseen.h - how much of a seam was not seen. */
#ifndef SW_INSPECTION_UNSEEN_H
#define SW_INSPECTION_UNSEEN_H

#include "seamwright/seam.h"

static inline size_t sw_stations_unseen(const sw_seam *seam)
{
    size_t unseen = 0;
    for (size_t i = 0; i < seam->station_count; i++)
        unseen += seam->stations[i].state == SW_STATION_UNSEEN;
    return unseen;
}

/* Share (0 to 1) of a seam's stations that are unseen; 1 for a seam without stations. */
static inline double sw_seam_unseen(const sw_seam *seam)
{
    return seam->station_count ? (double)sw_stations_unseen(seam) / (double)seam->station_count : 1;
}

#endif
