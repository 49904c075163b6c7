/* sw_lsq_fit: Levenberg-Marquardt, normal equations by Cholesky. A parameter is damped by the longest its column of the
 * jacobian has been so far (More 1978, "The Levenberg-Marquardt algorithm: implementation and theory"): units do not
 * matter, and a parameter that happens to have little say where the fit stands is not thrown far away. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"

/* Damping, as a share of the squared columns: where it starts, how it moves, where it ends. Marquardt's own are 0.01
 * and 10; the start is bolder because callers start near. Above DAMPING_MOST a step is below the rounding of the cost.
 */
static const double DAMPING_START = 1e-3;
static const double DAMPING_STEP = 10.0;
static const double DAMPING_LEAST = 1e-12;
static const double DAMPING_MOST = 1e12;

/* Share of the promised fall in cost above which the damping is lowered, and below which it is raised. */
static const double GOOD_GAIN = 0.75;
static const double POOR_GAIN = 0.25;

/* Settled: the step promises less than this share of the cost (1e-16: 1e-8 of the parameters' standard deviations, and
 * all that rounding of the cost can tell), or moves the model by less than STILL of what the parameters make of it. */
static const double SETTLED = 1e-16;
static const double STILL = 1e-12;
/* A fit out of rounds counts as settled when its last one lowered the cost by less than this share (1e-8: 1e-4 of the
 * residual's length, hence of a standard deviation for each residual). */
static const double NEARLY_SETTLED = 1e-8;

/* Relative rounding of a cost that is a sum of a few thousand squares. */
static const double COST_ROUNDING = 1e-14;

/* With no step left that lowers the cost, the residual must stand this squarely on every column (cosine of the angle)
 * for the place to count as a minimum. Differences leave about 1e-9; a wrong jacobian leaves far more. */
static const double SQUARE = 1e-6;

/* Half width of a central difference, as a share of the parameter's size or of 1, whichever is more. At most the cube
 * root of the rounding, which balances rounding and third derivative where a parameter is as large as what it changes;
 * at least the square root, where it is a small change of a large number (a place in px) that matters. Between them, as
 * little as moves the residual by DIFFERENCE_OF_RESIDUAL of itself. */
static const double DIFFERENCE_MOST = 6e-6;
static const double DIFFERENCE_LEAST = 1.5e-8;
static const double DIFFERENCE_OF_RESIDUAL = 1e-4;

typedef struct fit {
    sw_lsq_model model;
    void *context;
    size_t rows, columns;
    bool numeric;
    double *parameters; /* the caller's: the best so far */
    double cost;
    /* All in one block, of which jacobian is the start. */
    double *jacobian, *residual, *tried, *other; /* rows x columns, and rows each */
    double *normal, *work;                       /* J'J and a copy, columns x columns each */
    double *gradient, *step, *trial; /* columns each, and so the next two, which are 0 before the first jacobian */
    double *column_length, *longest; /* of the jacobian's columns: now, and squared, so far */
} fit;

static sw_status fit_take(fit *f)
{
    size_t m = f->rows, n = f->columns, most = SIZE_MAX / sizeof(double) / 8;
    if (m > most / (n + 3))
        return SW_NO_MEMORY;
    size_t count = m * n + 3 * m + 2 * n * n + 5 * n;
    f->jacobian = calloc(count, sizeof(double));
    if (!f->jacobian)
        return SW_NO_MEMORY;
    f->residual = f->jacobian + m * n;
    f->tried = f->residual + m;
    f->other = f->tried + m;
    f->normal = f->other + m;
    f->work = f->normal + n * n;
    f->gradient = f->work + n * n;
    f->step = f->gradient + n;
    f->trial = f->step + n;
    f->column_length = f->trial + n;
    f->longest = f->column_length + n;
    return SW_OK;
}

static double squares(const double *v, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += v[i] * v[i];
    return sum;
}

