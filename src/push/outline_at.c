#include "push/outline_at.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"

/* Widest stretch without a good place that is bridged by a straight line: chips are a few mm to a few cm long; over
 * this length an edge may bow by itself. */
static const double BRIDGE_MM = 45;
/* An edge's last mm are taken from the line through its last good stretch of this length, as corners are (interface.md:
 * 20 mm or so), and no farther than this beyond it: the disturbed 5 mm, the distance between two samples, and an end of
 * the edge that lies a little outside the square. */
static const double END_LINE_MM = 20, END_REACH_MM = 15;
/* sw_outline_at goes so far past the outermost sample. */
static const double PAST_MM = 10;
/* A line needs so many places; with fewer the last place's height is kept. So many are enough (one every half
 * millimetre): a step of hundredths would make millions of slopes. */
enum { LEAST_LINE = 3, MOST_LINE = 40, MOST_SLOPES = MOST_LINE * (MOST_LINE - 1) / 2 };

void sw_outline_free(sw_outline *outline)
{
    if (!outline)
        return;
    free(outline->samples[0]);
    memset(outline, 0, sizeof *outline);
}

/* Good places of one edge, by growing u. */
typedef struct places {
    double *u, *proud;
    size_t count;
} places;

/* +1 when at_mm and u grow the same way. */
static int same_way(sw_side side)
{
    return side == SW_NORTH || side == SW_EAST ? 1 : -1;
}

double sw_outline_u(const sw_outline *outline, sw_side side, double at_mm)
{
    return same_way(side) * (at_mm - outline->half_mm);
}

/* u of the corner from which an edge's at_mm is counted. */
static double start_u(const sw_tile *tile, sw_side side)
{
    const sw_corner *corner = &tile->corners[side == SW_EAST ? SW_NE : side == SW_SOUTH ? SW_SW : SW_NW];
    double x = corner->mm.x - tile->centre_mm.x, y = corner->mm.y - tile->centre_mm.y;
    double c = cos(tile->turn_rad), s = sin(tile->turn_rad), east = c * x + s * y, north = c * y - s * x;
    switch (side) {
    case SW_NORTH:
        return east;
    case SW_EAST:
        return -north;
    case SW_SOUTH:
        return -east;
    default:
        return north;
    }
}

static void gather(const sw_tile *tile, sw_side side, places *good)
{
    const sw_edge *edge = &tile->edges[side];
    double start = start_u(tile, side);
    int way = same_way(side);
    good->count = 0;
    for (size_t i = 0; i < edge->point_count; i++) {
        const sw_rim_point *p = &edge->points[way > 0 ? i : edge->point_count - 1 - i];
        double u = start + way * p->at_mm;
        if (p->state != SW_STATION_OK || !isfinite(p->proud_mm) || !isfinite(u))
            continue;
        good->u[good->count] = u;
        good->proud[good->count++] = p->proud_mm;
    }
}

/* A line that single bad places do not move: median of the slopes between places at least half the stretch apart, then
 * median of the heights (after Theil 1950). */
typedef struct end_line {
    double u, proud, slope; /* u, proud: the outermost good place's u and the line's height there */
} end_line;

static end_line line_at_end(const places *good, bool last)
{
    double work[MOST_SLOPES];
    double outer = good->u[last ? good->count - 1 : 0];
    size_t from = 0, to = good->count, n = 0;
    while (last && good->u[from] < outer - END_LINE_MM)
        from++;
    while (!last && good->u[to - 1] > outer + END_LINE_MM)
        to--;
    size_t step = (to - from) / MOST_LINE + 1, used = 0; /* leaves at most MOST_LINE places */
    for (size_t i = from; i < to; i += step)
        for (size_t j = i + ((to - from) / (2 * step) + 1) * step; j < to; j += step)
            if (good->u[j] > good->u[i])
                work[n++] = (good->proud[j] - good->proud[i]) / (good->u[j] - good->u[i]);
    double slope = n > 0 && to - from >= LEAST_LINE ? sw_median(work, n) : 0;
    for (size_t i = from; i < to; i += step)
        work[used++] = good->proud[i] - slope * (good->u[i] - outer);
    return (end_line){outer, sw_median(work, used), slope};
}

