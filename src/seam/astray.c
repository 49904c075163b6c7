#include "seam/astray.h"

#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"

/* Hand-cut tiles differ by 1 mm or so (standard deviation), each its own way: that one is short and its neighbour long by more than this,
 * mm, is rarer than a line beside the seam. */
static const double ASTRAY_MM = 1.8;

/* Where a trace runs, mm across its line, at the middle of the side. */
static double place_of(const sw_scale *scale, const sw_trace *t, bool upright)
{
    double v[64];
    size_t n = 0;
    for (int i = t->count / 3; i < 2 * t->count / 3 && n < sizeof v / sizeof *v; i += t->count / 60 + 1) {
        const sw_trace_place *p = &t->places[i];
        sw_point px = sw_trace_pixel(t, p, p->path_px);
        sw_point mm = sw_scale_to_mm(scale, px);
        v[n++] = upright ? mm.x : -mm.y;
    }
    return n ? sw_median(v, n) : NAN;
}

/* One direction: line k of `lines` across, `along` seams a line; place[k * along + r]. */
static void judge(const double *place, int lines, int along, double *work, sw_trace *(*trace)(sw_traces *, int, int),
                  sw_traces *traces)
{
    size_t n = 0;
    for (int k = 0; k + 1 < lines; k++)
        for (int r = 0; r < along; r++)
            if (isfinite(place[(k + 1) * along + r] - place[k * along + r]))
                work[n++] = place[(k + 1) * along + r] - place[k * along + r];
    double usual = n ? sw_median(work, n) : NAN;
    for (int k = 1; k + 1 < lines; k++)
        for (int r = 0; r < along; r++) {
            double before = place[k * along + r] - place[(k - 1) * along + r] - usual,
                   after = place[(k + 1) * along + r] - place[k * along + r] - usual;
            trace(traces, k, r)->astray = before * after < 0 && fmin(fabs(before), fabs(after)) > ASTRAY_MM;
        }
}

static sw_trace *upright_trace(sw_traces *t, int line, int row)
{
    return &t->upright[line * t->rows + row];
}

static sw_trace *level_trace(sw_traces *t, int line, int column)
{
    return &t->level[column * (t->rows + 1) + line];
}

sw_status sw_astray_judge(const sw_scale *scale, const sw_grid *g, sw_traces *traces)
{
    double *place = malloc(2 * (size_t)traces->count * sizeof *place), *work = place + traces->count;
    if (!place)
        return SW_NO_MEMORY;
    for (int i = 0; i <= g->columns; i++)
        for (int r = 0; r < g->rows; r++)
            place[i * g->rows + r] = place_of(scale, upright_trace(traces, i, r), true);
    judge(place, g->columns + 1, g->rows, work, upright_trace, traces);
    for (int j = 0; j <= g->rows; j++)
        for (int c = 0; c < g->columns; c++)
            place[j * g->columns + c] = place_of(scale, level_trace(traces, j, c), false);
    judge(place, g->rows + 1, g->columns, work, level_trace, traces);
    free(place);
    return SW_OK;
}
