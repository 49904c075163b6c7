/* tick_fit.c - one stroke, row by row.
 *
 * Across the stroke a row is c0 + c1 x - A G(x - d): a level with a slope (light falls off), less a Gaussian as wide as
 * the blur and the stroke's own width together; x is counted from the line fitted so far, d is how far the stroke lies
 * off it. For small d that is linear in c0, c1, A and A d. The line is then fitted to the rows' places, and so on.
 */
#include "tick.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lsq.h"
#include "stats.h"

/* Looked at to either side of the stroke: mm, but no fewer than so many samples. */
static const double LOOK_MM = 2;
enum { LOOK_LEAST = 4, LOOK_MOST = 24, ROWS_MOST = 128, ROUNDS = 6, UNKNOWNS = 4 };
/* Widths that are tried, mm: pencil lines are 0.3 to 1.2 mm wide. What looks as wide as the last is no pencil line. */
static const double WIDTHS_MM[] = {0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.6};
enum { WIDTHS = sizeof WIDTHS_MM / sizeof *WIDTHS_MM };
/* A stroke begins no deeper than this (makers stop a few mm short of a worn rim) and then runs on for that long. */
static const double BEGIN_MOST_MM = 7, LENGTH_LEAST_MM = 3.5;
/* The line is fitted to so much of it: enough for its direction, little enough to be straight by hand. */
static const double FIT_MM = 9, FIT_LEAST_MM = 4;
/* The line is settled when it moves by less than this, mm. */
static const double SETTLED_MM = 0.002;
/* A row shows the stroke with this share of its usual darkness; so many of its rows do. */
static const double ROW_SHARE = 0.5, ROWS_SHOWN = 0.7;
/* Weakest stroke, share of the light: fainter ones cannot be told from a brushed or beaded top's own lines. */
static const double DARK_LEAST = 0.012;
/* Most that the level may change across the stroke's 2 mm, share of its darkness: beyond, it is a step with a dark
 * foot. */
static const double STEP_MOST = 1;
/* Texture goes on from row to row over about this length, mm (grain of foam and paper, 0.5 to 1.2 mm). */
static const double GRAIN_MM = 1.2;
/* Places beyond this many standard deviations count ever less (Huber). */
static const double HUBER = 1.5;
/* A bend is seen when the parabola's middle stands out by so many of its standard deviations. */
static const double BENT = 3.5;

typedef struct row_place {
    double depth, level, dark, slope, off, cost, weight;
    int good;
} row_place;

typedef struct fit {
    const sw_band *band;
    double at, slope, sigma_mm;
    double dark; /* median A of the stretch */
    row_place rows[ROWS_MOST];
    int from, to; /* rows of the stretch */
} fit;

/* The four numbers of one row by least squares. */
static void fit_row(const fit *f, int r, row_place *out)
{
    const sw_band *s = f->band;
    const float *v = s->light + (size_t)r * (size_t)s->columns;
    double depth = sw_band_depth(s, r), middle = f->at + f->slope * depth;
    int look = (int)fmin(LOOK_MOST, fmax(LOOK_LEAST, round(LOOK_MM / s->pitch_mm)));
    int centre = (int)lround((middle - s->first_mm) / s->pitch_mm);
    double a[UNKNOWNS * UNKNOWNS] = {0}, b[UNKNOWNS] = {0}, squares = 0;
    *out = (row_place){.depth = depth};
    if (centre - look < 0 || centre + look >= s->columns)
        return;
    /* the Gaussian at equal steps, each from the one before */
    const double step = s->pitch_mm / f->sigma_mm, z0 = (sw_band_along(s, centre - look) - middle) / f->sigma_mm;
    double g = exp(-z0 * z0 / 2), ratio = exp(-(z0 + step / 2) * step), decay = exp(-step * step);
    for (int c = centre - look; c <= centre + look; c++) {
        if (isnan(v[c]))
            return;
        double x = sw_band_along(s, c) - middle, z = x / f->sigma_mm;
        double by[UNKNOWNS] = {1, x, -g, -g * z / f->sigma_mm};
        g *= ratio;
        ratio *= decay;
        for (int i = 0; i < UNKNOWNS; i++) {
            for (int k = 0; k <= i; k++)
                a[i * UNKNOWNS + k] += by[i] * by[k];
            b[i] += by[i] * v[c];
        }
        squares += v[c] * v[c];
    }
    double side[UNKNOWNS];
    memcpy(side, b, sizeof side);
    if (sw_cholesky_solve(a, b, UNKNOWNS) || !(b[0] > 0))
        return;
    for (int i = 0; i < UNKNOWNS; i++)
        squares -= b[i] * side[i];
    *out = (row_place){.depth = depth,
                       .level = b[0],
                       .dark = b[2] / b[0],
                       .slope = b[1] / b[0],
                       .off = b[3] / b[0],
                       .cost = squares / (b[0] * b[0]),
                       .good = 1};
}