/* Mean place of the good places nearest to a sample. */
typedef struct bin {
    double u, proud;
    int count;
} bin;

static void fill_bins(const places *good, int reach, bin *bins)
{
    for (size_t i = 0; i < good->count; i++) {
        long k = lround(good->u[i] / SW_OUTLINE_PITCH_MM) + reach;
        if (k < 0 || k > 2 * reach)
            continue;
        bins[k].u += good->u[i];
        bins[k].proud += good->proud[i];
        bins[k].count++;
    }
    for (int k = 0; k <= 2 * reach; k++)
        if (bins[k].count) {
            bins[k].u /= bins[k].count;
            bins[k].proud /= bins[k].count;
        }
}

/* A sample between two bins that have places. */
static sw_outline_sample between(const bin *a, const bin *b, double u, bool here)
{
    double share = b->u > a->u ? (u - a->u) / (b->u - a->u) : 0;
    return (sw_outline_sample){a->proud + share * (b->proud - a->proud), here ? SW_OUTLINE_SEEN : SW_OUTLINE_BRIDGED};
}

static void fill_samples(const places *good, int reach, bin *bins, sw_outline_sample *samples)
{
    end_line ends[2] = {line_at_end(good, false), line_at_end(good, true)};
    fill_bins(good, reach, bins);
    for (int k = 0; k <= 2 * reach; k++) {
        double u = (k - reach) * SW_OUTLINE_PITCH_MM;
        int a = k, b = k;
        while (a >= 0 && (!bins[a].count || bins[a].u > u))
            a--;
        while (b <= 2 * reach && (!bins[b].count || bins[b].u < u))
            b++;
        samples[k] = (sw_outline_sample){NAN, SW_OUTLINE_UNKNOWN};
        if (a >= 0 && b <= 2 * reach) {
            if (bins[b].u - bins[a].u <= BRIDGE_MM)
                samples[k] = between(&bins[a], &bins[b], u, bins[k].count > 0);
            continue;
        }
        const end_line *e = &ends[a >= 0];
        if (fabs(u - e->u) <= END_REACH_MM)
            samples[k] =
                (sw_outline_sample){e->proud + e->slope * (u - e->u), bins[k].count ? SW_OUTLINE_SEEN : SW_OUTLINE_END};
    }
}

/* Room for an outline's samples, nothing known; false when memory is out. */
static bool blank(double half_mm, sw_outline *outline)
{
    outline->half_mm = half_mm;
    outline->reach = (int)lround(half_mm / SW_OUTLINE_PITCH_MM);
    size_t each = 2 * (size_t)outline->reach + 1;
    sw_outline_sample *samples = calloc(4 * each, sizeof *samples);
    if (!samples)
        return false;
    for (size_t k = 0; k < 4 * each; k++)
        samples[k].proud_mm = NAN;
    for (int s = 0; s < 4; s++)
        outline->samples[s] = samples + (size_t)s * each;
    return true;
}

/* Sides, mm, of which an outline is made (tiles are 60 to 1000 mm a side; SW_OUTLINE_MOST holds 5 m). */
static bool measured(const sw_tile *tile)
{
    return isfinite(tile->side_mm + tile->turn_rad + tile->centre_mm.x + tile->centre_mm.y) && tile->side_mm >= 10 &&
           tile->side_mm <= 5000;
}

