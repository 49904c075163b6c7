/* otherwise.h - angles and lengths where the photo can be read in another way, too: one photo's cards say that tops are not level, and
 * may say so for another reason; or cards and edges speak of another lens than the profile. */
#ifndef SW_TILE_OTHERWISE_H
#define SW_TILE_OTHERWISE_H

#include "seamwright/report.h"
#include "table/tops.h"
#include "track/track.h"

/* The other way in which the photo can be read. */
typedef struct sw_otherwise {
    bool possible; /* false: there is none to be held */
    sw_scale scale;
    double rise_mm[SW_TOPS_MOST]
                  [SW_TOPS_MOST]; /* how high the tops then stand over its plane, at the tiles' middles; none slants */
} sw_otherwise;

/* What the tiles' own sizes say of the heights that cards told: tiles of one table are cut to one size. */
typedef enum sw_sizes_say {
    SW_SIZES_SAY_NOTHING,
    SW_SIZES_CONFIRM, /* tiles under cards are much more alike in size if they stand as told than if they are level */
    SW_SIZES_DENY     /* the other way round: then it is the cards that are of unequal size */
} sw_sizes_say;
sw_sizes_say sw_tops_by_sizes(const sw_tops *tops, const sw_inspection *inspection);

/* How far the highest and the lowest of the tops that tell stand apart, mm. */
double sw_tops_apart_mm(const sw_tops *tops);

/* Widens the tiles' angles and lengths (SW_PART_HEIGHT) by what the other reading makes of them, and, where cards alone told the tops, lengths by what the height of
 * each top is uncertain, unless the sizes confirm them by as much as the tops stand apart, too: a card's height is told by its size.
 * tops: as the tiles were measured on. */
void sw_tiles_hold_otherwise(const sw_tracks *tracks, const sw_tops *tops, const sw_otherwise *other,
                             sw_inspection *inspection);

#endif
