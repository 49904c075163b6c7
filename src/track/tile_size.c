#include "track/tile_size.h"

#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"

/* Hand-cut tiles differ by a millimetre or two; one that is smaller than the usual one by this, mm, is not. */
static const double SMALLER_MM = 4;
/* Where a tile's other side does not show, a gap that is wider than the usual one by this, mm, is a strip of shade. */
static const double WIDER_MM = 6;

/* Mean place of a rim across its edge, x of an upright one, y of a level one; NaN where it was not seen. */
static double place_of(const sw_track *t, int rim, bool upright)
{
    double sum = 0, n = 0;
    for (int i = 0; i < t->count; i++) {
        const sw_track_point *p = &t->points[i];
        if (!p->seen || !isfinite(p->across[rim]))
            continue;
        sw_point mm = sw_track_mm(t, i, rim);
        sum += upright ? mm.x : mm.y;
        n++;
    }
    return n > 0 ? sum / n : NAN;
}

/* A tile's two sides that lie across from each other. */
typedef struct pair {
    sw_track *track[2];
    const sw_trace *trace[2];
    double size_mm;
} pair;

static double gap_of(const sw_track *t)
{
    double sum = 0, n = 0;
    for (int i = 0; i < t->count; i++)
        if (t->points[i].seen && t->has[0] && t->has[1] && isfinite(t->points[i].across[0] + t->points[i].across[1])) {
            sum += fabs(t->points[i].across[1] - t->points[i].across[0]);
            n++;
        }
    return n > 0 ? sum / n : 0;
}

static void drop(const sw_trace *trace, sw_track *t)
{
    for (int i = 0; trace->stepped && i < t->count; i++)
        t->points[i].seen = false;
}

/* Of a tile that is too small, the side with the wider gap beside a step is to blame. */
static void judge(pair *p, double usual_mm, double usual_gap_mm)
{
    int worse = gap_of(p->track[1]) > gap_of(p->track[0]);
    if (!p->trace[worse]->stepped)
        worse = !worse;
    if (p->size_mm < usual_mm - SMALLER_MM)
        drop(p->trace[worse], p->track[worse]);
    for (int k = 0; k < 2 && isnan(p->size_mm); k++)
        if (gap_of(p->track[k]) > usual_gap_mm + WIDER_MM)
            drop(p->trace[k], p->track[k]);
}

/* Median gap of all seams that were seen. */
static double usual_gap(const pair *pairs, size_t count, double *work)
{
    size_t n = 0;
    for (size_t k = 0; k < count; k++)
        if (gap_of(pairs[k].track[1]) > 0)
            work[n++] = gap_of(pairs[k].track[1]);
    return n ? sw_median(work, n) : 0;
}

sw_status sw_tile_sizes_judge(const sw_traces *traces, sw_tracks *tracks)
{
    const int columns = tracks->columns, rows = tracks->rows;
    size_t count = 0, known = 0;
    pair *pairs = calloc(2 * (size_t)columns * (size_t)rows, sizeof *pairs);
    double *sizes = calloc(2 * (size_t)columns * (size_t)rows, sizeof *sizes);
    if (!pairs || !sizes) {
        free(pairs);
        free(sizes);
        return SW_NO_MEMORY;
    }
    for (int c = 0; c < columns; c++)
        for (int r = 0; r < rows; r++)
            for (int upright = 0; upright < 2; upright++) {
                int from = upright ? c * rows + r : c * (rows + 1) + r, to = from + (upright ? rows : 1);
                sw_track *t = upright ? tracks->upright : tracks->level;
                const sw_trace *s = upright ? traces->upright : traces->level;
                pair *p = &pairs[count++];
                *p = (pair){{&t[from], &t[to]}, {&s[from], &s[to]}, 0};
                p->size_mm = fabs(place_of(&t[to], SW_FIRST, upright) - place_of(&t[from], SW_SECOND, upright));
                if (isfinite(p->size_mm))
                    sizes[known++] = p->size_mm;
            }
    double usual = known ? sw_median(sizes, known) : 0, gap = usual_gap(pairs, count, sizes);
    for (size_t k = 0; k < count; k++)
        judge(&pairs[k], usual, gap);
    free(pairs);
    free(sizes);
    return SW_OK;
}
