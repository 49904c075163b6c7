#include <stdlib.h>
#include <string.h>

#include "seamwright/report.h"

void sw_inspection_free(sw_inspection *inspection)
{
    if (!inspection)
        return;
    for (size_t i = 0; inspection->tiles && i < inspection->tile_count; i++)
        sw_tile_free(&inspection->tiles[i]);
    for (size_t i = 0; inspection->seams && i < inspection->seam_count; i++)
        sw_seam_free(&inspection->seams[i]);
    free(inspection->tiles);
    free(inspection->seams);
    free(inspection->ranking);
    free(inspection->tops);
    free(inspection->marks);
    free(inspection->given.heights);
    free(inspection->rounds);
    sw_notes_free(&inspection->notes);
    sw_repeatability_free(inspection->repeatability);
    free(inspection->repeatability);
    memset(inspection, 0, sizeof *inspection);
}
