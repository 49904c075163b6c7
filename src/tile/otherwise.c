#include "tile/otherwise.h"

#include <math.h>

#include "maths/guard.h"
#include "maths/point.h"
#include "scale/frame.h"
#include "tile/outline.h"
#include "tile/parts.h"

/* Sizes that are so many times more alike one way than the other tell which is right; tiles cut by hand differ by 0.4 %, so less than this (share,
 * standard deviation) denies nothing. */
static const double CLEARLY = 2, CUT_ALIKE = 0.006;
/* Three tiles or more are not by chance so many times more alike if level, unless they hardly differ either way. */
static const double SURELY = 4, HARDLY = 0.003;

/* Inside angles (degrees) and sides (mm) of four corners, from NW clockwise. */
typedef struct shape {
    double angle[4], side[4];
} shape;

static shape shape_of(const sw_point p[4])
{
    shape s;
    for (int c = 0; c < 4; c++) {
        sw_point in = {p[(c + 3) % 4].x - p[c].x, p[(c + 3) % 4].y - p[c].y},
                 out = {p[(c + 1) % 4].x - p[c].x, p[(c + 1) % 4].y - p[c].y};
        s.angle[c] = fabs(atan2(in.x * out.y - in.y * out.x, in.x * out.x + in.y * out.y)) * 180 / M_PI;
        s.side[c] = hypot(out.x, out.y);
    }
    return s;
}

/* The tile as it is under the other reading. SW_BAD_INPUT where a camera makes no sense. */
static sw_status read_otherwise(const sw_scale *scale, const sw_top *top, const sw_otherwise *other,
                                const sw_tile *tile, shape *out)
{
    double camera[3];
    sw_point p[4];
    sw_scale lifted;
    if (sw_scale_lift(scale, top, &lifted) || sw_camera_place(&other->scale, camera))
        return SW_BAD_INPUT;
    double rise_mm = other->rise_mm[tile->column][tile->row];
    for (int c = 0; c < 4; c++)
        p[c] = sw_scale_to_mm(&other->scale, sw_scale_to_px(&lifted, tile->corners[c].mm));
    *out = shape_of(p);
    for (int s = 0; s < 4; s++)
        out->side[s] *= 1 - rise_mm / camera[2];
    return SW_OK;
}

/* Mean side of a tile, mm; NaN where none was measured. */
static double size_of(const sw_tile *tile)
{
    double sum = 0, n = 0;
    for (int k = 0; k < 4; k++)
        if (isfinite(tile->edges[k].length_mm)) {
            sum += tile->edges[k].length_mm;
            n++;
        }
    return n > 0 ? sum / n : NAN;
}

typedef struct sizes {
    double count, sum, squares;
} sizes;

static void add_size(double mm, sizes *s)
{
    s->count++;
    s->sum += mm;
    s->squares += mm * mm;
}

/* Standard deviation as a share of the mean. */
static double spread_of(const sizes *s)
{
    double mean = s->sum / s->count;
    return sqrt(fmax(0, s->squares / s->count - mean * mean) * s->count / (s->count - 1)) / mean;
}

/* Told by the cards of one photo, and by nothing else. */
static bool told_by_cards(const sw_tops *tops)
{
    return tops->source == SW_TOPS_MEASURED && tops->uneven && !tops->several;
}

sw_sizes_say sw_tops_by_sizes(const sw_tops *tops, const sw_inspection *ins)
{
    double camera[3];
    sizes told = {0}, level = {0};
    if (!told_by_cards(tops) || sw_camera_place(&ins->scale, camera))
        return SW_SIZES_SAY_NOTHING;
    for (size_t i = 0; i < ins->tile_count; i++) {
        const sw_tile *tile = &ins->tiles[i];
        double size = size_of(tile);
        if (!tops->told[tile->column][tile->row] || !isfinite(size))
            continue;
        add_size(size, &told);
        add_size(size / (1 - tops->top[tile->column][tile->row].rise_mm / camera[2]), &level);
    }
    if (told.count < 2)
        return SW_SIZES_SAY_NOTHING;
    double as_told = spread_of(&told), as_level = spread_of(&level);
    if (CLEARLY * as_told < as_level)
        return SW_SIZES_CONFIRM;
    bool deny = (CLEARLY * as_level < as_told && as_told > CUT_ALIKE) ||
                (told.count >= 3 && SURELY * as_level < as_told && as_told > HARDLY);
    return deny ? SW_SIZES_DENY : SW_SIZES_SAY_NOTHING;
}

double sw_tops_apart_mm(const sw_tops *tops)
{
    double low = INFINITY, high = -INFINITY;
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++)
            if (tops->told[c][r]) {
                low = fmin(low, tops->top[c][r].rise_mm);
                high = fmax(high, tops->top[c][r].rise_mm);
            }
    return high > low ? high - low : 0;
}

void sw_tiles_hold_otherwise(const sw_tracks *tracks, const sw_tops *tops, const sw_otherwise *other,
                             sw_inspection *ins)
{
    double camera[3];
    if (!other->possible || sw_camera_place(&ins->scale, camera))
        return;
    double apart_mm = sw_tops_by_sizes(tops, ins) == SW_SIZES_CONFIRM ? 0 : sw_tops_apart_mm(tops);
    for (size_t i = 0; i < ins->tile_count; i++) {
        sw_tile *tile = &ins->tiles[i];
        int column = tile->column, row = tile->row, rim;
        const sw_track *side = sw_side_track(tracks, column, row, SW_NORTH, &rim);
        const sw_top *top = &side->tops[rim];
        sw_point corners[4];
        shape there, here;
        for (int c = 0; c < 4; c++)
            corners[c] = tile->corners[c].mm;
        if (!isfinite(corners[0].x) || read_otherwise(&ins->scale, top, other, tile, &there))
            continue;
        here = shape_of(corners);
        double height_u_mm = !told_by_cards(tops) ? 0 : hypot(tops->height_u_mm[column][row], SW_BETWEEN * apart_mm);
        for (int k = 0; k < 4; k++) {
            sw_edge *edge = &tile->edges[k];
            double by_height = height_u_mm / camera[2] * edge->length_mm;
            sw_parts_add(SW_BETWEEN * (there.angle[k] - here.angle[k]), SW_PART_HEIGHT, &tile->corners[k].angle_parts,
                         &tile->corners[k].u95_deg);
            sw_parts_add(hypot(by_height, SW_BETWEEN * (there.side[k] - here.side[k])), SW_PART_HEIGHT,
                         &edge->length_parts, &edge->length_u95_mm);
        }
    }
}
