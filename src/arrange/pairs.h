/* pairs.h - how well any two edges of a set of tiles fit together, for the search among layouts.
 *
 * Two edges face each other; u runs along the first one as in outline_at.h. With the tiles' best squares parallel the
 * gap between them is f(u) plus a constant that pushing brings down until they touch. Turning the second tile against
 * the first by a small `tilt` (radians, counter-clockwise) adds tilt x u, whichever sides they are. So the widest gap
 * of two edges pushed together is
 *
 *     range(tilt) = max over u of (f(u) + tilt u)  -  min over u of (f(u) + tilt u)
 *
 * which is convex in tilt, and of f only the corners of its upper and lower hull matter. Slips along seams cost nothing
 * to first order (settle.h), so rows and columns move freely, and a layout's widest gap is the least, over one turn for
 * each tile, of the largest range(turn of second - turn of first) over its joints. This is the same programme as
 * sw_settle's, with its shifts solved.
 */
#ifndef SW_ARRANGE_PAIRS_H
#define SW_ARRANGE_PAIRS_H

#include <stdbool.h>
#include <stddef.h>

#include "lean/faces.h"
#include "push/outline_at.h"

/* The shape of a joint: f(u) on the samples where both edges are known. */
typedef struct sw_profile {
    double u[SW_OUTLINE_MOST], f[SW_OUTLINE_MOST];
    bool limits[SW_OUTLINE_MOST]; /* both edges were seen there, so it counts for the widest gap; else it only keeps the
                                     tiles apart */
    int count;
    double seen; /* share of the joint's length where limits is 1 */
} sw_profile;

/* Joints of which less was seen are not judged. */
static const double SW_JOINT_LEAST_SEEN = 0.5;

void sw_profile_make(const sw_outline *first, sw_side first_side, const sw_outline *second, sw_side second_side,
                     sw_profile *profile);

/* A corner of a hull. */
typedef struct sw_hull_place {
    float u, f;
} sw_hull_place;

typedef struct sw_pair {
    size_t places;    /* index of the first corner: the upper hull's, then the lower hull's */
    int upper, lower; /* how many; 0 when hardly seen */
    float zone_mm;    /* the least range, over all tilts (the minimum zone of f), with apart_mm */
    float tilt_rad;   /* where */
    float apart_mm;   /* how far their bases may hold the tops apart; part of zone_mm */
} sw_pair;

/* All pairs of edges; edge e is side e % 4 of tile e / 4. Free with sw_pairs_free. */
typedef struct sw_pairs {
    int edges;
    sw_pair *pairs; /* of edges i < j: see sw_pair_of */
    sw_hull_place *places;
    double unknown_mm; /* what a joint hardly seen counts as; set by who searches [0] */
} sw_pairs;

enum { SW_PAIRS_MOST_TILES = 250 }; /* half a million pairs, about 100 MB */

void sw_pairs_free(sw_pairs *pairs);
/* faces: what is known of leans, of which the most counts, or the least; NULL: nothing leans. SW_NO_MEMORY; SW_BAD_INPUT above SW_PAIRS_MOST_TILES. *pairs is zeroed on failure. */
sw_status sw_pairs_make(const sw_outline *outlines, size_t tiles, const sw_faces *faces, bool least, sw_pairs *pairs,
                        sw_error *err);

/* The pair of two different edges; *sense is 1 when `first` is the pair's own first, else -1: multiply tilts with it.
 */
static inline const sw_pair *sw_pair_of(const sw_pairs *pairs, int first, int second, int *sense)
{
    int i = first < second ? first : second, j = first < second ? second : first;
    *sense = first < second ? 1 : -1;
    return &pairs->pairs[(size_t)i * (size_t)(2 * pairs->edges - i - 1) / 2 + (size_t)(j - i - 1)];
}

/* range(tilt) and apart_mm, mm. */
double sw_pair_range(const sw_pairs *pairs, const sw_pair *pair, double tilt);
/* Tiles are not turned farther than this against each other (settle.c allows 0.05 either way), radians. */
static const double SW_PAIR_MOST_TILT = 0.1;
/* The tilts between which range stays within `most` mm, which is at least the pair's zone. *from and *to must hold
 * tilts that lie no farther inside: SW_PAIR_MOST_TILT either way, or what a larger `most` gave. */
void sw_pair_span(const sw_pairs *pairs, const sw_pair *pair, double most, double *from, double *to);

#endif
