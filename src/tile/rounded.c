#include "tile/rounded.h"

#include "tile/outline.h"

void sw_rims_to_tiles(const sw_tracks *tracks, sw_inspection *ins)
{
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int side = 0; side < 4; side++) {
            int rim;
            sw_edge *edge = &ins->tiles[i].edges[side];
            const sw_track *t = sw_side_track(tracks, ins->tiles[i].column, ins->tiles[i].row, (sw_side)side, &rim);
            edge->rim_mm = t->round_mm[rim];
            edge->rim_u95_mm = 2 * t->round_u_mm[rim];
        }
}
