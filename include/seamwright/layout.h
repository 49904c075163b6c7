/* layout.h - which tile lies where, and turned how.
 *
 * Written as rows from north to south with a slash between them, tiles from west to east with a blank between them:
 *
 *     "A1 B1r / B2h A2"
 *
 * Each tile has the name it has in the inspection that comes first ("the first inspection"). A letter behind it tells
 * how it lies against the first inspection: r a quarter turn to the right (clockwise, seen from above), h half a turn,
 * l a quarter to the left; none: as it lay.
 */
#ifndef SEAMWRIGHT_LAYOUT_H
#define SEAMWRIGHT_LAYOUT_H

#include <stddef.h>

#include "seamwright/report.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* One place of a layout. */
typedef struct sw_place {
    int tile;  /* index into the first inspection's tiles */
    int turns; /* quarter turns clockwise against the first inspection, 0 to 3 */
} sw_place;

/* Free with sw_layout_free. */
typedef struct sw_layout {
    int columns, rows;
    sw_place *places; /* row after row from the north-west, columns * rows of them */
} sw_layout;

SW_API void sw_layout_free(sw_layout *layout);

/* The layout in which every tile lies where it lies in the first inspection. SW_NO_MEMORY. */
SW_API sw_status sw_layout_as_is(const sw_inspection *first, sw_layout *layout, sw_error *err);

/* Reads the text above. SW_BAD_INPUT: a name the first inspection lacks or that comes twice, a letter that is none of
 * r h l, rows of unequal length, a number of tiles other than the first inspection's. The sentence does not name the
 * option. *layout is zeroed on failure. */
SW_API sw_status sw_layout_read(const char *text, const sw_inspection *first, sw_layout *layout, sw_error *err);

/* The layout as text, for free(); NULL when memory is out. */
SW_API char *sw_layout_text(const sw_layout *layout, const sw_inspection *first);

/* Side that `side` of a tile faces after so many quarter turns clockwise: north becomes east. */
SW_API sw_side sw_side_turned(sw_side side, int turns);

#ifdef __cplusplus
}
#endif
#endif
