#include "seam/straight.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/line.h"
#include "maths/lsq.h"
#include "maths/stats.h"
#include "scale/frame.h"
#include "scale/lens.h"
#include "scale/plane.h"

enum { KNOTS = 9, DEGREES = 2, ROUNDS = 4 };
/* Spread of single edges' bow and S, mm, when the table itself tells too little: what hand-cut edges show (practice photos). */
static const double BOW_MM = 0.2, S_SHARE = 0.5;
static const double BOW_LEAST_MM = 0.06, BOW_MOST_MM = 1;
/* Spread of hand-cut tiles: corner angles, radians, and sides against the tiles' mean, share. Generous: they only have to hold what the
 * squares leave open. */
static const double ANGLE_RAD = 0.005, SIDE_SHARE = 0.004;
/* Stations on either side of a knot whose median stands for it. */
enum { KNOT_STATIONS = 10 };
/* Share of a standard deviation by which derivatives are probed. */
static const double PROBE = 0.1;

/* What of a trace is taken for a line. */
enum { LOW_RIM, HIGH_RIM, MIDDLE };

typedef struct line {
    sw_point px[KNOTS];
    double spread; /* of its bow, relative to a single edge's */
} line;

/* One tile: its four rims (north, east, south, west), as lines. */
typedef struct four_rims {
    line rims[4];
    double
        rise_share; /* of its top over the mm frame's plane, over the camera's height: so much larger it looks there */
} four_rims;

typedef struct problem {
    line *lines;
    int count;
    double bow_mm;
    four_rims *tiles;
    int tile_count;
} problem;

static double legendre(int degree, double x)
{
    return degree == 2 ? 1.5 * x * x - 0.5 : 2.5 * x * x * x - 1.5 * x;
}

/* Parts of degree 2 and 3 of y over KNOTS even places, offset and slope taken out: amplitude of the polynomial. */
static void parts_of(const double *y, double out[DEGREES])
{
    for (int d = 0; d < DEGREES; d++) {
        double sum = 0, norm = 0, basis[KNOTS], mean = 0, slope = 0, xx = 0;
        for (int k = 0; k < KNOTS; k++) {
            double x = 2.0 * k / (KNOTS - 1) - 1;
            basis[k] = legendre(d + 2, x);
            mean += basis[k] / KNOTS;
            slope += basis[k] * x;
            xx += x * x;
        }
        for (int k = 0; k < KNOTS; k++) {
            double x = 2.0 * k / (KNOTS - 1) - 1, b = basis[k] - mean - slope / xx * x;
            sum += b * y[k];
            norm += b * b;
        }
        out[d] = sum / norm;
    }
}

static void bend_of(const sw_scale *scale, const line *l, double out[DEGREES])
{
    sw_point mm[KNOTS];
    double y[KNOTS];
    for (int k = 0; k < KNOTS; k++)
        mm[k] = sw_scale_to_mm(scale, l->px[k]);
    double dx = mm[KNOTS - 1].x - mm[0].x, dy = mm[KNOTS - 1].y - mm[0].y, length = hypot(dx, dy);
    for (int k = 0; k < KNOTS; k++)
        y[k] = ((mm[k].y - mm[0].y) * dx - (mm[k].x - mm[0].x) * dy) / length;
    parts_of(y, out);
}

/* Median over the stations round a knot of a rim, or of the middle of two; NaN where too few were read. */
static double knot_place(const sw_trace *t, int at, int which)
{
    double v[2 * KNOT_STATIONS + 1];
    size_t n = 0;
    for (int i = at - KNOT_STATIONS; i <= at + KNOT_STATIONS; i++) {
        if (i < 0 || i >= t->count || !t->places[i].seen)
            continue;
        const sw_trace_place *p = &t->places[i];
        double place = which == LOW_RIM    ? p->rim_low_px
                       : which == HIGH_RIM ? p->rim_high_px
                                           : (p->rim_low_px + p->rim_high_px) / 2;
        if (isfinite(place))
            v[n++] = place - t->slope * (p->line - t->places[at].line);
    }
    return n > KNOT_STATIONS ? sw_median(v, n) : NAN;
}

