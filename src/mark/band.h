/* band.h - the photo beside an edge's middle: light at places in mm along the edge and in from it.
 *
 *        north or west end      half      south or east end
 *   rim  ---------------------------------------------------   depth 0
 *          row 0   . . . . . . . . . . . . . . . . . . . .      first_depth_mm
 *          row 1   . . . . . . . . . . . . . . . . . . . .      + pitch_mm
 *                  first_mm                                     along: 0 at the half
 */
#ifndef SW_MARK_BAND_H
#define SW_MARK_BAND_H

#include "seamwright/report.h"

/* An edge near its middle: place(along, depth) = half + along u + (rim[0] + rim[1] along + depth) inward. */
typedef struct sw_band_frame {
    sw_point half, u, inward; /* mm; half-way between the corners; unit directions */
    double rim[2];            /* the rim about the middle: a straight line in the frame of the corners */
    double length_mm;
    double reach_mm; /* strokes are looked for up to so far from the half */
    double rise_mm;  /* of the tile's top over the mm frame's plane */
} sw_band_frame;

/* Free with sw_band_free. */
typedef struct sw_band {
    int rows, columns;
    double pitch_mm, first_depth_mm, first_mm;
    float *light; /* row after row, linear light; NaN where the tile's bare top cannot be seen */
} sw_band;

/* SW_NOT_FOUND when the edge's middle or its corners were not seen. */
sw_status sw_band_frame_of(const sw_tile *tile, sw_side side, double rise_mm, sw_band_frame *frame);

/* scale: lifted to the tile's level. */
sw_status sw_band_read(const sw_photo *photo, const sw_scale *scale, const sw_band_frame *frame, const sw_edge *edge,
                       sw_band *band, sw_error *err);
void sw_band_free(sw_band *band);

static inline double sw_band_along(const sw_band *s, int column)
{
    return s->first_mm + column * s->pitch_mm;
}

static inline double sw_band_depth(const sw_band *s, int row)
{
    return s->first_depth_mm + row * s->pitch_mm;
}

sw_point sw_band_place(const sw_band_frame *frame, double along, double depth);

#endif
