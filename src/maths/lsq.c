#include "maths/lsq.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* A unit column whose part at right angles to the columns before it is shorter than this depends on them: rounding
 * alone leaves about sqrt(rows) 2e-16, 1e-14 for 3000 rows. */
static const double DEPENDENT = 1e-13;

/* A Cholesky pivot below this share of its diagonal element, for each row of the matrix, is rounding. */
static const double PIVOT_ROUNDING = 8.0 * DBL_EPSILON;

/* Whether x times y doubles fit into a size_t's worth of bytes. */
static bool fits(size_t x, size_t y)
{
    return y == 0 || x <= SIZE_MAX / sizeof(double) / y;
}

static double dot(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* ---- linear, by QR ---- */

typedef struct qr {
    size_t rows, columns;
    double *a;        /* column after column; above the diagonal R, on and below it the Householder vectors */
    double *y;        /* becomes Q'y */
    double *scale;    /* length of each column before it was scaled to 1 */
    double *diagonal; /* of R */
} qr;

/* One block holds all four arrays; a is its start. */
static sw_status qr_take(qr *q, size_t rows, size_t columns)
{
    *q = (qr){.rows = rows, .columns = columns};
    if (!fits(rows + 2, columns + 1) || rows + 2 < rows)
        return SW_NO_MEMORY;
    q->a = malloc((rows + 2) * (columns + 1) * sizeof *q->a);
    if (!q->a)
        return SW_NO_MEMORY;
    q->y = q->a + rows * columns;
    q->scale = q->y + rows;
    q->diagonal = q->scale + columns;
    return SW_OK;
}

/* Returns the number of rows that have weight. */
static size_t qr_load(qr *q, const double *x, const double *y, const double *weights)
{
    size_t used = 0;
    for (size_t r = 0; r < q->rows; r++) {
        double root = weights ? sqrt(weights[r]) : 1.0;
        used += root > 0.0;
        for (size_t c = 0; c < q->columns; c++)
            q->a[c * q->rows + r] = root > 0.0 ? root * x[r * q->columns + c] : root;
        q->y[r] = root > 0.0 ? root * y[r] : root;
    }
    for (size_t c = 0; c < q->columns; c++) {
        double *column = q->a + c * q->rows;
        q->scale[c] = sqrt(dot(column, column, q->rows));
        for (size_t r = 0; r < q->rows; r++)
            column[r] /= q->scale[c];
    }
    return used;
}

/* v is a Householder vector with v'v = 2: reflects z. */
static void reflect(const double *v, double *z, size_t n)
{
    double along = dot(v, z, n);
    for (size_t i = 0; i < n; i++)
        z[i] -= along * v[i];
}

static sw_status qr_decompose(qr *q)
{
    for (size_t c = 0; c < q->columns; c++) {
        size_t n = q->rows - c;
        double *v = q->a + c * q->rows + c;
        double length = sqrt(dot(v, v, n));
        if (!(length > DEPENDENT) || !isfinite(length))
            return SW_BAD_INPUT;
        q->diagonal[c] = v[0] > 0.0 ? -length : length;
        v[0] -= q->diagonal[c];
        double unit = sqrt(2.0 / dot(v, v, n));
        for (size_t i = 0; i < n; i++)
            v[i] *= unit;
        for (size_t k = c + 1; k < q->columns; k++)
            reflect(v, q->a + k * q->rows + c, n);
        reflect(v, q->y + c, n);
    }
    return SW_OK;
}

/* Back substitution R b = Q'y, and the columns' scale taken out. */
static sw_status qr_solve(const qr *q, double *b)
{
    for (size_t c = q->columns; c-- > 0;) {
        double sum = q->y[c];
        for (size_t k = c + 1; k < q->columns; k++)
            sum -= q->a[k * q->rows + c] * b[k];
        b[c] = sum / q->diagonal[c];
    }
    bool bad = false;
    for (size_t c = 0; c < q->columns; c++) {
        b[c] /= q->scale[c];
        bad |= !isfinite(b[c]);
    }
    return bad ? SW_BAD_INPUT : SW_OK;
}

/* Row c of the inverse of R, into `row`: row . R = unit vector c. */
static void qr_inverse_row(const qr *q, size_t c, double *row)
{
    for (size_t k = 0; k < c; k++)
        row[k] = 0.0;
    row[c] = 1.0 / q->diagonal[c];
    for (size_t k = c + 1; k < q->columns; k++)
        row[k] = -dot(row + c, q->a + k * q->rows + c, k - c) / q->diagonal[k];
}

/* (R'R)^-1 = R^-1 R^-T, rows and columns scaled back, times variance. Element (c, k), k <= c, needs rows c and k of the
 * inverse from column c on, so the product may overwrite them from the top. */
static void qr_covariance(const qr *q, double variance, double *covariance)
{
    size_t n = q->columns;
    for (size_t c = 0; c < n; c++)
        qr_inverse_row(q, c, covariance + c * n);
    for (size_t c = 0; c < n; c++)
        for (size_t k = c; k < n; k++) {
            double sum = dot(covariance + c * n + k, covariance + k * n + k, n - k);
            covariance[c * n + k] = variance * sum / (q->scale[c] * q->scale[k]);
        }
    for (size_t c = 0; c < n; c++)
        for (size_t k = 0; k < c; k++)
            covariance[c * n + k] = covariance[k * n + c];
}

static void clear(double *values, size_t count)
{
    for (size_t i = 0; values && i < count; i++)
        values[i] = 0.0;
}

sw_status sw_lsq_linear(const double *x, const double *y, const double *weights, size_t rows, size_t columns,
                        bool scale_by_residual, double *b, double *covariance, double *residual_sd)
{
    clear(b, columns);
    clear(covariance, columns * columns);
    clear(residual_sd, 1);
    if (rows < columns || columns == 0)
        return SW_BAD_INPUT;
    qr q;
    sw_status status = qr_take(&q, rows, columns);
    if (status)
        return status;
    size_t used = qr_load(&q, x, y, weights);
    status = qr_decompose(&q);
    if (!status)
        status = qr_solve(&q, b);
    if (status) {
        clear(b, columns);
    } else {
        /* What Q'y holds below R is the residual, turned. */
        double squares = dot(q.y + columns, q.y + columns, rows - columns);
        double variance = used > columns ? squares / (double)(used - columns) : NAN;
        if (covariance)
            qr_covariance(&q, scale_by_residual ? variance : 1.0, covariance);
        if (residual_sd)
            *residual_sd = sqrt(variance);
    }
    free(q.a);
    return status;
}

/* ---- Cholesky ---- */

/* A = L L', L in the lower triangle. */
static sw_status factor(double *a, size_t n)
{
    for (size_t r = 0; r < n; r++) {
        double *row = a + r * n, whole = row[r];
        for (size_t c = 0; c < r; c++)
            row[c] = (row[c] - dot(row, a + c * n, c)) / a[c * n + c];
        double pivot = whole - dot(row, row, r);
        if (!(pivot > PIVOT_ROUNDING * (double)n * whole) || !isfinite(pivot))
            return SW_BAD_INPUT;
        row[r] = sqrt(pivot);
    }
    return SW_OK;
}

void sw_covariance_root(double *a, size_t n)
{
    for (size_t j = 0; j < n; j++) {
        double *column = a + j;
        double rest = column[j * n] - dot(a + j * n, a + j * n, j), pivot = sqrt(fmax(rest, 0));
        for (size_t i = 0; i < j; i++)
            column[i * n] = 0;
        for (size_t i = j + 1; i < n; i++)
            column[i * n] = pivot > 0 ? (column[i * n] - dot(a + i * n, a + j * n, j)) / pivot : 0;
        column[j * n] = pivot;
    }
}

sw_status sw_cholesky_solve(double *a, double *b, size_t n)
{
    if (factor(a, n))
        return SW_BAD_INPUT;
    for (size_t r = 0; r < n; r++)
        b[r] = (b[r] - dot(a + r * n, b, r)) / a[r * n + r];
    for (size_t r = n; r-- > 0;) {
        b[r] /= a[r * n + r];
        for (size_t c = 0; c < r; c++)
            b[c] -= a[r * n + c] * b[r];
    }
    return SW_OK;
}

/* Up to so many unknowns need no memory got for them: who fits a few takes a failure for figures that tell nothing. */
enum { FEW = 12 };

sw_status sw_cholesky_invert(double *a, size_t n)
{
    if (!fits(n, n))
        return SW_NO_MEMORY;
    double few[FEW * FEW] = {0}, *inverse = n <= FEW ? few : calloc(n * n, sizeof *inverse);
    if (!inverse)
        return SW_NO_MEMORY;
    sw_status status = factor(a, n);
    /* Row r of `inverse` becomes column r of L^-1, which starts at its element r; A^-1 = L^-T L^-1. */
    for (size_t r = 0; !status && r < n; r++) {
        double *column = inverse + r * n;
        for (size_t i = r; i < n; i++)
            column[i] = ((i == r) - dot(a + i * n + r, column + r, i - r)) / a[i * n + i];
    }
    for (size_t r = 0; !status && r < n; r++)
        for (size_t c = 0; c <= r; c++)
            a[r * n + c] = a[c * n + r] = dot(inverse + r * n + r, inverse + c * n + r, n - r);
    if (inverse != few)
        free(inverse);
    return status;
}
