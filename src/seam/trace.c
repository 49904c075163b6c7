/* trace.c - laying a trace along a grid side. */
#include "seam/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scale/frame.h"

/* Between these the map from mm to pixels is interpolated by a parabola piece; a lens bends a 300 mm side by under 0.02 px from
 * piece to piece. */
enum { KNOTS = 13 };
/* White that may surround a card beyond its frame, mm: what is under it is not seen, and there always are 10 mm. */
static const double CARD_WHITE_MM = 10.5;

/* Parabola through the three knots nearest to t (knots ascending). */
static double parabola(const double *t, const double *v, int n, double at, int *hint)
{
    int i = *hint;
    while (i + 3 < n && at > t[i + 2])
        i++;
    *hint = i;
    const double *p = t + i, *q = v + i;
    double l0 = (at - p[1]) * (at - p[2]) / ((p[0] - p[1]) * (p[0] - p[2]));
    double l1 = (at - p[0]) * (at - p[2]) / ((p[1] - p[0]) * (p[1] - p[2]));
    double l2 = (at - p[0]) * (at - p[1]) / ((p[2] - p[0]) * (p[2] - p[1]));
    return l0 * q[0] + l1 * q[1] + l2 * q[2];
}

/* Side knots in pixels: line coordinate ascending, crossing coordinate, and the mm parameter. */
typedef struct knots {
    double line[KNOTS], at[KNOTS], part[KNOTS];
} knots;

static sw_status make_knots(const sw_scale *scale, const sw_grid_side *side, sw_trace *trace, knots *k)
{
    sw_point px[KNOTS];
    for (int i = 0; i < KNOTS; i++)
        px[i] = sw_scale_to_px(scale, sw_between(side->from, side->to, i / (KNOTS - 1.0)));
    double dx = px[KNOTS - 1].x - px[0].x, dy = px[KNOTS - 1].y - px[0].y;
    trace->along_row = fabs(dy) > fabs(dx);
    bool turned = trace->along_row ? dy < 0 : dx < 0;
    for (int i = 0; i < KNOTS; i++) {
        const sw_point *p = &px[turned ? KNOTS - 1 - i : i];
        k->line[i] = trace->along_row ? p->y : p->x;
        k->at[i] = trace->along_row ? p->x : p->y;
        k->part[i] = (turned ? KNOTS - 1.0 - i : i) / (KNOTS - 1.0);
        if (!isfinite(p->x) || !isfinite(p->y) || (i > 0 && k->line[i] <= k->line[i - 1]))
            return SW_BAD_INPUT;
    }
    trace->slope = (k->at[KNOTS - 1] - k->at[0]) / (k->line[KNOTS - 1] - k->line[0]);
    trace->stretch = 1 / sqrt(1 + trace->slope * trace->slope);
    return SW_OK;
}

/* Which way mm run along the crossing, and the view angle across. */
static void look_across(const sw_scale *scale, const sw_grid_side *side, bool upright, const double camera[3],
                        sw_trace *trace)
{
    sw_point middle = sw_between(side->from, side->to, 0.5);
    double dx = side->to.x - side->from.x, dy = side->to.y - side->from.y, l = hypot(dx, dy);
    /* Normal from the first tile to the second: east for an upright side, south for a level one. */
    double nx = upright ? fabs(dy) / l : 0, ny = upright ? 0 : -fabs(dx) / l;
    sw_point a = sw_scale_to_px(scale, (sw_point){middle.x - 5 * nx, middle.y - 5 * ny});
    sw_point b = sw_scale_to_px(scale, (sw_point){middle.x + 5 * nx, middle.y + 5 * ny});
    double along = trace->along_row ? b.x - a.x : b.y - a.y, lines = trace->along_row ? b.y - a.y : b.x - a.x;
    double crossing =
        along - trace->slope * lines; /* the crossing meets the far line where it runs, not where b lies */
    trace->reversed = crossing < 0;
    trace->px_per_mm = fabs(crossing) / 10;
    double tangent = ((middle.x - camera[0]) * nx + (middle.y - camera[1]) * ny) / camera[2];
    trace->tangent = trace->reversed ? -tangent : tangent;
}

sw_status sw_trace_lay(const sw_photo *photo, const sw_scale *scale, const sw_grid_side *side, bool upright,
                       sw_trace_kind kind, double step_mm, const double camera[3], sw_trace *trace, sw_error *err)
{
    knots k;
    memset(trace, 0, sizeof *trace);
    trace->kind = kind;
    for (int high = 0; high < 2; high++)
        trace->round_mm[high] = trace->round_u_mm[high] = NAN;
    if (make_knots(scale, side, trace, &k))
        return sw_fail(err, SW_BAD_INPUT, "%s: the photo is too slanted to follow the seams; photograph from above",
                       photo->file);
    look_across(scale, side, upright, camera, trace);
    double length = hypot(side->to.x - side->from.x, side->to.y - side->from.y);
    int count = (int)floor(length / step_mm) + 1, hint = 0, hint2 = 0;
    double spacing = (k.line[KNOTS - 1] - k.line[0]) / length * step_mm;
    trace->places = calloc((size_t)count, sizeof *trace->places);
    if (!trace->places)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    trace->count = count;
    for (int i = 0; i < count; i++) {
        sw_trace_place *p = &trace->places[i];
        p->line = k.line[0] + (i + 0.5 * (length / step_mm - (count - 1))) * spacing;
        p->path_px = parabola(k.line, k.at, KNOTS, p->line, &hint);
        double part = parabola(k.line, k.part, KNOTS, p->line, &hint2);
        p->rim_low_px = p->rim_high_px = NAN;
        p->seen = !sw_scale_covers(scale, sw_between(side->from, side->to, part), CARD_WHITE_MM);
    }
    return SW_OK;
}

void sw_trace_free(sw_trace *trace)
{
    if (!trace)
        return;
    free(trace->places);
    memset(trace, 0, sizeof *trace);
}
