#include "report/common/mark.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

/* FNV-1a, 64 bits (offset basis and prime from memory). */
static const uint64_t START = 14695981039346656037u, PRIME = 1099511628211u;
/* As many decimals as inspection.json has, so that rounding changes nothing. */
static const double PER_MM = 1e4;

static void add(uint64_t *mark, int64_t value)
{
    for (int byte = 0; byte < 8; byte++)
        *mark = (*mark ^ ((uint64_t)value >> (8 * byte) & 0xFF)) * PRIME;
}

static void add_mm(uint64_t *mark, double mm)
{
    add(mark, isfinite(mm) && fabs(mm) < 1e9 ? (int64_t)round(mm * PER_MM) : INT64_MIN);
}

static void add_edge(uint64_t *mark, const sw_edge *edge)
{
    add_mm(mark, edge->length_mm);
    for (size_t i = 0; i < edge->point_count; i++) {
        add_mm(mark, edge->points[i].at_mm);
        add_mm(mark, edge->points[i].proud_mm);
    }
}

static void add_seam(uint64_t *mark, const sw_seam *seam)
{
    for (size_t i = 0; i < seam->station_count; i++) {
        add_mm(mark, seam->stations[i].at_mm);
        add_mm(mark, seam->stations[i].gap_mm);
    }
}

void sw_mark_of(const sw_inspection *ins, char mark[SW_MARK_ROOM])
{
    uint64_t sum = START;
    add(&sum, ins->table.columns);
    add(&sum, ins->table.rows);
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int s = 0; s < 4; s++)
            add_edge(&sum, &ins->tiles[i].edges[s]);
    for (size_t i = 0; i < ins->seam_count; i++)
        add_seam(&sum, &ins->seams[i]);
    snprintf(mark, SW_MARK_ROOM, "%016" PRIx64, sum);
}
