/* mark.h - half-way marks: pencil strokes that meet an edge near its middle.
 *
 * Makers mark the middle of every edge and let roads, rivers and walls run through the marks, so that they meet
 * wherever the tile is laid. A mark that is off lets them miss each other by as much.
 */
#ifndef SEAMWRIGHT_MARK_H
#define SEAMWRIGHT_MARK_H

#include "seamwright/photo.h"
#include "seamwright/table.h"

#ifdef __cplusplus
extern "C" {
#endif

/* One tile's mark at one seam; at most one for each edge, the one nearest to the half. Edges that show none have none:
 * the maker made none, a card hides it, or it is too faint to be told from the tile's texture. */
typedef struct sw_mark {
    int seam;     /* index into sw_inspection.seams */
    int tile;     /* index into sw_inspection.tiles */
    sw_side side; /* of the tile */
    double at_mm; /* where the stroke, or its straight continuation, meets the edge: from the edge's north or west
                     corner */
    double from_half_mm; /* from half-way between the edge's two corners; + towards its south or east end */
    double u95_mm;       /* 95 % expanded uncertainty of both */
    double u_random_mm;  /* as sw_station.u_random_mm */
    /* Of the seam's two marks, that of the second tile against that of the first, along the seam, + towards its south
     * or east end; the same with both marks. NaN when only one of the two was found. */
    double step_mm, step_u95_mm;
    double step_u_random_mm;
    sw_point mm; /* the place on the table */
} sw_mark;

#ifdef __cplusplus
}
#endif
#endif