/* Straight line through the knots, in mm. */
static sw_status rim_line(const sw_scale *scale, const line *l, sw_line *out)
{
    sw_point mm[KNOTS];
    for (int k = 0; k < KNOTS; k++)
        mm[k] = sw_scale_to_mm(scale, l->px[k]);
    return sw_line_fit(mm, NULL, KNOTS, out, NULL);
}

/* Eight figures a tile: four angles off the square (radians), four sides (mm). */
enum { TILE_FIGURES = 8 };
static sw_status tile_figures(const sw_scale *scale, const four_rims *tile, double *out)
{
    sw_line lines[4];
    sw_point corner[4];
    for (int s = 0; s < 4; s++)
        if (rim_line(scale, &tile->rims[s], &lines[s]))
            return SW_NOT_FOUND;
    for (int c = 0; c < 4; c++)
        if (sw_line_cross(&lines[(c + 3) % 4], &lines[c], &corner[c]))
            return SW_NOT_FOUND;
    for (int c = 0; c < 4; c++) {
        double cosine = lines[(c + 3) % 4].nx * lines[c].nx + lines[(c + 3) % 4].ny * lines[c].ny;
        double cross = lines[(c + 3) % 4].nx * lines[c].ny - lines[(c + 3) % 4].ny * lines[c].nx;
        out[c] = atan2(cosine, fabs(cross)) * (cross < 0 ? -1 : 1);
        out[4 + c] =
            (1 - tile->rise_share) * hypot(corner[(c + 1) % 4].x - corner[c].x, corner[(c + 1) % 4].y - corner[c].y);
    }
    return SW_OK;
}

/* All tiles' figures; the sides as shares of their mean. */
static void all_figures(const sw_scale *scale, const problem *p, double *out)
{
    double sum = 0;
    for (int t = 0; t < p->tile_count; t++) {
        if (tile_figures(scale, &p->tiles[t], out + t * TILE_FIGURES))
            memset(out + t * TILE_FIGURES, 0, TILE_FIGURES * sizeof *out);
        for (int k = 4; k < TILE_FIGURES; k++)
            sum += out[t * TILE_FIGURES + k] / (4 * p->tile_count);
    }
    for (int t = 0; t < p->tile_count; t++)
        for (int k = 0; k < TILE_FIGURES; k++) {
            double *v = &out[t * TILE_FIGURES + k];
            *v = k < 4 ? *v / ANGLE_RAD : (*v / sum - 1) / SIDE_SHARE;
        }
}

/* Knots that were not read are put in line with their neighbours only if few. */
static bool lay_line(const sw_trace *t, int which, double spread, line *l)
{
    for (int k = 0; k < KNOTS; k++) {
        double margin = 0.04;
        int at = (int)lround((margin + (1 - 2 * margin) * k / (KNOTS - 1)) * (t->count - 1));
        double place = knot_place(t, at, which);
        if (isnan(place))
            return false;
        l->px[k] = sw_trace_pixel(t, &t->places[at], place);
    }
    l->spread = spread;
    return true;
}

static bool add_line(problem *p, const sw_trace *t, int which, double spread)
{
    bool laid = lay_line(t, which, spread, &p->lines[p->count]);
    p->count += laid;
    return laid;
}

static void add_tiles(problem *p, const sw_traces *ts, const sw_grid *grid, const sw_scale *scale)
{
    double camera[3];
    bool known = !sw_camera_place(scale, camera);
    for (int c = 0; p->tiles && c < ts->columns; c++)
        for (int r = 0; r < ts->rows; r++) {
            const sw_trace *sides[4] = {&ts->level[c * (ts->rows + 1) + r], &ts->upright[(c + 1) * ts->rows + r],
                                        &ts->level[c * (ts->rows + 1) + r + 1], &ts->upright[c * ts->rows + r]};
            int laid = 0;
            p->tiles[p->tile_count].rise_share = known ? grid->tops.top[c][r].rise_mm / camera[2] : 0;
            for (int s = 0; s < 4; s++) {
                bool second =
                    s == SW_NORTH || s == SW_WEST; /* the tile lies on the far side of its north and west lines */
                laid += lay_line(sides[s], second != sides[s]->reversed, 1, &p->tiles[p->tile_count].rims[s]);
            }
            p->tile_count += laid == 4;
        }
}