static void fit_rows(fit *f, int from, int to)
{
    for (int r = from; r < to; r++)
        fit_row(f, r, &f->rows[r]);
}

/* Median of a number over the stretch; offset of the field in row_place. */
static double median_of(const fit *f, size_t field)
{
    double v[ROWS_MOST];
    size_t n = 0;
    for (int r = f->from; r < f->to; r++)
        if (f->rows[r].good)
            memcpy(&v[n++], (const char *)&f->rows[r] + field, sizeof *v);
    return sw_median(v, n);
}

/* The width whose rows fit best. */
static double find_width(fit *f, double blur_mm)
{
    double least = INFINITY, best = WIDTHS_MM[0];
    for (int w = 0; w < WIDTHS; w++) {
        double cost = 0;
        f->sigma_mm = hypot(blur_mm, WIDTHS_MM[w] / sqrt(12));
        fit_rows(f, f->from, f->to);
        for (int r = f->from; r < f->to; r++)
            cost += f->rows[r].cost;
        if (cost < least) {
            least = cost;
            best = WIDTHS_MM[w];
        }
    }
    f->sigma_mm = hypot(blur_mm, best / sqrt(12));
    return best;
}

/* Straight line (or parabola, for `order` 2) through the rows' places, robustly; b: offset and slope to be added. */
typedef struct line_fit {
    double b[3], sd, variance_at, bend, bend_u;
} line_fit;

static int fit_line(fit *f, int order, line_fit *out)
{
    double sd = INFINITY, n = 0, m[9], v[3];
    int size = order + 1;
    for (int r = f->from; r < f->to; r++)
        f->rows[r].weight = f->rows[r].good;
    for (int round = 0; round < ROUNDS; round++) {
        double rest[ROWS_MOST];
        size_t count = 0;
        memset(m, 0, sizeof m);
        memset(v, 0, sizeof v);
        n = 0;
        for (int r = f->from; r < f->to; r++) {
            const row_place *p = &f->rows[r];
            double by[3] = {1, p->depth, p->depth * p->depth};
            for (int i = 0; i < size; i++) {
                for (int k = 0; k < size; k++)
                    m[i * size + k] += p->weight * by[i] * by[k];
                v[i] += p->weight * by[i] * p->off / f->dark;
            }
            n += p->weight;
        }
        if (n < size + 2 ||
            sw_cholesky_solve((double[9]){m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8]}, v, (size_t)size))
            return -1;
        for (int r = f->from; r < f->to; r++)
            if (f->rows[r].good)
                rest[count++] = f->rows[r].off / f->dark - v[0] - v[1] * f->rows[r].depth -
                                (order > 1 ? v[2] * f->rows[r].depth * f->rows[r].depth : 0);
        size_t k = 0;
        double again[ROWS_MOST];
        memcpy(again, rest, count * sizeof *rest);
        sd = sw_mad_sigma(again, count, 0);
        for (int r = f->from; r < f->to; r++)
            if (f->rows[r].good) {
                double off = fabs(rest[k++]);
                f->rows[r].weight = off > HUBER * sd && off > 0 ? HUBER * sd / off : 1;
            }
    }
    if (sw_cholesky_invert(m, (size_t)size))
        return -1;
    /* neighbouring rows see the same grain */
    double repeat = fmax(1, GRAIN_MM / f->band->pitch_mm);
    memcpy(out->b, v, sizeof v);
    out->sd = sd * sqrt(n / (n - size));
    out->variance_at = repeat * out->sd * out->sd * m[0];
    out->bend = order > 1 ? v[2] : 0;
    out->bend_u = order > 1 ? sqrt(repeat * m[8]) * out->sd : 0;
    return 0;
}

