/* press.h - an ordinary push: hands press the tiles inward, and the gaps' total becomes as small as can be.
 *
 *     minimise  sum over joints of weight x mean gap     subject to   gap >= floor wherever tiles are kept apart
 *
 * settle.h asks for the least widest gap, which no hand can arrange; this is what hands do. In a row of tiles the means
 * add up to the row's length, so with equal weights only the outermost tiles are pushed, inward; with weights that count
 * the tiles beyond, every tile is pushed alike towards one corner. The best is rarely one point: where four tiles meet, an angle too
 * much can open any of the four seams at the same total. So a table is pushed in several ways, and what a seam may come
 * to is known from all of them.
 */
#ifndef SW_PUSH_PRESS_H
#define SW_PUSH_PRESS_H

#include "push/settle.h"

typedef enum sw_press_way {
    SW_PRESS_INWARD = 0, /* the ordinary push */
    SW_PRESS_STILL,      /* the same, but no tile moves for little: of nearly equal ways the nearest to how they lie */
    SW_PRESS_NW,         /* every tile is pushed towards one corner */
    SW_PRESS_NE,
    SW_PRESS_SE,
    SW_PRESS_SW,
    SW_PRESS_UNEVEN, /* inward, but not equally hard everywhere: four times, each time otherwise */
    SW_PRESS_WAYS = SW_PRESS_UNEVEN + 4
} sw_press_way;

/* Pushes in the first `count` ways of sw_press_way, each from where the tiles lie. Tile 0 stays; every tile must hang on
 * it through joints with points. out: `count` of them, each to be freed with sw_settled_free; zeroed on failure. */
sw_status sw_press(const sw_point *centres, size_t tiles, const sw_joint *joints, size_t joint_count, size_t count,
                   sw_settled *out, sw_error *err);

#endif