/* Cost at p with its residual; infinite where the model refuses or gives no numbers. */
static double cost_at(const fit *f, const double *p, double *residual)
{
    if (f->model(f->context, p, residual, NULL))
        return INFINITY;
    double cost = squares(residual, f->rows);
    return isfinite(cost) ? cost : INFINITY;
}

/* How far to go to either side of parameter c. */
static double difference_of(const fit *f, size_t c)
{
    double size = fmax(fabs(f->parameters[c]), 1.0), most = DIFFERENCE_MOST * size, least = DIFFERENCE_LEAST * size;
    if (!(f->column_length[c] > 0.0))
        return most;
    double wanted = DIFFERENCE_OF_RESIDUAL * sqrt(f->cost) / f->column_length[c];
    return fmin(fmax(wanted, least), most);
}

/* Central where the model answers on both sides, else one-sided. */
static sw_status difference_column(fit *f, size_t c)
{
    double *p = f->trial, h = difference_of(f, c);
    memcpy(p, f->parameters, f->columns * sizeof *p);
    p[c] = f->parameters[c] + h;
    double above = p[c], up = cost_at(f, p, f->tried);
    p[c] = f->parameters[c] - h;
    double below = p[c], down = cost_at(f, p, f->other);
    if (isinf(up) && isinf(down))
        return SW_BAD_INPUT;
    const double *high = isinf(up) ? f->residual : f->tried, *low = isinf(down) ? f->residual : f->other;
    double width = (isinf(up) ? f->parameters[c] : above) - (isinf(down) ? f->parameters[c] : below);
    for (size_t r = 0; r < f->rows; r++)
        f->jacobian[r * f->columns + c] = (high[r] - low[r]) / width;
    return SW_OK;
}

static sw_status take_jacobian(fit *f)
{
    if (!f->numeric)
        return f->model(f->context, f->parameters, f->tried, f->jacobian) ? SW_BAD_INPUT : SW_OK;
    for (size_t c = 0; c < f->columns; c++)
        if (difference_column(f, c))
            return SW_BAD_INPUT;
    return SW_OK;
}

/* normal = J'J, gradient = J'r. Zeros are skipped: the large problems are made of blocks. */
static void take_normal(fit *f)
{
    size_t n = f->columns;
    memset(f->normal, 0, n * n * sizeof *f->normal);
    memset(f->gradient, 0, n * sizeof *f->gradient);
    for (size_t r = 0; r < f->rows; r++) {
        const double *j = f->jacobian + r * n;
        for (size_t i = 0; i < n; i++) {
            if (j[i] == 0.0)
                continue;
            f->gradient[i] += j[i] * f->residual[r];
            for (size_t k = 0; k <= i; k++)
                f->normal[i * n + k] += j[i] * j[k];
        }
    }
    for (size_t i = 0; i < n; i++) {
        f->column_length[i] = sqrt(f->normal[i * n + i]);
        f->longest[i] = fmax(f->longest[i], f->normal[i * n + i]);
    }
}

/* (J'J + damping D) step = -J'r, D diagonal, the squares of the longest columns so far. A parameter that never had a
 * say gets 1 for its diagonal, hence the step 0. Returns the fall in cost that the linear model promises, NaN when the
 * matrix cannot be solved. */
static double take_step(fit *f, double damping)
{
    size_t n = f->columns;
    memcpy(f->work, f->normal, n * n * sizeof *f->work);
    for (size_t i = 0; i < n; i++) {
        f->work[i * n + i] += f->longest[i] > 0.0 ? damping * f->longest[i] : 1.0;
        f->step[i] = -f->gradient[i];
    }
    if (sw_cholesky_solve(f->work, f->step, n))
        return NAN;
    /* cost(0) - cost(step) = -2 g.s - s'J'J s, and s'J'J s = -g.s - damping s'D s. */
    double promise = 0.0;
    for (size_t i = 0; i < n; i++)
        promise += f->step[i] * (damping * f->longest[i] * f->step[i] - f->gradient[i]);
    return promise;
}