sw_status sw_outline_make(const sw_tile *tile, sw_outline *outline, sw_error *err)
{
    size_t most = 1;
    memset(outline, 0, sizeof *outline);
    outline->half_mm = NAN;
    if (!measured(tile))
        return SW_OK;
    for (int s = 0; s < 4; s++)
        most = tile->edges[s].point_count > most ? tile->edges[s].point_count : most;
    places good = {calloc(most, sizeof(double)), calloc(most, sizeof(double)), 0};
    bool room = blank(tile->side_mm / 2, outline) && good.u && good.proud;
    bin *bins = room ? calloc(2 * (size_t)outline->reach + 1, sizeof *bins) : NULL;
    for (int s = 0; s < 4 && bins; s++) {
        gather(tile, (sw_side)s, &good);
        memset(bins, 0, (2 * (size_t)outline->reach + 1) * sizeof *bins);
        if (good.count)
            fill_samples(&good, outline->reach, bins, outline->samples[s]);
    }
    room = bins;
    free(good.u);
    free(good.proud);
    free(bins);
    if (room)
        return SW_OK;
    sw_outline_free(outline);
    return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
}

/* The surest samples of several outlines at one place, put together. */
static sw_outline_sample mean_sample(const sw_outline *outlines, const int *turns, size_t count, int side, double u)
{
    sw_outline_sample mean = {NAN, SW_OUTLINE_UNKNOWN};
    double sum = 0;
    int used = 0;
    for (size_t i = 0; i < count; i++) {
        sw_outline_known known;
        double proud = sw_outline_at(&outlines[i], (sw_side)((side + (turns ? turns[i] : 0)) & 3), u, &known);
        if (known == SW_OUTLINE_UNKNOWN || known < mean.known)
            continue;
        if (known > mean.known)
            sum = used = 0;
        sum += proud;
        used++;
        mean = (sw_outline_sample){sum / used, known};
    }
    return mean;
}

sw_status sw_outline_mean(const sw_outline *outlines, const int *turns, size_t count, sw_outline *mean, sw_error *err)
{
    double half = 0;
    int used = 0;
    memset(mean, 0, sizeof *mean);
    mean->half_mm = NAN;
    for (size_t i = 0; i < count; i++)
        if (isfinite(outlines[i].half_mm)) {
            half += outlines[i].half_mm;
            used++;
        }
    if (!used)
        return SW_OK;
    if (!blank(half / used, mean)) {
        memset(mean, 0, sizeof *mean);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    }
    for (int s = 0; s < 4; s++)
        for (int k = 0; k <= 2 * mean->reach; k++)
            mean->samples[s][k] = mean_sample(outlines, turns, count, s, (k - mean->reach) * SW_OUTLINE_PITCH_MM);
    return SW_OK;
}

double sw_outline_at(const sw_outline *outline, sw_side side, double u_mm, sw_outline_known *known)
{
    sw_outline_known none;
    known = known ? known : &none;
    *known = SW_OUTLINE_UNKNOWN;
    const sw_outline_sample *samples = outline->samples[side];
    double k = u_mm / SW_OUTLINE_PITCH_MM + outline->reach,
           past = fmax(-k, k - 2 * outline->reach) * SW_OUTLINE_PITCH_MM;
    if (!samples || !(past <= PAST_MM) || outline->reach < 1)
        return NAN;
    int a = (int)fmin(fmax(floor(k), 0), 2 * outline->reach - 1);
    double share = k - a;
    if (fabs(share) < 1e-9 || fabs(share - 1) < 1e-9) { /* on a sample: its neighbour need not be known */
        const sw_outline_sample *on = &samples[a + (share > 0.5)];
        *known = on->known;
        return on->proud_mm;
    }
    sw_outline_known less = samples[a].known < samples[a + 1].known ? samples[a].known : samples[a + 1].known;
    if (less == SW_OUTLINE_UNKNOWN)
        return NAN;
    *known = past > 0 ? SW_OUTLINE_END : less;
    return samples[a].proud_mm + share * (samples[a + 1].proud_mm - samples[a].proud_mm);
}

double sw_outline_seen(const sw_outline *outline, sw_side side)
{
    int seen = 0, all = 2 * outline->reach + 1;
    for (int k = 0; outline->samples[side] && k < all; k++)
        seen += outline->samples[side][k].known == SW_OUTLINE_SEEN;
    return (double)seen / all;
}
