#include "scale/split.h"

#include <math.h>

#include "scale/lens.h"

/* A row whose remainder is below this share of itself tells nothing that the rows before it did not. */
static const double NOTHING_NEW = 1e-6;
/* Half side of the patch of the photo whose size on the table stands for the size there, px. */
static const double PATCH_PX = 50;

/* Takes from v what lies along the axis, and returns how much that was. */
static double take_along(const sw_scale_split *s, int axis, double *v)
{
    double along = 0;
    for (int i = 0; i < s->count; i++)
        along += v[i] * s->axis[axis][i];
    for (int i = 0; i < s->count; i++)
        v[i] -= along * s->axis[axis][i];
    return along;
}

static double squares(const sw_scale_split *s, const double *v)
{
    double sum = 0;
    for (int i = 0; i < s->count; i++)
        sum += v[i] * v[i];
    return sum;
}

/* One row more: what of it is new becomes an axis. */
static void take_row(sw_scale_split *s, sw_part part, double *row)
{
    double whole = squares(s, row);
    /* Twice, as once leaves rounding behind where rows are nearly alike. */
    for (int round = 0; round < 2; round++)
        for (int k = 0; k < s->axis_count; k++)
            take_along(s, k, row);
    double left = squares(s, row);
    if (!(left > NOTHING_NEW * NOTHING_NEW * whole) || s->axis_count >= SW_SPLIT_AXES)
        return;
    for (int i = 0; i < s->count; i++)
        s->axis[s->axis_count][i] = row[i] / sqrt(left);
    s->part[s->axis_count++] = part;
}

/* Area on the table of a patch of the photo. */
static double patch_mm2(const sw_scale *scale, sw_point px)
{
    static const double sx[4] = {-1, 1, 1, -1}, sy[4] = {-1, -1, 1, 1};
    sw_point mm[4];
    double twice = 0;
    for (int c = 0; c < 4; c++)
        mm[c] = sw_scale_to_mm(scale, (sw_point){px.x + sx[c] * PATCH_PX, px.y + sy[c] * PATCH_PX});
    for (int c = 0; c < 4; c++)
        twice += mm[c].x * mm[(c + 1) % 4].y - mm[(c + 1) % 4].x * mm[c].y;
    return fabs(twice) / 2;
}

static void take_size(const sw_scale *scale, sw_scale_split *s)
{
    sw_point middle = {0, 0};
    double row[SW_SPLIT_DIRECTIONS] = {0};
    for (int k = 0; k < 4 * scale->square_count; k++) {
        middle.x += scale->squares[k / 4].corners_px[k % 4].x / (4 * scale->square_count);
        middle.y += scale->squares[k / 4].corners_px[k % 4].y / (4 * scale->square_count);
    }
    double here = patch_mm2(scale, middle);
    for (int i = 0; i < scale->alternative_count; i++) {
        sw_scale other;
        sw_scale_take_alternative(scale, i, &other);
        row[i] = log(patch_mm2(&other, middle) / here) / 2;
        if (!isfinite(row[i]))
            return;
    }
    take_row(s, SW_PART_FIT, row);
}

void sw_scale_split_make(const sw_scale *scale, sw_scale_split *s)
{
    double spread[SW_SPLIT_DIRECTIONS] = {0}, lens[SW_LENS_NUMBERS][SW_SPLIT_DIRECTIONS] = {{0}};
    double here[SW_LENS_NUMBERS];
    sw_lens_numbers(&scale->lens, here);
    *s = (sw_scale_split){.count = scale->alternative_count + 1};
    for (int i = 0; i < scale->alternative_count; i++) {
        const sw_scale_alternative *a = &scale->alternatives[i];
        spread[i] = a->edge_spread_change_px;
        for (int k = 0; k < SW_LENS_NUMBERS; k++)
            lens[k][i] = a->lens[k] - here[k];
    }
    spread[scale->alternative_count] = scale->edge_spread_alone_px;
    take_row(s, SW_PART_SPREAD, spread);
    for (int k = 0; k < SW_LENS_NUMBERS; k++)
        take_row(s, SW_PART_LENS, lens[k]);
    if (scale->square_count > 0)
        take_size(scale, s);
}

void sw_scale_split_add(const sw_scale_split *s, const double *change, double variance[SW_PART_COUNT])
{
    double left[SW_SPLIT_DIRECTIONS] = {0};
    for (int i = 0; i + 1 < s->count; i++)
        left[i] = change[i];
    for (int k = 0; k < s->axis_count; k++) {
        double along = take_along(s, k, left);
        variance[s->part[k]] += along * along;
    }
    variance[SW_PART_PERSPECTIVE] += squares(s, left);
}