/* Where the stroke can be seen: the run of rows in which it stands out most. */
static int find_stretch(fit *f)
{
    double sum = 0, most = 0;
    int start = 0;
    fit_rows(f, 0, f->band->rows);
    for (int r = 0; r < f->band->rows; r++) {
        sum += f->rows[r].good ? fmin(2, f->rows[r].dark / f->dark) - ROW_SHARE : -ROW_SHARE;
        if (sum <= 0) {
            sum = 0;
            start = r + 1;
        } else if (sum > most) {
            most = sum;
            f->from = start;
            f->to = r + 1;
        }
    }
    return most > 0 ? 0 : -1;
}

static double length_of(const fit *f)
{
    return (f->to - f->from) * f->band->pitch_mm;
}

/* A few rounds of rows and line. */
static int settle(fit *f, line_fit *line)
{
    for (int round = 0; round < ROUNDS; round++) {
        fit_rows(f, f->from, f->to);
        f->dark = median_of(f, offsetof(row_place, dark));
        if (!(f->dark > DARK_LEAST) || fit_line(f, 1, line))
            return -1;
        f->at += line->b[0];
        f->slope += line->b[1];
        if (fabs(f->slope) > SW_TICK_SLANT + 0.1)
            return -1;
        if (fabs(line->b[0]) < SETTLED_MM && fabs(line->b[1]) < SETTLED_MM / FIT_MM)
            break;
    }
    return 0;
}

/* What a stroke looks like, and a step, a speck or a bead's rim does not. */
static int is_stroke(const fit *f, double width_mm)
{
    double shown = 0, rows = f->to - f->from;
    for (int r = f->from; r < f->to; r++)
        shown += f->rows[r].good && f->rows[r].dark > ROW_SHARE * f->dark;
    double step = 2 * fabs(median_of(f, offsetof(row_place, slope)));
    return sw_band_depth(f->band, f->from) < BEGIN_MOST_MM && length_of(f) > LENGTH_LEAST_MM &&
           shown >= ROWS_SHOWN * rows && step < STEP_MOST * f->dark && width_mm < WIDTHS_MM[WIDTHS - 1];
}

/* Fits the line to the part next to the rim that is straight. */
static int fit_straight_part(fit *f, line_fit *line)
{
    line_fit bent;
    int rows = f->to - f->from, most = (int)(FIT_MM / f->band->pitch_mm);
    if (rows > most)
        f->to = f->from + most;
    for (;;) {
        if (settle(f, line))
            return -1;
        int shorter = f->from + (f->to - f->from) * 3 / 4;
        if ((shorter - f->from) * f->band->pitch_mm < FIT_LEAST_MM || fit_line(f, 2, &bent) ||
            fabs(bent.bend) < BENT * bent.bend_u)
            return 0;
        f->to = shorter;
    }
}

int sw_tick_fit(const sw_band *band, double blur_mm, int from_row, int to_row, sw_tick *out)
{
    fit f = {.band = band, .at = out->at_mm, .slope = out->slope, .from = from_row, .to = to_row};
    line_fit line;
    double width;
    if (band->rows > ROWS_MOST)
        return -1;
    width = find_width(&f, blur_mm);
    if (settle(&f, &line) || find_stretch(&f) || length_of(&f) < LENGTH_LEAST_MM)
        return -1;
    width = find_width(&f, blur_mm);
    if (settle(&f, &line) || find_stretch(&f) || !is_stroke(&f, width))
        return -1;
    out->start_mm = sw_band_depth(band, f.from);
    out->length_mm = length_of(&f);
    if (fit_straight_part(&f, &line))
        return -1;
    out->at_mm = f.at;
    out->slope = f.slope;
    out->width_mm = width;
    out->dark = f.dark;
    out->u_mm = sqrt(line.variance_at);
    return 0;
}
