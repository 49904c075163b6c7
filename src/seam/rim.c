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
/* Against a floor lighter than this, in units of the top's light, a rim hardly shows. */
static const double FLOOR_MOST = 0.45;
/* Logarithm of odds beyond which a radius is ruled out. */
static const double TELLS = 3;
/* Radii that are tried, mm, and at how many stations of a rim. What they tell is discounted, and a sample's noise no less, as for
 * slots (slot.c, read.c). */
enum { RADII = 9, TELLERS = 14 };
static const double RADIUS_STEP_MM = 0.15, DISCOUNT = 5, NOISE_LEAST = 0.015;
/* A fit that moves by less than this, px, has settled. */
static const double SETTLED_PX = 0.003;

typedef struct step_fit {
    double at, floor, slope, variance, rms;
    double cost; /* of the residuals, as half of a logarithm of odds */
} step_fit;

/* A rounded rim's bins of brightness, from the top on: levels in units of the top's, and how far before the side face each
 * begins, px. No bins: a sharp rim. */
typedef struct rim_shape {
    int bins;
    double level[SW_SHOULDER_BINS], begins_px[SW_SHOULDER_BINS];
} rim_shape;

/* The shoulder's brightness at x, and what it changes as the side face moves on. */
static double shoulder_at(const sw_edge_table *table, const rim_shape *shape, double top, double x, double *by_place)
{
    double value = top, level = 1;
    *by_place = 0;
    for (int k = 0; k < shape->bins; k++) {
        float slope;
        double rise = top * (shape->level[k] - level);
        value += rise * sw_edge_at(table, (float)(x + shape->begins_px[k]), &slope);
        *by_place -= rise * slope;
        level = shape->level[k];
    }
    return value;
}

/* Fits place, floor level and floor slope by Gauss-Newton; x grows from the tile to the floor, the top's level is
 * given. */
