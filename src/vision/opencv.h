/* opencv.h - the few things we take from OpenCV, in plain C types.
 *
 * The only place that includes OpenCV is opencv.cpp. No exception leaves it: each function catches everything and
 * answers with an sw_status and a message.
 */
#ifndef SW_VISION_OPENCV_H
#define SW_VISION_OPENCV_H

#include <stdint.h>

#include "seamwright/photo.h"
#include "seamwright/status.h"

#ifdef __cplusplus
#define SW_NOEXCEPT noexcept
extern "C" {
#else
#define SW_NOEXCEPT
#endif

/* A grid of crossings: across x down of them, row after row; corners is for sw_crossing_grid_free. */
typedef struct sw_crossing_grid {
    int across, down;
    sw_point *corners; /* px of the picture given, good to about a pixel */
} sw_crossing_grid;

/* Looks for a checkerboard pattern (white round it) in a grey picture of width x height samples without padding: the
 * largest whole grid of crossings of at least least x least. A board that is partly hidden or cut by the frame gives
 * the grid that is seen. SW_NOT_FOUND when there is none. On failure *grid is zeroed. */
sw_status sw_vision_checkerboard(const uint8_t *grey, int width, int height, int least, sw_crossing_grid *grid,
                                 sw_error *err) SW_NOEXCEPT;

/* Frees what a grid owns and zeroes it; NULL is fine. */
void sw_crossing_grid_free(sw_crossing_grid *grid) SW_NOEXCEPT;

/* One photo's corners for sw_vision_pinhole: where they are on the board (z = 0) and in the photo; and, filled by it,
 * how the board lies. */
typedef struct sw_board_seen {
    const sw_point *board_mm, *px;
    int count;
    double turn[3];     /* rotation vector, board to camera (rad) */
    double shift_mm[3]; /* the board's origin seen from the camera */
} sw_board_seen;

typedef struct sw_pinhole {
    double f_px, cx_px, cy_px, k1;
} sw_pinhole;

/* A first guess of a camera with square pixels from several views of a flat board.
 * SW_BAD_INPUT when the views do not give one. */
sw_status sw_vision_pinhole(sw_board_seen *views, int count, int width, int height, sw_pinhole *pinhole,
                            sw_error *err) SW_NOEXCEPT;

#ifdef __cplusplus
}
#endif
#endif
