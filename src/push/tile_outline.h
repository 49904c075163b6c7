/* tile_outline.h - one tile's outline from all inspections that show it. */
#ifndef SW_PUSH_TILE_OUTLINE_H
#define SW_PUSH_TILE_OUTLINE_H

#include "push/outline_at.h"
#include "seamwright/layout.h"

/* The mean outline of a tile of the first inspection. layouts as for sw_plan_make. SW_NO_MEMORY. *mean is to be freed
 * with sw_outline_free. */
sw_status sw_tile_outline(const sw_inspection *inspections, size_t count, const sw_layout *layouts, int tile,
                          sw_outline *mean, sw_error *err);

#endif
