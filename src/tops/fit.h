/* fit.h - the work in progress of tops.h: what is fitted, and the normal equations. */
#ifndef SW_TOPS_FIT_H
#define SW_TOPS_FIT_H

#include "tops/tops.h"

enum { SW_TOP_NUMBERS = 3, SW_CAMERA_NUMBERS = 6, SW_CARD_NUMBERS = 4 };

/* turn: the world's axes as the camera sees them are its columns; place: in the world, mm. */
typedef struct sw_tops_camera {
    double turn[3][3], place[3];
} sw_tops_camera;

/* What one tile has of its own: its top (height at the middle, slopes east and north), and of each card on it place, turn and the
 * logarithm of its size. The normal equations of these, and what binds them to the common numbers (lens and cameras). */
typedef struct sw_tops_block {
    sw_point middle;
    int numbers;
    double *value;                 /* numbers */
    double *own, *side, *cross;    /* numbers x numbers, numbers, numbers x common */
    double *inverse, *ratio;       /* own^-1, own^-1 cross */
} sw_tops_block;

#endif
