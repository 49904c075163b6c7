/* outline_at.h - how far a tile's edges stand proud of its own best square, at evenly spaced places.
 *
 * Places on an edge are counted by u, in mm from the middle of the side of the square, clockwise round the tile seen
 * from above:
 *
 *              u ->
 *           +--------+
 *         ^ |        | |         Turning a tile changes which side is which, never u. Where two edges face each other,
 * u of the u | |        | | u       one is -u of the other. |        | v
 *           +--------+
 *             <- u
 */
#ifndef SW_PUSH_OUTLINE_AT_H
#define SW_PUSH_OUTLINE_AT_H

#include <stddef.h>

#include "seamwright/status.h"
#include "seamwright/table.h"
#include "seamwright/tile.h"

/* Distance between samples, mm. Rims move together over about 22 mm (SW_INDEPENDENT_MM), so 5 mm lose nothing. */
static const double SW_OUTLINE_PITCH_MM = 5;

/* Most samples an edge can have: of a tile 5 m a side. */
enum { SW_OUTLINE_MOST = 1001 };

/* How a sample is known, surest first as numbers grow. */
typedef enum sw_outline_known {
    SW_OUTLINE_UNKNOWN = 0, /* nothing seen near; proud_mm is NaN */
    SW_OUTLINE_END,         /* by the line through the last good stretch: a crossing seam disturbs the edge's last mm */
    SW_OUTLINE_BRIDGED,     /* between good places on both sides: a chip, or a short stretch not seen */
    SW_OUTLINE_SEEN
} sw_outline_known;

typedef struct sw_outline_sample {
    double proud_mm; /* + stands out beyond the best square, - falls short of it */
    sw_outline_known known;
} sw_outline_sample;

/* Free with sw_outline_free. */
typedef struct sw_outline {
    double half_mm; /* half the side of the best square; NaN when the tile was not measured */
    int reach;      /* samples to either side of the middle; the outermost lie within 2.5 mm of half_mm */
    sw_outline_sample *samples[4]; /* by side; sample k lies at u = (k - reach) x pitch, k from 0 to 2 reach; NULL when
                                      the tile was not measured */
} sw_outline;

/* Accepts NULL; zeroes. */
void sw_outline_free(sw_outline *outline);

/* Needs of the tile: centre, turn, side, corners' places, and of each edge's points at_mm, proud_mm and state. A tile
 * that was not measured gives an outline that knows nothing, and SW_OK. SW_NO_MEMORY. *outline is zeroed on failure. */
sw_status sw_outline_make(const sw_tile *tile, sw_outline *outline, sw_error *err);

/* The mean of several outlines of the same tile. In outline i the tile lay turned by turns[i] quarters clockwise
 * against the mean to be made (turns NULL: none). Of each place only the surest samples count. SW_NO_MEMORY. *mean is
 * zeroed on failure. */
sw_status sw_outline_mean(const sw_outline *outlines, const int *turns, size_t count, sw_outline *mean, sw_error *err);

/* Proud at any u, between samples linear, up to 10 mm past the outermost samples along their line. known may be NULL.
 * NaN where nothing is known. */
double sw_outline_at(const sw_outline *outline, sw_side side, double u_mm, sw_outline_known *known);

/* u of a place counted from an edge's north or west end, and back. at = 0 is the end of the best square's side. */
double sw_outline_u(const sw_outline *outline, sw_side side, double at_mm);

/* Share of an edge's samples that were seen, 0 to 1. */
double sw_outline_seen(const sw_outline *outline, sw_side side);

#endif
