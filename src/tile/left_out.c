/* left_out.c - what a figure's stated uncertainty holds nothing for, and how much that would be. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "maths/point.h"
#include "scale/frame.h"
#include "scale/split.h"
#include "tile/budgets.h"

/* How much tops of hand-made tiles stand above or below each other, mm: an example to count with (method of the trade:
 * half a millimetre seen 20 degrees off the vertical moves a rim by 0.18 mm), not a figure of this table. */
static const double UNEVEN_MM = 0.5;

/* The camera's foot point and height, and what is looked at. */
typedef struct view {
    const sw_inspection *ins;
    double camera[3];
} view;

/* By how much a place that is UNEVEN_MM too high seems to move: away from the camera's foot. */
static sw_point shift(const view *v, sw_point mm)
{
    double share = UNEVEN_MM / v->camera[2];
    return (sw_point){(mm.x - v->camera[0]) * share, (mm.y - v->camera[1]) * share};
}

/* The part of a move that goes across the way from a to b. */
static double across(sw_point move, sw_point a, sw_point b)
{
    double dx = b.x - a.x, dy = b.y - a.y;
    return fabs(move.x * dy - move.y * dx) / hypot(dx, dy);
}

/* Angle at p between the ways to a and to b, degrees. */
static double angle_at(sw_point p, sw_point a, sw_point b)
{
    double ax = a.x - p.x, ay = a.y - p.y, bx = b.x - p.x, by = b.y - p.y;
    return atan2(fabs(ax * by - ay * bx), ax * bx + ay * by) * 180 / M_PI;
}

static double uneven_effect(const view *v, sw_budget_figure figure, size_t index)
{
    if (figure == SW_BUDGET_GAP || figure == SW_BUDGET_MEAN) {
        const sw_seam *s = &v->ins->seams[index];
        double share = figure == SW_BUDGET_GAP ? s->max_at_mm / s->length_mm : 0.5;
        return across(shift(v, sw_between(s->start_mm, s->end_mm, share)), s->start_mm, s->end_mm);
    }
    const sw_tile *t = &v->ins->tiles[index / 4];
    size_t k = index % 4;
    sw_point here = t->corners[k].mm, next = t->corners[(k + 1) % 4].mm, before = t->corners[(k + 3) % 4].mm;
    if (figure == SW_BUDGET_ANGLE) {
        sw_point move = shift(v, here), moved = {here.x + move.x, here.y + move.y};
        return fabs(angle_at(moved, before, next) - angle_at(here, before, next));
    }
    if (figure == SW_BUDGET_LENGTH)
        return t->edges[k].length_mm * UNEVEN_MM / v->camera[2];
    return across(shift(v, sw_between(here, next, 0.5)), here, next);
}

static const char *uneven_note(sw_budget_figure figure)
{
    switch (figure) {
    case SW_BUDGET_GAP:
    case SW_BUDGET_MEAN:
        return "if one of the two tiles stood 0.5 mm higher than the other";
    case SW_BUDGET_ANGLE:
        return "if this corner of the tile stood 0.5 mm higher than the rest";
    case SW_BUDGET_LENGTH:
        return "if the tile stood 0.5 mm higher than those that carry the cards";
    default:
        return "if the middle of the edge stood 0.5 mm higher than its ends";
    }
}

/* Variance, part by part, that the scale would add to a gap as wide as this one at its place. */
static bool gap_variance(const view *v, sw_budget_figure figure, size_t index, double variance[SW_PART_COUNT])
{
    const sw_scale *scale = &v->ins->scale;
    const sw_seam *s = &v->ins->seams[index];
    double wide = figure == SW_BUDGET_GAP ? s->max_mm : s->mean_mm, change[SW_SCALE_ALTERNATIVES];
    double share = figure == SW_BUDGET_GAP ? s->max_at_mm / s->length_mm : 0.5;
    double dx = s->end_mm.x - s->start_mm.x, dy = s->end_mm.y - s->start_mm.y, l = hypot(dx, dy);
    sw_point middle = sw_between(s->start_mm, s->end_mm, share), half = {-dy / l * wide / 2, dx / l * wide / 2};
    sw_point a = sw_scale_to_px(scale, (sw_point){middle.x - half.x, middle.y - half.y}),
             b = sw_scale_to_px(scale, (sw_point){middle.x + half.x, middle.y + half.y});
    sw_scale_split split;
    sw_scale_split_make(scale, &split);
    for (int i = 0; i < scale->alternative_count; i++) {
        sw_scale other;
        sw_scale_take_alternative(scale, i, &other);
        sw_point p = sw_scale_to_mm(&other, a), q = sw_scale_to_mm(&other, b);
        change[i] = hypot(p.x - q.x, p.y - q.y) - wide;
    }
    sw_scale_split_add(&split, change, variance);
    double thick = scale->thickness_u_rel * wide, all = scale->reference_u_rel * wide;
    variance[SW_PART_THICKNESS] = thick * thick;
    variance[SW_PART_SIZE] = fmax(0, all * all - thick * thick);
    return isfinite(wide + share + l);
}

/* A gap's ± holds nothing for the scale, as a gap is short: how short, in figures. */
static size_t short_gap(const view *v, sw_budget_figure figure, size_t index, sw_budget_line *lines)
{
    static const sw_part parts[] = {SW_PART_SIZE, SW_PART_FIT, SW_PART_LENS, SW_PART_PERSPECTIVE, SW_PART_THICKNESS};
    double variance[SW_PART_COUNT] = {0};
    size_t count = 0;
    if (!gap_variance(v, figure, index, variance))
        return 0;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (isfinite(variance[parts[i]]))
            lines[count++] = (sw_budget_line){.part = parts[i],
                                              .kind = sw_budget_kind(&v->ins->scale, parts[i]),
                                              .left_out = sqrt(variance[parts[i]]),
                                              .note = "one standard uncertainty; a gap is short"};
    return count;
}

size_t sw_budget_left_out(const sw_inspection *ins, sw_budget_figure figure, size_t index,
                          sw_budget_line lines[SW_PART_COUNT])
{
    view v = {.ins = ins};
    size_t count = 0;
    if (sw_camera_place(&ins->scale, v.camera))
        return 0;
    double uneven = uneven_effect(&v, figure, index);
    if (isfinite(uneven))
        lines[count++] = (sw_budget_line){
            .part = SW_PART_HEIGHT, .kind = SW_ASSUMED, .left_out = uneven, .note = uneven_note(figure)};
    if (figure == SW_BUDGET_GAP || figure == SW_BUDGET_MEAN)
        count += short_gap(&v, figure, index, lines + count);
    return count;
}
