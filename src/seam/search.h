/* search.h - where rims are looked for first, beside a step. */
#ifndef SW_SEAM_SEARCH_H
#define SW_SEAM_SEARCH_H

#include "seam/slot.h"

/* Sets centre and width of all used stations: where the slot in `light` fits best, looked for about every station's x = 0 at some
 * of them and smoothed along the seam; with all, a station that is off them is looked at on its own. SW_NOT_FOUND when none is used. */
sw_status sw_slot_search(const sw_cavity *cavity, const sw_edge_table *table, sw_slot_station *stations, int count,
                         bool far_high, const sw_slot_prior *prior, const sw_slot_light *light, double noise, bool all);

#endif
