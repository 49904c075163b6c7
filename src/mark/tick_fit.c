/* tick_fit.c - one stroke, row by row: across it a row is c0 + c1 x - A G(x - d), linear in c0, c1, A and A d for small d;
 * x is counted from the line fitted so far, which is then fitted to the rows' places, and so on. */
#include "mark/tick.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"

/* Looked at to either side of the stroke: mm, but no fewer than so many samples. */
static const double LOOK_MM = 2;
enum { LOOK_LEAST = 4, LOOK_MOST = 24, ROWS_MOST = 128, ROUNDS = 6, UNKNOWNS = 4 };
/* Widths that are tried, mm: pencil lines are 0.3 to 1.2 mm wide. What looks as wide as the last is no pencil line. */
static const double WIDTHS_MM[] = {0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.6};
enum { WIDTHS = sizeof WIDTHS_MM / sizeof *WIDTHS_MM };
/* A stroke begins no deeper than this (makers stop a few mm short of a worn rim) and then runs on for that long. */
static const double BEGIN_MOST_MM = 7, LENGTH_LEAST_MM = 3.5;
/* The line is fitted to so much of it: enough for its direction, little enough to be straight by hand. */
static const double FIT_MM = 9, FIT_LEAST_MM = 2.5;
/* The line is settled when it moves by less than this, mm. */
static const double SETTLED_MM = 0.002;
/* A row shows the stroke with this share of its usual darkness; so many of its rows do. */
static const double ROW_SHARE = 0.5, ROWS_SHOWN = 0.7;
/* Weakest stroke, share of the light: fainter ones cannot be told from a brushed or beaded top's own lines. */
static const double DARK_LEAST = 0.012;
/* Most that the level may change across the stroke's 2 mm, share of its darkness: beyond, it is a step with a dark
 * foot. */
static const double STEP_MOST = 1;
/* A stroke is followed by where its last 3 mm lead: a row is found when it is no farther off than this; a gap of 1 mm
 * is jumped. */
static const double FOLLOW_MM = 3, FOLLOW_OFF_MM = 0.6, FOLLOW_GAP_MM = 1;
enum { FOLLOW_LEAST = 4 };
/* A hand does not draw quite straight: over the way from where the stroke is seen to the rim it may turn by this, mm/mm
 * (a pencil along a rule stays within 0.01; freehand over a few mm about 0.02). */
static const double HAND_TURN = 0.015;
/* What is less sure of its place than this is no stroke, or leads nowhere certain, mm (standard uncertainty). */
static const double U_MOST_MM = 0.15;
/* JPEG works in blocks of 8 px, which under strong compression go astray together: about so long at 3 px/mm, mm.
 * Correlations under this are chance. */
static const double BLOCK_MM = 2.4, RHO_LEAST = 0.1;
/* What surrounds a stroke is tried at so many places to either side, from there on so far apart, mm: clear of the
 * stroke, and as good as independent of each other. So many must be bare: no darker, on the average, than this share of
 * the stroke. */
enum { BESIDES = 8, BESIDES_LEAST = 6 };
static const double BESIDE_FROM_MM = 1, BESIDE_STEP_MM = 1.5, BARE_MOST = 0.3;
/* Texture goes on from row to row over about this length, mm (grain of foam and paper, 0.5 to 1.2 mm). */
static const double GRAIN_MM = 1.2;
/* Places beyond this many standard deviations count ever less (Huber). */
static const double HUBER = 1.5;
/* A bend is seen when the parabola's middle stands out by so many of its standard deviations. */
static const double BENT = 3.5;

typedef struct row_place {
    double depth, dark, slope; /* of the row; darkness and change of level as shares of the level */
    double middle, off;        /* where it was looked for, and A d found there */
    double path;               /* where the stroke is */
    double cost, weight;
    bool good;
} row_place;

typedef struct stroke_fit {
    const sw_band *band;
    double at, slope, sigma_mm;
    double dark; /* median A of the stretch */
    row_place rows[ROWS_MOST];
    int from, to; /* rows of the stretch */
} stroke_fit;

/* The four numbers of one row by least squares, the stroke being near `middle`. */
static void fit_row(const stroke_fit *f, int r, double middle, row_place *out)
{
    const sw_band *s = f->band;
    const float *v = s->light + (size_t)r * (size_t)s->columns;
    double depth = sw_band_depth(s, r);
    int look = (int)fmin(LOOK_MOST, fmax(LOOK_LEAST, round(LOOK_MM / s->pitch_mm)));
    int centre = (int)lround((middle - s->first_mm) / s->pitch_mm);
    double a[UNKNOWNS * UNKNOWNS] = {0}, b[UNKNOWNS] = {0}, squares = 0;
    *out = (row_place){.depth = depth, .middle = middle};
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
    out->dark = b[2] / b[0];
    out->slope = b[1] / b[0];
    out->off = b[3] / b[0];
    out->cost = squares / (b[0] * b[0]);
    out->good = true;
}

