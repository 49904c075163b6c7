/* Any bytes are an inspection or a sentence. Fuzzed with libFuzzer (see replay.c for the everyday run). */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "report/inspection/read.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(int truth)
{
    if (!truth)
        abort();
}

static void check_tile(const sw_inspection *ins, size_t i)
{
    const sw_tile *tile = &ins->tiles[i];
    demand(tile->name[0] && memchr(tile->name, 0, sizeof tile->name));
    demand((size_t)(tile->row * ins->table.columns + tile->column) == i);
    for (int s = 0; s < 4; s++)
        for (size_t k = 0; k < tile->edges[s].point_count; k++) {
            const sw_rim_point *p = &tile->edges[s].points[k];
            demand(isfinite(p->at_mm) && (k == 0 || p->at_mm > p[-1].at_mm));
            demand(isfinite(p->proud_mm) || p->state == SW_STATION_UNSEEN);
        }
    for (size_t k = 0; k < tile->chip_count; k++)
        demand((size_t)tile->chips[k].tile == i);
}

static void check_seam(const sw_inspection *ins, const sw_seam *seam)
{
    demand(seam->first >= 0 && seam->second > seam->first && (size_t)seam->second < ins->tile_count);
    demand(seam->second - seam->first == (seam->upright ? 1 : ins->table.columns));
    for (size_t k = 0; k < seam->station_count; k++)
        demand(seam->stations[k].gap_mm >= 0 || seam->stations[k].state == SW_STATION_UNSEEN);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const sw_inspection zero;
    sw_inspection ins;
    sw_error err = {""};
    if (sw_inspection_parse((const char *)data, size, "fuzz", &ins, &err)) {
        demand(memcmp(&ins, &zero, sizeof zero) == 0);
        demand(strncmp(err.text, "fuzz: ", 6) == 0 && !strchr(err.text, '\n'));
        return 0;
    }
    size_t columns = (size_t)ins.table.columns, rows = (size_t)ins.table.rows;
    demand(columns >= 1 && columns <= 26 && rows >= 1 && rows <= 99 && ins.tile_count == columns * rows);
    demand(ins.seam_count == (columns - 1) * rows + columns * (rows - 1));
    for (size_t i = 0; i < ins.tile_count; i++)
        check_tile(&ins, i);
    for (size_t i = 0; i < ins.seam_count; i++)
        check_seam(&ins, &ins.seams[i]);
    demand(sw_report_json(&ins, "/dev/null", &err) == SW_OK);
    sw_inspection_free(&ins);
    return 0;
}
