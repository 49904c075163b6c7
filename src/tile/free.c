#include <stdlib.h>
#include <string.h>

#include "seamwright/seam.h"
#include "seamwright/tile.h"

void sw_tile_free(sw_tile *tile)
{
    if (!tile)
        return;
    for (int side = 0; side < 4; side++)
        free(tile->edges[side].points);
    free(tile->chips);
    memset(tile, 0, sizeof *tile);
}

void sw_seam_free(sw_seam *seam)
{
    if (!seam)
        return;
    free(seam->chips);
    free(seam->stations);
    memset(seam, 0, sizeof *seam);
}
