/* same_tiles.h - do several inspections show the same tiles? */
#ifndef SW_PUSH_SAME_TILES_H
#define SW_PUSH_SAME_TILES_H

#include <stddef.h>

#include "seamwright/layout.h"

/* Each inspection has as many tiles as the first, of its size, and lies as its layout says (layouts NULL: there is but
 * one inspection). SW_BAD_INPUT names the inspection that does not fit. */
sw_status sw_same_tiles(const sw_inspection *inspections, size_t count, const sw_layout *layouts, sw_error *err);

#endif