/* Bow of single edges: the gap's own bow is the sum of two, and no lens makes it. */
static double gap_bow(const sw_traces *traces, const sw_scale *scale)
{
    double squares = 0, n = 0;
    line lines[2];
    problem two = {.lines = lines};
    for (int k = 0; k < traces->count; k++) {
        const sw_trace *t = &traces->upright[k];
        double low[DEGREES], high[DEGREES];
        two.count = 0;
        if (t->kind != SW_TRACE_SEAM || !add_line(&two, t, LOW_RIM, 1) || !add_line(&two, t, HIGH_RIM, 1))
            continue;
        bend_of(scale, &lines[0], low);
        bend_of(scale, &lines[1], high);
        squares += (low[0] - high[0]) * (low[0] - high[0]) / 2;
        n++;
    }
    double prior = 3; /* as if three seams had shown the usual bow */
    return fmin(BOW_MOST_MM, fmax(BOW_LEAST_MM, sqrt((squares + prior * BOW_MM * BOW_MM) / (n + prior))));
}

/* this = base + sum z_i (alternative_i - base), element by element. */
static void combine(const sw_scale *base, const double *z, sw_scale_alternative *out)
{
    double here[SW_LENS_NUMBERS];
    *out = (sw_scale_alternative){.edge_spread_change_px = 0};
    sw_lens_numbers(&base->lens, here);
    memcpy(out->lens, here, sizeof here);
    memcpy(out->to_plane, base->to_plane, sizeof out->to_plane);
    for (int i = 0; i < base->alternative_count; i++) {
        const sw_scale_alternative *a = &base->alternatives[i];
        for (int k = 0; k < SW_LENS_NUMBERS; k++)
            out->lens[k] += z[i] * (a->lens[k] - here[k]);
        for (int k = 0; k < 9; k++)
            out->to_plane[k / 3][k % 3] += z[i] * (a->to_plane[k / 3][k % 3] - base->to_plane[k / 3][k % 3]);
    }
    sw_invert3(out->to_plane, out->to_mm);
}

/* The base scale moved by z. */
static void moved_scale(const sw_scale *base, const double *z, sw_scale *out)
{
    sw_scale_alternative now;
    combine(base, z, &now);
    sw_scale holder = *base;
    holder.alternatives[0] = now;
    sw_scale_take_alternative(&holder, 0, out);
    memcpy(out->alternatives, base->alternatives, sizeof out->alternatives);
}

/* Normal matrix I + J'J and right side -J'r - z at z; others holds a scale for every direction. */
static void build(const problem *p, const sw_scale *base, const double *z, sw_scale *others, double *a, double *b)
{
    enum { N = SW_SCALE_ALTERNATIVES };
    int n = base->alternative_count;
    double spread[DEGREES] = {p->bow_mm, p->bow_mm * S_SHARE}, step[N];
    sw_scale here;
    moved_scale(base, z, &here);
    for (int i = 0; i < n; i++) {
        memcpy(step, z, sizeof step);
        step[i] += PROBE;
        moved_scale(base, step, &others[i]);
        b[i] = -z[i];
        for (int j = 0; j < n; j++)
            a[i * n + j] = i == j;
    }
    for (int k = 0; k < p->count; k++) {
        double now[DEGREES], by[N][DEGREES];
        bend_of(&here, &p->lines[k], now);
        for (int i = 0; i < n; i++)
            bend_of(&others[i], &p->lines[k], by[i]);
        for (int d = 0; d < DEGREES; d++) {
            double w = 1 / (spread[d] * p->lines[k].spread);
            for (int i = 0; i < n; i++) {
                b[i] -= w * w * (by[i][d] - now[d]) / PROBE * now[d];
                for (int j = 0; j < n; j++)
                    a[i * n + j] += w * w * (by[i][d] - now[d]) * (by[j][d] - now[d]) / (PROBE * PROBE);
            }
        }
    }
}

