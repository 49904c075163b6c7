#include "support/made/judge_lp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_ROUNDS = 120 };
/* Relative errors at which a solution is taken: of rows; of the two costs against each other; of prices, which lose
 * more digits to the normal equations and do no harm to the solution. */
static const double EXACT = 1e-9, COSTED = 1e-7, PRICED = 1e-6;
/* Slacks times prices are not driven below this share of what COSTED asks: beyond it only rounding grows. */
static const double DEEP = 0.1;
/* Where rounding keeps a solve from that: no better for so many rounds, and the best one at most so many times as far
 * off. */
enum { PATIENCE = 25 };
static const double NEARLY = 100;
/* See JUDGE_INFEASIBLE. */
static const double CERTAIN = 1e-8;
/* A pivot below this share of its column's own is taken for zero: that column stays where it is. */
static const double NO_PIVOT = 1e-13;
/* Part of the way to the nearest bound that a step takes. */
static const double STEP = 0.995;

struct judge_lp {
    int columns, rows, terms, row_room, term_room;
    double *cost, *most;
    int *start, *column; /* row i's terms: start[i] to start[i + 1] */
    double *factor;
};

/* What a solve works with. n columns, m rows. */
typedef struct work {
    int *first;                                  /* profile: first column of each row of the matrix */
    double *matrix;                              /* n * n, lower half within the profile */
    double *right;                               /* n */
    double *dx, *price_off;                      /* n: step; what the prices are off */
    double *slack, *price;                       /* m */
    double *row_off, *ds, *dy, *target, *weight; /* m */
} work;

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count + 1, size);
    if (!memory) {
        fputs("judge: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

static void *more(void *old, size_t count, size_t size)
{
    void *memory = realloc(old, count * size);
    if (!memory) {
        fputs("judge: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

judge_lp *judge_lp_new(int columns)
{
    judge_lp *lp = get(1, sizeof *lp);
    lp->columns = columns;
    lp->row_room = 256;
    lp->term_room = 1024;
    lp->cost = get((size_t)columns, sizeof *lp->cost);
    lp->most = get((size_t)lp->row_room, sizeof *lp->most);
    lp->start = get((size_t)lp->row_room, sizeof *lp->start);
    lp->column = get((size_t)lp->term_room, sizeof *lp->column);
    lp->factor = get((size_t)lp->term_room, sizeof *lp->factor);
    return lp;
}

void judge_lp_free(judge_lp *lp)
{
    if (!lp)
        return;
    free(lp->cost);
    free(lp->most);
    free(lp->start);
    free(lp->column);
    free(lp->factor);
    free(lp);
}

void judge_lp_cost(judge_lp *lp, int column, double cost)
{
    lp->cost[column] = cost;
}

void judge_lp_row(judge_lp *lp, int terms, const int *column, const double *factor, double most)
{
    if (lp->rows + 2 > lp->row_room) {
        lp->row_room *= 2;
        lp->most = more(lp->most, (size_t)lp->row_room, sizeof *lp->most);
        lp->start = more(lp->start, (size_t)lp->row_room, sizeof *lp->start);
    }
    while (lp->terms + terms > lp->term_room) {
        lp->term_room *= 2;
        lp->column = more(lp->column, (size_t)lp->term_room, sizeof *lp->column);
        lp->factor = more(lp->factor, (size_t)lp->term_room, sizeof *lp->factor);
    }
    memcpy(lp->column + lp->terms, column, (size_t)terms * sizeof *column);
    memcpy(lp->factor + lp->terms, factor, (size_t)terms * sizeof *factor);
    lp->terms += terms;
    lp->most[lp->rows++] = most;
    lp->start[lp->rows] = lp->terms;
}

void judge_lp_box(judge_lp *lp, int column, double least, double most)
{
    judge_lp_row(lp, 1, &column, &(double){1}, most);
    judge_lp_row(lp, 1, &column, &(double){-1}, -least);
}

/* ---- products ---- */

static double row_times(const judge_lp *lp, int row, const double *x)
{
    double sum = 0;
    for (int k = lp->start[row]; k < lp->start[row + 1]; k++)
        sum += lp->factor[k] * x[lp->column[k]];
    return sum;
}

/* out = A' y */
static void turned_times(const judge_lp *lp, const double *y, double *out)
{
    memset(out, 0, (size_t)lp->columns * sizeof *out);
    for (int i = 0; i < lp->rows; i++)
        for (int k = lp->start[i]; k < lp->start[i + 1]; k++)
            out[lp->column[k]] += lp->factor[k] * y[i];
}

static double dot(const double *a, const double *b, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

static double largest(const double *a, int n)
{
    double most = 0;
    for (int i = 0; i < n; i++)
        most = fmax(most, fabs(a[i]));
    return most;
}

/* ---- normal equations ---- */

static void find_profile(const judge_lp *lp, int *first)
{
    for (int j = 0; j < lp->columns; j++)
        first[j] = j;
    for (int i = 0; i < lp->rows; i++) {
        int least = lp->columns;
        for (int k = lp->start[i]; k < lp->start[i + 1]; k++)
            least = lp->column[k] < least ? lp->column[k] : least;
        for (int k = lp->start[i]; k < lp->start[i + 1]; k++)
            first[lp->column[k]] = least < first[lp->column[k]] ? least : first[lp->column[k]];
    }
}

/* Factors A' diag(weight) A. */
static void factorise(const judge_lp *lp, const double *weight, work *w)
{
    size_t n = (size_t)lp->columns;
    for (size_t i = 0; i < n; i++)
        memset(w->matrix + i * n + w->first[i], 0, (i + 1 - (size_t)w->first[i]) * sizeof *w->matrix);
    for (int r = 0; r < lp->rows; r++)
        for (int a = lp->start[r]; a < lp->start[r + 1]; a++)
            for (int b = lp->start[r]; b < lp->start[r + 1]; b++)
                if (lp->column[b] <= lp->column[a])
                    w->matrix[(size_t)lp->column[a] * n + (size_t)lp->column[b]] +=
                        weight[r] * lp->factor[a] * lp->factor[b];
    for (size_t i = 0; i < n; i++) {
        double *row = w->matrix + i * n, own = row[i];
        for (size_t j = (size_t)w->first[i]; j <= i; j++) {
            const double *other = w->matrix + j * n;
            size_t from = (size_t)(w->first[i] > w->first[j] ? w->first[i] : w->first[j]);
            double sum = row[j];
            for (size_t k = from; k < j; k++)
                sum -= row[k] * other[k];
            if (j < i)
                row[j] = sum / other[j];
            else
                row[i] = sum > NO_PIVOT * own ? sqrt(sum) : 1e64; /* a column that depends on others gets no step */
        }
    }
}

static void solve_factored(const judge_lp *lp, const work *w, double *v)
{
    int n = lp->columns;
    for (int i = 0; i < n; i++) {
        const double *row = w->matrix + (size_t)i * (size_t)n;
        for (int k = w->first[i]; k < i; k++)
            v[i] -= row[k] * v[k];
        v[i] /= row[i];
    }
    for (int i = n - 1; i >= 0; i--) {
        const double *row = w->matrix + (size_t)i * (size_t)n;
        v[i] /= row[i];
        for (int k = w->first[i]; k < i; k++)
            v[k] -= row[k] * v[i];
    }
}

/* One round of iterative refinement of dx, whose right side is `right`. */
static void refine(const judge_lp *lp, work *w)
{
    for (int i = 0; i < lp->rows; i++) {
        double part = w->weight[i] * row_times(lp, i, w->dx);
        for (int k = lp->start[i]; k < lp->start[i + 1]; k++)
            w->right[lp->column[k]] -= lp->factor[k] * part;
    }
    solve_factored(lp, w, w->right);
    for (int j = 0; j < lp->columns; j++)
        w->dx[j] += w->right[j];
}

/* ---- steps ---- */

/* Step for slack * price -> target, from the equations
 *     A dx + ds = row_off,   A' dy = price_off,   slack dy + price ds = target. */
static void find_step(const judge_lp *lp, work *w)
{
    for (int i = 0; i < lp->rows; i++)
        w->dy[i] = (w->target[i] - w->price[i] * w->row_off[i]) / w->slack[i];
    turned_times(lp, w->dy, w->right);
    for (int j = 0; j < lp->columns; j++)
        w->right[j] = w->dx[j] = w->price_off[j] - w->right[j];
    solve_factored(lp, w, w->dx);
    refine(lp, w);
    for (int i = 0; i < lp->rows; i++) {
        w->ds[i] = w->row_off[i] - row_times(lp, i, w->dx);
        w->dy[i] = (w->target[i] - w->price[i] * w->ds[i]) / w->slack[i];
    }
}

/* How much of the step keeps everything above 0. */
static double room(const double *value, const double *step, int n)
{
    double part = 1 / STEP;
    for (int i = 0; i < n; i++)
        if (step[i] < 0)
            part = fmin(part, -value[i] / step[i]);
    return part;
}

static void residuals(const judge_lp *lp, const double *x, work *w)
{
    turned_times(lp, w->price, w->price_off);
    for (int j = 0; j < lp->columns; j++)
        w->price_off[j] = -lp->cost[j] - w->price_off[j];
    for (int i = 0; i < lp->rows; i++)
        w->row_off[i] = lp->most[i] - row_times(lp, i, x) - w->slack[i];
}

/* Mehrotra's start: least-squares x and prices, then both moved well inside. */
static void begin(const judge_lp *lp, double *x, work *w)
{
    int m = lp->rows;
    for (int i = 0; i < m; i++)
        w->weight[i] = 1;
    factorise(lp, w->weight, w);
    turned_times(lp, lp->most, x);
    solve_factored(lp, w, x);
    memcpy(w->dx, lp->cost, (size_t)lp->columns * sizeof *w->dx);
    solve_factored(lp, w, w->dx);
    double low_s = 0, low_y = 0;
    for (int i = 0; i < m; i++) {
        w->slack[i] = lp->most[i] - row_times(lp, i, x);
        w->price[i] = -row_times(lp, i, w->dx);
        low_s = fmin(low_s, w->slack[i]);
        low_y = fmin(low_y, w->price[i]);
    }
    double both = 0, sum_s = 0, sum_y = 0;
    for (int i = 0; i < m; i++) {
        w->slack[i] += 1e-3 - 1.5 * low_s;
        w->price[i] += 1e-3 - 1.5 * low_y;
        both += w->slack[i] * w->price[i];
        sum_s += w->slack[i];
        sum_y += w->price[i];
    }
    for (int i = 0; i < m; i++) {
        w->slack[i] += 0.5 * both / sum_y;
        w->price[i] += 0.5 * both / sum_s;
    }
}

/* Predictor, corrector, and the step itself. */
static void advance(const judge_lp *lp, double *x, work *w)
{
    int m = lp->rows;
    double mean = dot(w->slack, w->price, m) / m, ahead = 0;
    for (int i = 0; i < m; i++) {
        w->weight[i] = w->price[i] / w->slack[i];
        w->target[i] = -w->slack[i] * w->price[i];
    }
    factorise(lp, w->weight, w);
    find_step(lp, w);
    double part_s = fmin(1, room(w->slack, w->ds, m)), part_y = fmin(1, room(w->price, w->dy, m));
    for (int i = 0; i < m; i++)
        ahead += (w->slack[i] + part_s * w->ds[i]) * (w->price[i] + part_y * w->dy[i]) / m;
    double enough = DEEP * COSTED * (1 + fabs(dot(lp->cost, x, lp->columns))) / m;
    double centre = fmax(pow(ahead / mean, 3) * mean, enough);
    for (int i = 0; i < m; i++)
        w->target[i] = centre - w->slack[i] * w->price[i] - w->ds[i] * w->dy[i];
    find_step(lp, w);
    part_s = fmin(1, STEP * room(w->slack, w->ds, m));
    part_y = fmin(1, STEP * room(w->price, w->dy, m));
    for (int j = 0; j < lp->columns; j++)
        x[j] += part_s * w->dx[j];
    for (int i = 0; i < m; i++) {
        w->slack[i] += part_s * w->ds[i];
        w->price[i] += part_y * w->dy[i];
    }
}

/* How far off a solution is, by the worst of its three errors: 1 is as good as asked. */
static double off_by(const judge_lp *lp, const double *x, work *w)
{
    double cost = dot(lp->cost, x, lp->columns), other = -dot(lp->most, w->price, lp->rows);
    residuals(lp, x, w);
    double rows = largest(w->row_off, lp->rows) / (1 + largest(lp->most, lp->rows)) / EXACT;
    double prices = largest(w->price_off, lp->columns) / (1 + largest(lp->cost, lp->columns)) / PRICED;
    double off = fmax(fmax(rows, prices), fabs(cost - other) / (1 + fabs(cost)) / COSTED);
    return isnan(off) ? INFINITY : off;
}

/* JUDGE_INFEASIBLE or JUDGE_UNBOUNDED where that is certain, else JUDGE_GAVE_UP. */
static judge_end no_answer(const judge_lp *lp, const double *x, work *w)
{
    double cost = dot(lp->cost, x, lp->columns), other = -dot(lp->most, w->price, lp->rows), up = 0;
    /* A x <= most would give price . A x <= price . most: impossible when the right side is far below 0 and A' price is
     * next to nothing. */
    turned_times(lp, w->price, w->right);
    if (other > 0 && largest(w->right, lp->columns) <= CERTAIN * other)
        return JUDGE_INFEASIBLE;
    for (int i = 0; i < lp->rows; i++)
        up = fmax(up, row_times(lp, i, x));
    return cost < 0 && up <= -CERTAIN * cost ? JUDGE_UNBOUNDED : JUDGE_GAVE_UP;
}

/* Steps until x is as good as asked or gets no better; best gets the best x. */
static judge_end iterate(const judge_lp *lp, double *x, double *best, work *w, int *round)
{
    double least = INFINITY;
    int since = 0;
    begin(lp, x, w);
    for (*round = 0; *round < MOST_ROUNDS && since < PATIENCE; ++*round, ++since) {
        double off = off_by(lp, x, w);
        judge_end end = no_answer(lp, x, w);
        if (off < least) {
            least = off;
            since = 0;
            memcpy(best, x, (size_t)lp->columns * sizeof *best);
        }
        if (off <= 1)
            return JUDGE_SOLVED;
        if (end != JUDGE_GAVE_UP && least > NEARLY)
            return end;
        advance(lp, x, w);
    }
    return least <= NEARLY ? JUDGE_SOLVED : JUDGE_GAVE_UP;
}

judge_end judge_lp_solve(const judge_lp *lp, double *x, int *rounds)
{
    size_t n = (size_t)lp->columns, m = (size_t)lp->rows;
    double *columns = get(4 * n, sizeof *columns), *rows = get(7 * m, sizeof *rows);
    work w = {.first = get(n, sizeof *w.first), .matrix = get(n * n, sizeof *w.matrix)};
    w.right = columns;
    w.dx = columns + n;
    w.price_off = columns + 2 * n;
    double **each[] = {&w.slack, &w.price, &w.row_off, &w.ds, &w.dy, &w.target, &w.weight};
    for (size_t k = 0; k < sizeof each / sizeof *each; k++)
        *each[k] = rows + k * m;
    find_profile(lp, w.first);
    int round;
    judge_end end = iterate(lp, columns + 3 * n, x, &w, &round);
    if (rounds)
        *rounds = round;
    free(w.first);
    free(w.matrix);
    free(columns);
    free(rows);
    return end;
}
