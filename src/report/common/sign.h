/* sign.h - a tick, a cross, a question mark: what a verdict's colour says, as lines, so that no font is needed. */
#ifndef SW_REPORT_COMMON_SIGN_H
#define SW_REPORT_COMMON_SIGN_H

#include "seamwright/photo.h"
#include "seamwright/seam.h"

enum { SW_SIGN_SIDE = 24 }; /* the lines lie in a box of so many units, x to the right, y down */

/* 'M': begin at to[0]; 'L': straight on to to[0]; 'C': a Bezier curve on to to[2], pulled by to[0] and to[1]. */
typedef struct sw_sign_line {
    char kind;
    sw_point to[3];
} sw_sign_line;

/* Behind the last line stands one of kind 0. */
const sw_sign_line *sw_sign(sw_verdict verdict);

#endif