static void fit_rows(stroke_fit *f, int from, int to)
{
    for (int r = from; r < to; r++)
        fit_row(f, r, f->at + f->slope * sw_band_depth(f->band, r), &f->rows[r]);
}

/* Median of a number over the stretch; offset of the field in row_place. */
static double median_of(const stroke_fit *f, size_t field)
{
    double v[ROWS_MOST];
    size_t n = 0;
    for (int r = f->from; r < f->to; r++)
        if (f->rows[r].good)
            memcpy(&v[n++], (const char *)&f->rows[r] + field, sizeof *v);
    return sw_median(v, n);
}

/* The width whose rows fit best. */
static double find_width(stroke_fit *f, double blur_mm)
{
    /* rows run along the rim: what crosses them slanted looks wider by 1 / cos, its blur too */
    double least = INFINITY, best = WIDTHS_MM[0], slanted = hypot(1, f->slope);
    for (int w = 0; w < WIDTHS; w++) {
        double cost = 0;
        f->sigma_mm = slanted * hypot(blur_mm, WIDTHS_MM[w] / sqrt(12));
        fit_rows(f, f->from, f->to);
        for (int r = f->from; r < f->to; r++)
            cost += f->rows[r].cost;
        if (cost < least) {
            least = cost;
            best = WIDTHS_MM[w];
        }
    }
    f->sigma_mm = slanted * hypot(blur_mm, best / sqrt(12));
    return best;
}

/* Straight line (or parabola, for `order` 2) through the rows' places. */
typedef struct line_fit {
    double b[3], sd, variance_at, bend, bend_u;
} line_fit;

static double rest_of(const row_place *p, const double *b, int order)
{
    return p->path - b[0] - b[1] * p->depth - (order > 1 ? b[2] * p->depth * p->depth : 0);
}

/* Weighted normal equations; returns the sum of the weights. */
static double add_up(const stroke_fit *f, int size, double m[9], double v[3])
{
    double n = 0;
    memset(m, 0, 9 * sizeof *m);
    memset(v, 0, 3 * sizeof *v);
    for (int r = f->from; r < f->to; r++) {
        const row_place *p = &f->rows[r];
        double by[3] = {1, p->depth, p->depth * p->depth};
        for (int i = 0; i < size; i++) {
            for (int k = 0; k < size; k++)
                m[i * size + k] += p->weight * by[i] * by[k];
            v[i] += p->weight * by[i] * p->path;
        }
        n += p->weight;
    }
    return n;
}

/* Sets the weights by how far each row lies off; returns the places' standard deviation. */
static double weigh(stroke_fit *f, const double *b, int order)
{
    double rest[ROWS_MOST];
    size_t count = 0;
    for (int r = f->from; r < f->to; r++)
        if (f->rows[r].good)
            rest[count++] = rest_of(&f->rows[r], b, order);
    double sd = sw_mad_sigma(rest, count, 0);
    for (int r = f->from; r < f->to; r++)
        if (f->rows[r].good) {
            double off = fabs(rest_of(&f->rows[r], b, order));
            f->rows[r].weight = off > HUBER * sd && off > 0 ? HUBER * sd / off : 1;
        }
    return sd;
}

/* How many rows in a row say the same: sum of the correlations of rows so far apart, at least what grain does. */
static double repeat_of(const stroke_fit *f, const double *b, int order)
{
    const int lags = (int)ceil(BLOCK_MM / f->band->pitch_mm);
    double squares = 0, n = 0, repeat = 1;
    for (int r = f->from; r < f->to; r++)
        if (f->rows[r].good) {
            double e = f->rows[r].weight * rest_of(&f->rows[r], b, order);
            squares += e * e;
            n++;
        }
    for (int lag = 1; lag <= lags && lag < f->to - f->from; lag++) {
        double sum = 0, pairs = 0;
        for (int r = f->from; r + lag < f->to; r++) {
            const row_place *p = &f->rows[r], *q = &f->rows[r + lag];
            if (!p->good || !q->good)
                continue;
            sum += p->weight * rest_of(p, b, order) * q->weight * rest_of(q, b, order);
            pairs++;
        }
        double rho = pairs > 0 && squares > 0 ? sum / pairs / (squares / n) : 0;
        if (rho < RHO_LEAST)
            break;
        repeat += 2 * rho;
    }
    return fmax(repeat, GRAIN_MM / f->band->pitch_mm);
}