/* Adds what the tiles' angles and sides say. */
static sw_status build_tiles(const problem *p, const sw_scale *base, const double *z, const sw_scale *others, double *a,
                             double *b)
{
    int n = base->alternative_count, figures = p->tile_count * TILE_FIGURES;
    double *now = malloc(((size_t)figures * (size_t)(n + 1) + 1) * sizeof *now);
    sw_scale here;
    if (!now)
        return SW_NO_MEMORY;
    double *by = now + figures;
    moved_scale(base, z, &here);
    all_figures(&here, p, now);
    for (int i = 0; i < n; i++)
        all_figures(&others[i], p, by + i * figures);
    for (int i = 0; i < n; i++)
        for (int k = 0; k < figures; k++) {
            double d = (by[i * figures + k] - now[k]) / PROBE;
            b[i] -= d * now[k];
            for (int j = 0; j < n; j++)
                a[i * n + j] += d * (by[j * figures + k] - now[k]) / PROBE;
        }
    free(now);
    return SW_OK;
}

/* Moves the scale to the best z (Gauss-Newton), and its alternatives to what uncertainty is left: z plus the columns of
 * chol((I + J'J)^-1). */
static sw_status move_scale(const problem *p, sw_scale *scale)
{
    enum { N = SW_SCALE_ALTERNATIVES };
    int n = scale->alternative_count;
    sw_status status = SW_BAD_INPUT;
    double a[N * N], b[N], z[N] = {0};
    const sw_scale base = *scale;
    sw_scale *others = malloc((size_t)n * sizeof *others);
    for (int round = 0; others && round < ROUNDS; round++) {
        build(p, &base, z, others, a, b);
        if (build_tiles(p, &base, z, others, a, b) || sw_cholesky_invert(a, (size_t)n))
            goto done;
        for (int i = 0; i < n; i++)
            for (int j = 0; j < n; j++)
                z[i] += a[i * n + j] * b[j];
    }
    if (!others)
        goto done;
    sw_covariance_root(a, (size_t)n);
    moved_scale(&base, z, scale);
    for (int j = 0; j < n; j++) {
        double both[N];
        for (int i = 0; i < n; i++)
            both[i] = z[i] + a[i * n + j];
        combine(&base, both, &scale->alternatives[j]);
        for (int i = 0; i < n; i++)
            scale->alternatives[j].edge_spread_change_px += a[i * n + j] * base.alternatives[i].edge_spread_change_px;
    }
    status = SW_OK;
done:
    free(others);
    return status;
}

static void carry(const sw_scale *from, const sw_scale *to, sw_point *mm)
{
    *mm = sw_scale_to_mm(to, sw_scale_to_px(from, *mm));
}

static void carry_grid(const sw_scale *from, const sw_scale *to, sw_grid *grid)
{
    for (int i = 0; i <= grid->columns; i++)
        for (int r = 0; r < grid->rows; r++) {
            carry(from, to, &grid->upright[i][r].from);
            carry(from, to, &grid->upright[i][r].to);
        }
    for (int i = 0; i < grid->columns; i++)
        for (int r = 0; r <= grid->rows; r++) {
            carry(from, to, &grid->level[i][r].from);
            carry(from, to, &grid->level[i][r].to);
        }
}

sw_status sw_straighten(const sw_traces *traces, sw_scale *scale, sw_grid *grid, sw_error *err)
{
    problem p = {.lines = calloc((size_t)traces->count + 1, sizeof *p.lines),
                 .tiles = calloc((size_t)traces->columns * (size_t)traces->rows, sizeof *p.tiles)};
    if (!p.lines || !p.tiles) {
        free(p.lines);
        free(p.tiles);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory for the lens");
    }
    for (int k = 0; k < traces->count; k++) {
        const sw_trace *t = &traces->upright[k];
        int which = t->kind == SW_TRACE_SEAM ? MIDDLE : t->kind == SW_TRACE_LOW_TILE ? LOW_RIM : HIGH_RIM;
        add_line(&p, t, which, which == MIDDLE ? M_SQRT1_2 : 1);
    }
    add_tiles(&p, traces, grid, scale);
    const sw_scale before = *scale;
    p.bow_mm = gap_bow(traces, scale);
    if (p.count > 3 && scale->alternative_count > 0 && move_scale(&p, scale))
        *scale = before;
    carry_grid(&before, scale, grid);
    free(p.lines);
    free(p.tiles);
    return SW_OK;
}