static bool is_still(const fit *f)
{
    double moved = 0.0, whole = 0.0;
    for (size_t i = 0; i < f->columns; i++) {
        double s = f->column_length[i] * f->step[i], p = f->column_length[i] * f->parameters[i];
        moved += s * s;
        whole += p * p;
    }
    return moved <= STILL * STILL * whole;
}

/* Is the residual square to every column? */
static bool is_minimum(const fit *f)
{
    double length = sqrt(f->cost);
    for (size_t i = 0; i < f->columns; i++)
        if (fabs(f->gradient[i]) > SQUARE * length * f->column_length[i])
            return false;
    return true;
}

/* Tries the step; takes it when the cost falls, or rises by less than `slack`. Returns the fall, NaN when not taken. */
static double try_step(fit *f, double slack)
{
    for (size_t i = 0; i < f->columns; i++)
        f->trial[i] = f->parameters[i] + f->step[i];
    double cost = cost_at(f, f->trial, f->tried), fall = f->cost - cost;
    if (!(fall > -slack))
        return NAN;
    memcpy(f->parameters, f->trial, f->columns * sizeof *f->trial);
    memcpy(f->residual, f->tried, f->rows * sizeof *f->tried);
    f->cost = cost;
    return fall;
}

enum outcome { MOVED, AT_MINIMUM, STUCK };

/* One round on one jacobian: raises the damping until a step lowers the cost. */
static enum outcome round_of(fit *f, double *damping)
{
    for (; *damping <= DAMPING_MOST; *damping *= DAMPING_STEP) {
        double promise = take_step(f, *damping);
        if (!(promise >= 0.0))
            continue;
        bool settled = *damping <= 1.0 && (promise <= SETTLED * f->cost || is_still(f));
        /* The last step is good to more digits than the cost can show. */
        double fall = try_step(f, settled ? COST_ROUNDING * f->cost : 0.0);
        if (settled)
            return AT_MINIMUM;
        if (isnan(fall))
            continue;
        if (fall > GOOD_GAIN * promise)
            *damping = fmax(*damping / DAMPING_STEP, DAMPING_LEAST);
        else if (fall < POOR_GAIN * promise)
            *damping *= DAMPING_STEP;
        return MOVED;
    }
    return is_minimum(f) ? AT_MINIMUM : STUCK;
}

static sw_status run(fit *f, int max_rounds)
{
    double damping = DAMPING_START, before = INFINITY;
    f->cost = cost_at(f, f->parameters, f->residual);
    if (isinf(f->cost))
        return SW_BAD_INPUT;
    for (int round = 0; round < max_rounds; round++) {
        if (take_jacobian(f))
            return SW_BAD_INPUT;
        take_normal(f);
        before = f->cost;
        enum outcome outcome = round_of(f, &damping);
        if (outcome != MOVED)
            return outcome == AT_MINIMUM ? SW_OK : SW_BAD_INPUT;
    }
    return before - f->cost <= NEARLY_SETTLED * f->cost ? SW_OK : SW_NOT_FOUND;
}

sw_status sw_lsq_fit(sw_lsq_model model, void *context, size_t rows, size_t columns, bool numeric, int max_rounds,
                     double *parameters, double *covariance, double *cost)
{
    if (covariance)
        memset(covariance, 0, columns * columns * sizeof *covariance);
    if (cost)
        *cost = INFINITY;
    if (rows < columns || columns == 0)
        return SW_BAD_INPUT;
    fit f = {.model = model,
             .context = context,
             .rows = rows,
             .columns = columns,
             .numeric = numeric,
             .parameters = parameters};
    sw_status status = fit_take(&f);
    if (status)
        return status;
    status = run(&f, max_rounds);
    if (status == SW_OK || status == SW_NOT_FOUND) {
        sw_status inverse = sw_cholesky_invert(f.normal, columns);
        if (!inverse && covariance)
            memcpy(covariance, f.normal, columns * columns * sizeof *covariance);
        status = inverse ? inverse : status;
    }
    if (cost)
        *cost = f.cost;
    free(f.jacobian);
    return status;
}