static sw_status fit_line(stroke_fit *f, int order, line_fit *out)
{
    double sd = INFINITY, n = 0, m[9], v[3], copy[9];
    int size = order + 1;
    for (int r = f->from; r < f->to; r++)
        f->rows[r].weight = f->rows[r].good;
    for (int round = 0; round < ROUNDS; round++) {
        n = add_up(f, size, m, v);
        memcpy(copy, m, sizeof copy);
        if (n < size + 2 || sw_cholesky_solve(copy, v, (size_t)size))
            return SW_NOT_FOUND;
        sd = weigh(f, v, order);
    }
    if (sw_cholesky_invert(m, (size_t)size))
        return SW_NOT_FOUND;
    double repeat = repeat_of(f, v, order);
    memcpy(out->b, v, sizeof v);
    out->sd = sd * sqrt(n / (n - size));
    out->variance_at = repeat * out->sd * out->sd * m[0];
    out->bend = order > 1 ? v[2] : 0;
    out->bend_u = order > 1 ? sqrt(repeat * m[8]) * out->sd : 0;
    return SW_OK;
}

/* Where the stroke can be seen: the run of rows in which it stands out most. */
static sw_status find_stretch(stroke_fit *f)
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
    return most > 0 ? SW_OK : SW_NOT_FOUND;
}

static double length_of(const stroke_fit *f)
{
    return (f->to - f->from) * f->band->pitch_mm;
}

/* A few rounds of rows and line. */
static sw_status settle(stroke_fit *f, line_fit *line)
{
    for (int round = 0; round < ROUNDS; round++) {
        fit_rows(f, f->from, f->to);
        f->dark = median_of(f, offsetof(row_place, dark));
        if (!(f->dark > DARK_LEAST))
            return SW_NOT_FOUND;
        for (int r = f->from; r < f->to; r++)
            f->rows[r].path = f->rows[r].middle + f->rows[r].off / f->dark;
        if (fit_line(f, 1, line))
            return SW_NOT_FOUND;
        double moved = fabs(line->b[0] - f->at) + FIT_MM * fabs(line->b[1] - f->slope);
        f->at = line->b[0];
        f->slope = line->b[1];
        if (fabs(f->slope) > SW_TICK_SLANT + 0.1)
            return SW_NOT_FOUND;
        if (moved < SETTLED_MM)
            break;
    }
    return SW_OK;
}

/* What a stroke looks like, and a step, a speck or a bead's rim does not. */
static bool is_stroke(const stroke_fit *f, double width_mm)
{
    double shown = 0, rows = f->to - f->from;
    for (int r = f->from; r < f->to; r++)
        shown += f->rows[r].good && f->rows[r].dark > ROW_SHARE * f->dark;
    double step = 2 * fabs(median_of(f, offsetof(row_place, slope)));
    return sw_band_depth(f->band, f->from) < BEGIN_MOST_MM && length_of(f) > LENGTH_LEAST_MM &&
           shown >= ROWS_SHOWN * rows && step < STEP_MOST * f->dark && width_mm < WIDTHS_MM[WIDTHS - 1];
}

/* Where the rows from..to lead at a depth; NaN when they are too few. */
static double lead(const stroke_fit *f, int from, int to, double depth)
{
    double n = 0, x = 0, xx = 0, y = 0, xy = 0;
    for (int r = from; r < to; r++) {
        const row_place *p = &f->rows[r];
        if (!p->good)
            continue;
        n++;
        x += p->depth - depth;
        xx += (p->depth - depth) * (p->depth - depth);
        y += p->path;
        xy += (p->depth - depth) * p->path;
    }
    double spread = n * xx - x * x;
    return n >= FOLLOW_LEAST && spread > 0 ? (xx * y - x * xy) / spread : NAN;
}