static sw_status fit_step(const sw_edge_table *table, const rim_shape *shape, const double *x, const double *v, int n,
                          double top, double noise, step_fit *f)
{
    const double last = shape->bins ? top * shape->level[shape->bins - 1] : top;
    for (int round = 0; round < ROUNDS; round++) {
        double a[3][4] = {{0}}, squares = 0, weight = 0, all = 1;
        for (int i = 0; i < n; i++) {
            float slope;
            double e = sw_edge_at(table, (float)(x[i] - f->at), &slope), by_place;
            double before = shoulder_at(table, shape, top, x[i] - f->at, &by_place);
            double behind = fmax(0, x[i] - f->at), drop = f->floor + f->slope * behind - last;
            double r = v[i] - before - drop * e, rs = r / (OUTLIER * noise), w = 1 / (1 + rs * rs);
            double d[3] = {by_place - drop * slope, e, e * behind};
            for (int p = 0; p < 3; p++) {
                for (int q = 0; q < 3; q++)
                    a[p][q] += w * d[p] * d[q];
                a[p][3] += w * d[p] * r;
            }
            squares += w * r * r;
            weight += w;
            all *= w; /* a logarithm each would be slow */
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
        f->cost = -OUTLIER * OUTLIER * log(fmax(all, 1e-300)) / 2;
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

/* What stays the same from station to station. */
typedef struct rim_reader {
    const sw_photo *photo;
    sw_trace *trace;
    sw_soften soften;
    sw_edge_table table;
    double spacing;
    int way; /* from the tile to the floor */
} rim_reader;

static void start_reader(const sw_photo *photo, const sw_scale *scale, sw_trace *t, rim_reader *r)
{
    r->photo = photo;
    r->trace = t;
    r->spacing = t->count > 1 ? (t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) : 1;
    r->way = t->kind == SW_TRACE_LOW_TILE ? 1 : -1;
    r->soften = sw_soften_make(scale->sharpen, scale->sharpen_radius_px / t->stretch);
    sw_edge_table_make(scale->blur_px, scale->halo, t->stretch, &r->table);
}

/* A station's samples, the top's level and their noise. */
typedef struct rim_samples {
    double x[SAMPLES], v[SAMPLES], top, noise;
} rim_samples;

static bool take_samples(const rim_reader *r, const sw_trace_place *p, rim_samples *s)
{
    double tops[TILE_SIDE];
    const size_t count = TILE_SIDE - 4;
    if (!read_station(r->photo, &r->soften, r->trace, p, r->spacing, TILE_SIDE, SAMPLES, s->x, s->v))
        return false;
    memcpy(tops, s->v, count * sizeof *tops);
    s->top = sw_median(tops, count);
    memcpy(tops, s->v, count * sizeof *tops);
    s->noise = fmax(0.003, sw_mad_sigma(tops, count, s->top));
    return true;
}

/* Fits a station's place, and notes it; not seen where there is nothing to be fitted. */
static void settle_place(const rim_reader *r, const rim_shape *shape, const rim_samples *s, double start,
                         sw_trace_place *p)
{
    step_fit f = {.at = start, .floor = s->v[SAMPLES - 3]};
    if (fit_step(&r->table, shape, s->x, s->v, SAMPLES, s->top, s->noise, &f) ||
        fabs(f.floor - s->top) < LEAST_STEP * s->top || fabs(f.at) > 6) {
        p->seen = false;
        return;
    }
    p->low = r->way > 0 ? s->top : f.floor;
    p->high = r->way > 0 ? f.floor : s->top;
    p->rms = f.rms;
    *(r->way > 0 ? &p->rim_low_px : &p->rim_high_px) = p->path_px + r->way * f.at;
    *(r->way > 0 ? &p->sd_low_px : &p->sd_high_px) = sqrt(f.variance);
}

sw_status sw_trace_read_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *t, sw_error *err)
{
    const rim_shape sharp = {0};
    rim_reader r;
    double *place = malloc((size_t)t->count * 2 * sizeof *place);
    if (!place)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    start_reader(photo, scale, t, &r);
    read_roughly(photo, &r.soften, t, r.spacing, place, place + t->count);
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        rim_samples s;
        if (!p->seen)
            continue;
        p->path_px += r.way * place[i];
        if (take_samples(&r, p, &s))
            settle_place(&r, &sharp, &s, 0, p);
        else
            p->seen = false;
    }
    free(place);
    return SW_OK;
}

/* The shape of a rim of such a radius, lit like that; floor: its light, in units of the top's. */
static rim_shape shape_of(const sw_trace *t, const sw_shoulder_light *light, double floor, double radius_mm)
{
    rim_shape shape = {.bins = radius_mm > 0 ? SW_SHOULDER_BINS : 0};
    for (int k = 0; k < shape.bins; k++) {
        double tilt = sw_shoulder_tilt(k + 0.5), bounced;
        shape.level[k] = sw_shoulder_lit(light, k, 0, -1, &bounced) + floor * (1 - cos(tilt)) / 2;
        shape.begins_px[k] = sw_shoulder_begins(k, fabs(t->tangent), false) * radius_mm * t->px_per_mm;
    }
    return shape;
}

/* Where the rim lies that was found before, from the path on, and the floor's light there, in units of the top's. */
static double place_before(const rim_reader *r, const sw_trace_place *p, double *floor)
{
    *floor = r->way > 0 ? p->high / p->low : p->low / p->high;
    return r->way * ((r->way > 0 ? p->rim_low_px : p->rim_high_px) - p->path_px);
}

/* Where a curve on the grid of radii, from its least at `best` on, has risen by `rise` in a direction, in steps; -1: nowhere. */
static double risen(const double *cost, int best, int way, double rise)
{
    for (int k = best + way; k >= 0 && k < RADII; k += way)
        if (cost[k] - cost[best] >= rise) {
            double before = cost[k - way] - cost[best], after = cost[k] - cost[best];
            return k - way + way * (rise - before) / (after - before);
        }
    return -1;
}

/* A radius from what each of the grid costs. Where no radius costs much more than the best, the rim's light happens to hide its
 * rounding. */
static sw_radius least_of(const double *cost)
{
    int best = 0;
    for (int k = 1; k < RADII; k++)
        if (cost[k] < cost[best])
            best = k;
    double high = risen(cost, best, 1, TELLS), low = fmax(0, risen(cost, best, -1, TELLS));
    if (high < 0)
        return (sw_radius){0, 0};
    /* the curve is a parabola where it is narrow: half of it is as many standard deviations as make TELLS */
    return (sw_radius){RADIUS_STEP_MM * (low + high) / 2, RADIUS_STEP_MM * (high - low) / 2 / sqrt(2 * TELLS)};
}

sw_radius sw_trace_rim_radius(const sw_photo *photo, const sw_scale *scale, sw_trace *t, const sw_shoulder_light *light,
                              sw_rim_odds *odds)
{
    double cost[RADII] = {0}, used = 0, told = 0;
    rim_reader r;
    start_reader(photo, scale, t, &r);
    *odds = (sw_rim_odds){0, 0};
    for (int i = 0; i < t->count; i++)
        used += t->places[i].seen;
    int every = (int)ceil(fmax(1, used / TELLERS));
    for (int i = every / 2; i < t->count; i += every) {
        rim_samples s;
        double floor, start, one[RADII];
        if (!t->places[i].seen || !take_samples(&r, &t->places[i], &s))
            continue;
        s.noise = fmax(s.noise, NOISE_LEAST * s.top);
        start = place_before(&r, &t->places[i], &floor);
        bool good = floor < FLOOR_MOST;
        step_fit f = {.at = start, .floor = s.v[SAMPLES - 3]};
        for (int k = 0; k < RADII && good; k++) { /* each from where the last one ended */
            rim_shape shape = shape_of(t, light, floor, k * RADIUS_STEP_MM);
            good = !fit_step(&r.table, &shape, s.x, s.v, SAMPLES, s.top, s.noise, &f);
            one[k] = f.cost;
        }
        for (int k = 0; k < RADII && good; k++)
            cost[k] += one[k];
        told += good;
    }
    if (told < TELLERS / 4)
        return (sw_radius){0, 0};
    for (int k = 0; k < RADII; k++)
        cost[k] *= used / told / (DISCOUNT * DISCOUNT);
    odds->left = cost[0];
    for (int k = 1; k < RADII; k++)
        odds->left = fmin(odds->left, cost[k]);
    odds->gain = cost[0] - odds->left;
    return least_of(cost);
}

void sw_trace_round_rim(const sw_photo *photo, const sw_scale *scale, sw_trace *t, const sw_shoulder_light *light,
                        double radius_mm)
{
    rim_reader r;
    start_reader(photo, scale, t, &r);
    for (int i = 0; i < t->count; i++) {
        rim_samples s;
        double floor;
        if (!t->places[i].seen || !take_samples(&r, &t->places[i], &s))
            continue;
        double start = place_before(&r, &t->places[i], &floor);
        rim_shape shape = shape_of(t, light, floor, radius_mm);
        settle_place(&r, &shape, &s, start, &t->places[i]);
    }
}
