#include "inspection/copy.h"

#include <stdlib.h>
#include <string.h>

/* A copy of an array in *slot; *failed is set when memory is out, and the array is then NULL. */
static void *again(const void *from, size_t count, size_t size, int *failed)
{
    void *to = calloc(count + 1, size);
    if (!to)
        *failed = 1;
    else if (count)
        memcpy(to, from, count * size);
    return to;
}

static void own_tile(sw_tile *tile, int *failed)
{
    for (int s = 0; s < 4; s++) {
        sw_edge *e = &tile->edges[s];
        e->points = again(e->points, e->point_count, sizeof *e->points, failed);
    }
    tile->chips = again(tile->chips, tile->chip_count, sizeof *tile->chips, failed);
}

static void own_seam(sw_seam *seam, int *failed)
{
    seam->chips = again(seam->chips, seam->chip_count, sizeof *seam->chips, failed);
    seam->stations = again(seam->stations, seam->station_count, sizeof *seam->stations, failed);
}

sw_status sw_inspection_copy(const sw_inspection *from, sw_inspection *to, sw_error *err)
{
    int failed = 0;
    *to = *from;
    to->ranking = NULL;
    to->advice_count = 0;
    to->tops = NULL;
    to->top_count = 0;
    to->repeatability = NULL;
    to->tiles = again(from->tiles, from->tile_count, sizeof *to->tiles, &failed);
    to->seams = again(from->seams, from->seam_count, sizeof *to->seams, &failed);
    to->marks = again(from->marks, from->mark_count, sizeof *to->marks, &failed);
    to->given.heights = again(from->given.heights, from->given.height_count, sizeof *to->given.heights, &failed);
    to->rounds = again(from->rounds, from->round_count, sizeof *to->rounds, &failed);
    to->notes.list = again(from->notes.list, from->notes.count, sizeof *to->notes.list, &failed);
    for (size_t i = 0; to->tiles && i < to->tile_count; i++)
        own_tile(&to->tiles[i], &failed);
    for (size_t i = 0; to->seams && i < to->seam_count; i++)
        own_seam(&to->seams[i], &failed);
    if (!failed)
        return SW_OK;
    sw_inspection_free(to);
    return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to combine photos", from->file);
}