/* From the stretch's inner end back to the rim, row by row, as far as the stroke goes. */
static void follow(stroke_fit *f)
{
    int n = (int)fmax(FOLLOW_LEAST + 1, ceil(FOLLOW_MM / f->band->pitch_mm)), missed = 0;
    int misses_most = (int)ceil(FOLLOW_GAP_MM / f->band->pitch_mm);
    for (int r = f->to - n - 1; r >= 0 && missed <= misses_most; r--) {
        double middle = lead(f, r + 1, r + 1 + n, sw_band_depth(f->band, r));
        if (!isfinite(middle))
            return;
        row_place *p = &f->rows[r];
        fit_row(f, r, middle, p);
        p->path = p->middle + p->off / f->dark;
        p->good = p->good && p->dark > ROW_SHARE * f->dark && fabs(p->path - p->middle) < FOLLOW_OFF_MM;
        missed = p->good ? 0 : missed + 1;
        if (p->good && r < f->from)
            f->from = r;
    }
}

/* Fits the line to the part next to the rim that is straight; *turn: by how much it may turn before it gets there. */
static sw_status fit_straight_part(stroke_fit *f, line_fit *line, double *turn)
{
    line_fit bent;
    int rows = f->to - f->from, most = (int)(FIT_MM / f->band->pitch_mm);
    if (rows > most)
        f->to = f->from + most;
    *turn = HAND_TURN;
    if (fit_line(f, 1, line))
        return SW_NOT_FOUND;
    for (;;) {
        double before = line->b[1];
        int shorter = f->from + (f->to - f->from) * 3 / 4;
        if ((shorter - f->from) * f->band->pitch_mm < FIT_LEAST_MM || fit_line(f, 2, &bent) ||
            fabs(bent.bend) < BENT * bent.bend_u)
            break;
        f->to = shorter;
        if (fit_line(f, 1, line))
            return SW_NOT_FOUND;
        *turn = fmax(*turn, fabs(line->b[1] - before));
    }
    f->at = line->b[0];
    f->slope = line->b[1];
    return settle(f, line);
}

/* The fitted line's place at the rim if it were fitted a little beside the stroke, where nothing but texture, noise and
 * the traces of compression is: what these do to it. NaN where another stroke lies. */
static double beside(const stroke_fit *f, double shift)
{
    double n = 0, x = 0, xx = 0, y = 0, xy = 0, dark = 0;
    for (int r = f->from; r < f->to; r++) {
        const row_place *p = &f->rows[r];
        row_place here;
        fit_row(f, r, f->at + f->slope * p->depth + shift, &here);
        if (!here.good)
            return NAN;
        double off = here.off / f->dark;
        n += p->weight;
        x += p->weight * p->depth;
        xx += p->weight * p->depth * p->depth;
        y += p->weight * off;
        xy += p->weight * p->depth * off;
        dark += here.dark;
    }
    double spread = n * xx - x * x;
    return spread > 0 && fabs(dark) < BARE_MOST * f->dark * (f->to - f->from) ? (xx * y - x * xy) / spread : NAN;
}

/* Variance of the place at the rim from what lies around the stroke; 0 when too little of it is bare. */
static double variance_around(const stroke_fit *f)
{
    double sum = 0, n = 0;
    for (int k = -BESIDES; k <= BESIDES; k++) {
        double off = k ? beside(f, (k > 0 ? BESIDE_FROM_MM : -BESIDE_FROM_MM) + k * BESIDE_STEP_MM) : NAN;
        if (isfinite(off)) {
            sum += off * off;
            n++;
        }
    }
    return n >= BESIDES_LEAST ? sum / n : 0;
}

sw_status sw_tick_fit(const sw_band *band, double blur_mm, int from_row, int to_row, sw_tick *out)
{
    stroke_fit f = {.band = band, .at = out->at_mm, .slope = out->slope, .from = from_row, .to = to_row};
    line_fit line;
    double width;
    if (band->rows > ROWS_MOST)
        return SW_NOT_FOUND;
    find_width(&f, blur_mm);
    if (settle(&f, &line) || find_stretch(&f) || length_of(&f) < LENGTH_LEAST_MM)
        return SW_NOT_FOUND;
    width = find_width(&f, blur_mm);
    if (settle(&f, &line) || find_stretch(&f) || settle(&f, &line))
        return SW_NOT_FOUND;
    follow(&f);
    if (!is_stroke(&f, width))
        return SW_NOT_FOUND;
    out->start_mm = sw_band_depth(band, f.from);
    out->length_mm = length_of(&f);
    if (fit_straight_part(&f, &line, &out->turn))
        return SW_NOT_FOUND;
    out->at_mm = f.at;
    out->slope = f.slope;
    out->width_mm = width;
    out->dark = f.dark;
    out->u_mm = sqrt(fmax(line.variance_at, variance_around(&f)));
    return out->u_mm < U_MOST_MM ? SW_OK : SW_NOT_FOUND;
}
