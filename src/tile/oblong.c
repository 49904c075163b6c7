#include "tile/oblong.h"

#include <math.h>

#include "maths/guard.h"
#include "tile/parts.h"

/* Squares cut by hand keep 0.4 % (common practice, no source); what all of them show beyond, and this many standard errors of it, is no scatter. */
static const double CUT_SQUARE = 0.004, BEYOND_CHANCE = 3;
double sw_tiles_oblong(const sw_inspection *ins)
{
    double n = 0, sum = 0, squares = 0;
    for (size_t i = 0; i < ins->tile_count; i++) {
        const sw_edge *e = ins->tiles[i].edges;
        double a = log((e[SW_NORTH].length_mm + e[SW_SOUTH].length_mm) / (e[SW_EAST].length_mm + e[SW_WEST].length_mm));
        if (!isfinite(a))
            continue;
        n++;
        sum += a;
        squares += a * a;
    }
    if (n < 2)
        return 0;
    double mean = sum / n, error = sqrt(fmax(0, squares / n - mean * mean) / (n - 1));
    return fabs(mean) > CUT_SQUARE && fabs(mean) > BEYOND_CHANCE * error ? mean : 0;
}

/* Cards that are stretched along their own sides and lie turned by t against the tiles shear these by the stretch times sin 2t: root mean square of
 * sin 2t. */
static double turned_cards(const sw_scale *scale)
{
    double squares = 0;
    for (int i = 0; i < scale->square_count; i++) {
        const sw_point *p = scale->squares[i].corners_mm;
        double s = sin(2 * atan2(p[1].y - p[0].y, p[1].x - p[0].x));
        squares += s * s;
    }
    return scale->square_count ? sqrt(squares / scale->square_count) : 0;
}

void sw_tiles_hold_oblong(sw_inspection *ins)
{
    double stretch = fabs(sw_tiles_oblong(ins)), shear_deg = stretch * turned_cards(&ins->scale) * 180 / M_PI;
    if (!(stretch > 0))
        return;
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int k = 0; k < 4; k++) {
            sw_edge *edge = &ins->tiles[i].edges[k];
            sw_corner *corner = &ins->tiles[i].corners[k];
            sw_parts_add(SW_BETWEEN * stretch * edge->length_mm, SW_PART_FIT, &edge->length_parts,
                         &edge->length_u95_mm);
            sw_parts_add(SW_BETWEEN * shear_deg, SW_PART_FIT, &corner->angle_parts, &corner->u95_deg);
        }
}

static void hold_in_track(double off, sw_track *t)
{
    for (int i = 0; i < t->count; i++) {
        sw_track_point *p = &t->points[i];
        double u = SW_BETWEEN * fabs(off * (p->across[SW_SECOND] - p->across[SW_FIRST]));
        if (!(u > 0)) /* a place that was not seen, a rim of the table */
            continue;
        p->spread_mm = hypot(p->spread_mm, u);
        sw_track_point_sum(p);
    }
}

void sw_tiles_hold_size(double off, sw_tracks *tracks, sw_inspection *ins)
{
    if (off == 0)
        return;
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int k = 0; k < 4; k++) {
            sw_edge *edge = &ins->tiles[i].edges[k];
            sw_parts_add(SW_BETWEEN * fabs(off) * edge->length_mm, SW_PART_FIT, &edge->length_parts,
                         &edge->length_u95_mm);
        }
    for (int k = 0; k < tracks->count; k++)
        hold_in_track(off, &tracks->upright[k]);
}
