#include "seam/rim.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/running.h"
#include "maths/stats.h"
#include "photo/crossing.h"
#include "scale/plane.h"
#include "seam/edge_table.h"

/* Samples on the tile's side and on the other side of the rim, px: the floor may change quickly behind the rim (shadow,
 * side face), so little of it is used. */
enum { TILE_SIDE = 12, FLOOR_SIDE = 7, SAMPLES = TILE_SIDE + FLOOR_SIDE + 1, ROUNDS = 6, ROWS_MOST = 4 };
/* Residuals beyond this many noise deviations count as outliers (Cauchy). */
static const double OUTLIER = 4;
/* The floor's slope behind the rim, share of the top's light a pixel: prior standard deviation. */
static const double FLOOR_SLOPE_SD = 0.02;
/* A step below this share of the top's light cannot be told from texture. */
static const double LEAST_STEP = 0.06;

/* How far beside the followed path the step may lie, mm: chips; farther off runs the edge of the table's shadow. */
static const double START_REACH_MM = 2.5;
/* A fit that moves by less than this, px, has settled. */
static const double SETTLED_PX = 0.003;

typedef struct step_fit {
    double at, floor, slope, variance, rms;
} step_fit;

/* Fits place, floor level and floor slope by Gauss-Newton; x grows from the tile to the floor, the top's level is
 * given. */
static sw_status fit_step(const sw_edge_table *table, const double *x, const double *v, int n, double top, double noise,
                          step_fit *f)
{
    for (int round = 0; round < ROUNDS; round++) {
        double a[3][4] = {{0}}, squares = 0, weight = 0;
        for (int i = 0; i < n; i++) {
            float slope;
            double e = sw_edge_at(table, (float)(x[i] - f->at), &slope);
            double behind = fmax(0, x[i] - f->at), drop = f->floor + f->slope * behind - top;
            double r = v[i] - top - drop * e, rs = r / (OUTLIER * noise), w = 1 / (1 + rs * rs);
            double d[3] = {-drop * slope, e, e * behind};
            for (int p = 0; p < 3; p++) {
                for (int q = 0; q < 3; q++)
                    a[p][q] += w * d[p] * d[q];
                a[p][3] += w * d[p] * r;
            }
            squares += w * r * r;
            weight += w;
        }
        double slope_sd = FLOOR_SLOPE_SD * top, prior = noise * noise / (slope_sd * slope_sd);
        a[2][2] += prior;
        a[2][3] -= prior * f->slope;
        a[0][0] += noise * noise / 9; /* three pixels: keeps a step that is not there from running away */
        const double m[3][3] = {{a[0][0], a[0][1], a[0][2]}, {a[1][0], a[1][1], a[1][2]}, {a[2][0], a[2][1], a[2][2]}};
        double inverse[3][3], step[3];
        if (sw_invert3(m, inverse))
            return SW_NOT_FOUND;
        for (int p = 0; p < 3; p++)
            step[p] = inverse[p][0] * a[0][3] + inverse[p][1] * a[1][3] + inverse[p][2] * a[2][3];
        f->at += fmax(-1, fmin(1, step[0]));
        f->floor += step[1];
        f->slope += step[2];
        f->variance = noise * noise * inverse[0][0];
        f->rms = sqrt(squares / fmax(1, weight));
        if (round > 0 && fabs(step[0]) < SETTLED_PX)
            break;
    }
    return isfinite(f->at) ? SW_OK : SW_NOT_FOUND;
}

