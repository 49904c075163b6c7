#include "inspection/tops.h"

#include "maths/stats.h"
#include "seamwright/defaults_and_ranges.h"

static const double DEG = 180 / M_PI;

void sw_tile_unknown(sw_tile *tile)
{
    tile->height_mm = tile->height_u95_mm = tile->tilt_deg = tile->tilt_u95_deg = NAN;
    tile->rise_mm = tile->rise_east = tile->rise_north = 0;
    for (int s = 0; s < 4; s++)
        tile->edges[s].rim_mm = tile->edges[s].rim_u95_mm = NAN;
}

void sw_seam_unknown(sw_seam *seam)
{
    seam->step_mm = seam->step_u95_mm = seam->step_largest_mm = NAN;
}

void sw_tops_unknown(sw_inspection *ins)
{
    for (size_t i = 0; i < ins->tile_count; i++)
        sw_tile_unknown(&ins->tiles[i]);
    for (size_t i = 0; i < ins->seam_count; i++)
        sw_seam_unknown(&ins->seams[i]);
}

double sw_rise_at(const sw_tile *tile, sw_point mm)
{
    double slant = tile->rise_east * (mm.x - tile->centre_mm.x) + tile->rise_north * (mm.y - tile->centre_mm.y);
    return tile->rise_mm + (isfinite(slant) ? slant : 0);
}

/* A tile's part of a step's standard uncertainty squared: its height's, and its tilt's over the half side from its middle
 * to the seam. */
static double step_variance(const sw_tile *tile)
{
    double tilt = isfinite(tile->tilt_u95_deg) ? tile->tilt_u95_deg / DEG * tile->side_mm / 2 : 0;
    return (tile->height_u95_mm * tile->height_u95_mm + (isfinite(tilt) ? tilt * tilt : 0)) / 4;
}

static void settle_seam(const sw_inspection *ins, sw_seam *seam)
{
    const sw_tile *a = &ins->tiles[seam->first], *b = &ins->tiles[seam->second];
    sw_point ends[2] = {seam->start_mm, seam->end_mm};
    double step[2];
    sw_seam_unknown(seam);
    if (!sw_height_known(a) || !sw_height_known(b))
        return;
    for (int end = 0; end < 2; end++)
        step[end] = sw_rise_at(a, ends[end]) - sw_rise_at(b, ends[end]);
    seam->step_mm = (step[0] + step[1]) / 2; /* two planes: the step is linear along the seam */
    seam->step_largest_mm = fabs(step[0]) > fabs(step[1]) ? step[0] : step[1];
    seam->step_u95_mm = 2 * sqrt(step_variance(a) + step_variance(b));
}

/* The median of those whose height is known; a table has at most SW_TABLE_MOST tiles each way. */
static double median_rise(const sw_inspection *ins)
{
    double rises[SW_TABLE_MOST * SW_TABLE_MOST];
    size_t count = 0;
    for (size_t i = 0; i < ins->tile_count && i < sizeof rises / sizeof *rises; i++)
        if (isfinite(ins->tiles[i].height_u95_mm))
            rises[count++] = ins->tiles[i].rise_mm;
    return sw_median(rises, count);
}

void sw_tops_settle(sw_inspection *ins)
{
    double median = median_rise(ins);
    for (size_t i = 0; i < ins->tile_count; i++) {
        sw_tile *tile = &ins->tiles[i];
        tile->height_mm = isfinite(tile->height_u95_mm) ? tile->rise_mm - median : NAN;
        tile->tilt_deg = isfinite(tile->tilt_u95_deg) ? atan(hypot(tile->rise_east, tile->rise_north)) * DEG : NAN;
    }
    for (size_t i = 0; i < ins->seam_count; i++)
        settle_seam(ins, &ins->seams[i]);
}