/* Mean of the station's pixel lines about its path, from `start` samples before it, in the direction tile -> floor. */
static bool read_station(const sw_photo *photo, const sw_soften *soften, const sw_trace *t, const sw_trace_place *p,
                         double spacing, int before, int n, double *x, double *v)
{
    int way = t->kind == SW_TRACE_LOW_TILE ? 1 : -1, rows = 0;
    double one[2 * SAMPLES + 64];
    int first = (int)ceil(p->line - spacing / 2), last = (int)floor(p->line + spacing / 2 - 1e-9);
    if (last < first)
        first = last = (int)lround(p->line);
    int every = (last - first) / ROWS_MOST + 1;
    memset(v, 0, (size_t)n * sizeof *v);
    double shift = 0;
    for (int row = first; row <= last; row += every) {
        double path = p->path_px + t->slope * (row - p->line);
        int middle = (int)lround(path), start = way > 0 ? middle - before : middle - (n - 1 - before);
        if (sw_crossing_read(photo, soften, t->along_row, row, start, n, one))
            return false;
        for (int i = 0; i < n; i++)
            v[i] += one[way > 0 ? i : n - 1 - i];
        shift += way * (middle - path);
        rows++;
    }
    for (int i = 0; i < n; i++) {
        v[i] /= rows;
        x[i] = i - before + shift / rows;
    }
    return true;
}

/* Half-way crossing near the path, as a start: the strongest step within reach. */
static double start_place(const double *x, const double *v, int n)
{
    int best = 3;
    double most = -1;
    for (int i = 3; i < n - 3; i++) {
        double step = fabs(v[i + 1] + v[i + 2] - v[i - 1] - v[i - 2]);
        if (step > most) {
            most = step;
            best = i;
        }
    }
    return x[best];
}

/* The step's place at every station, from the path on; work holds as many numbers. */
static void read_roughly(const sw_photo *photo, const sw_soften *soften, sw_trace *t, double spacing, double *place,
                         double *work)
{
    enum { WIDE = 16, ALL = 2 * WIDE + 1, NEIGHBOURS = 4 };
    double x[ALL], v[ALL];
    int wide = (int)fmin(WIDE, ceil(START_REACH_MM * t->px_per_mm) + 4), all = 2 * wide + 1;
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        if (!p->seen)
            continue;
        if (!read_station(photo, soften, t, p, spacing, wide, all, x, v)) {
            p->seen = false;
            continue;
        }
        place[i] = start_place(x, v, all);
    }
    for (int i = 0; i < t->count; i++)
        work[i] = t->places[i].seen ? place[i] : NAN;
    sw_running_median(work, t->count, NEIGHBOURS, 1, 1, place);
}

sw_status sw_trace_read_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *t, sw_error *err)
{
    double spacing = t->count > 1 ? (t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) : 1;
    int way = t->kind == SW_TRACE_LOW_TILE ? 1 : -1;
    sw_soften soften = sw_soften_make(scale->sharpen, scale->sharpen_radius_px / t->stretch);
    sw_edge_table table;
    double *place = malloc((size_t)t->count * 2 * sizeof *place);
    if (!place)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    sw_edge_table_make(scale->blur_px, scale->halo, t->stretch, &table);
    read_roughly(photo, &soften, t, spacing, place, place + t->count);
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        double x[SAMPLES], v[SAMPLES], tops[TILE_SIDE];
        if (!p->seen)
            continue;
        p->path_px += way * place[i];
        if (!read_station(photo, &soften, t, p, spacing, TILE_SIDE, SAMPLES, x, v)) {
            p->seen = false;
            continue;
        }
        int tops_count = TILE_SIDE - 4;
        memcpy(tops, v, (size_t)tops_count * sizeof *tops);
        double top = sw_median(tops, (size_t)tops_count);
        memcpy(tops, v, (size_t)tops_count * sizeof *tops);
        double noise = fmax(0.003, sw_mad_sigma(tops, (size_t)tops_count, top));
        step_fit f = {.at = 0, .floor = v[SAMPLES - 3]};
        if (fit_step(&table, x, v, SAMPLES, top, noise, &f) || fabs(f.floor - top) < LEAST_STEP * top ||
            fabs(f.at) > 6) {
            p->seen = false;
            continue;
        }
        double rim = p->path_px + way * f.at;
        p->low = way > 0 ? top : f.floor;
        p->high = way > 0 ? f.floor : top;
        p->rms = f.rms;
        *(way > 0 ? &p->rim_low_px : &p->rim_high_px) = rim;
        *(way > 0 ? &p->sd_low_px : &p->sd_high_px) = sqrt(f.variance);
    }
    free(place);
    return SW_OK;
}
