#include "tops/result.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"

/* Covariance of two linear figures, each of one tile's own numbers: a of tile s, b of tile t. Through the common numbers, and, of the
 * same tile, directly. */
static double covariance(const sw_fitting *f, int s, const double a[SW_TOP_NUMBERS], int t,
                         const double b[SW_TOP_NUMBERS])
{
    int c = f->common;
    const sw_tops_block *p = &f->blocks[s], *q = &f->blocks[t];
    double sum = 0;
    for (int i = 0; i < c; i++) {
        double left = 0, across = 0;
        for (int k = 0; k < SW_TOP_NUMBERS; k++)
            left += a[k] * p->ratio[k * c + i];
        for (int j = 0; j < c && left != 0; j++) {
            double right = 0;
            for (int k = 0; k < SW_TOP_NUMBERS; k++)
                right += b[k] * q->ratio[k * c + j];
            across += f->all[i * c + j] * right;
        }
        sum += left * across;
    }
    for (int k = 0; s == t && k < SW_TOP_NUMBERS; k++)
        for (int l = 0; l < SW_TOP_NUMBERS; l++)
            sum += a[k] * p->inverse[k * p->numbers + l] * b[l];
    return sum;
}

double sw_fitting_variance(const sw_fitting *f, int tile, int number)
{
    double a[SW_TOP_NUMBERS] = {0};
    a[number] = 1;
    return covariance(f, tile, a, tile, a);
}

sw_status sw_fitting_unevenness(const sw_fitting *f, double *chi, double *freedom)
{
    size_t n = 0;
    for (int t = 0; t < f->tiles; t++)
        n += sw_fitting_tells(f, t) ? SW_TOP_NUMBERS : 0;
    double *v = malloc((n * n + 2 * n) * sizeof *v), *x = v ? v + n * n : NULL, *solved = x ? x + n : NULL;
    int *tile = malloc(n * sizeof *tile);
    size_t at = 0;
    if (!v || !tile) {
        free(v);
        free(tile);
        return SW_NO_MEMORY;
    }
    for (int t = 0; t < f->tiles; t++)
        for (int k = 0; k < SW_TOP_NUMBERS && sw_fitting_tells(f, t); k++) {
            tile[at] = t;
            solved[at] = x[at] = f->blocks[t].value[k];
            at++;
        }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            double a[SW_TOP_NUMBERS] = {0}, b[SW_TOP_NUMBERS] = {0};
            a[i % SW_TOP_NUMBERS] = b[j % SW_TOP_NUMBERS] = 1;
            v[i * n + j] = covariance(f, tile[i], a, tile[j], b);
        }
    sw_status status = sw_cholesky_solve(v, solved, n) ? SW_NOT_FOUND : SW_OK;
    *chi = 0;
    for (size_t i = 0; i < n; i++)
        *chi += x[i] * solved[i];
    *freedom = fmax(1, (double)n - SW_TOP_NUMBERS); /* height and slant of the whole are the frame's */
    free(v);
    free(tile);
    return status;
}

static double median_height(const sw_fitting *f)
{
    double z[SW_TOPS_MOST * SW_TOPS_MOST];
    size_t n = 0;
    for (int t = 0; t < f->tiles; t++)
        if (sw_fitting_tells(f, t))
            z[n++] = f->blocks[t].value[0];
    return sw_median(z, n);
}

/* Uncertainty of the step between two tiles, root mean square of a line's ends and middle. */
static double step_u(const sw_fitting *f, int s, int t, sw_point from, sw_point to)
{
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        sw_point at = sw_between(from, to, i / 2.0), m = f->blocks[s].middle, n = f->blocks[t].middle;
        const double a[] = {1, at.x - m.x, at.y - m.y}, b[] = {1, at.x - n.x, at.y - n.y};
        sum += covariance(f, s, a, s, a) + covariance(f, t, b, t, b) - 2 * covariance(f, s, a, t, b);
    }
    return sqrt(fmax(0, sum / 3));
}

static void fill_steps(const sw_fitting *f, double wider, sw_tops *tops)
{
    double mm = f->s->tile_mm;
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++) {
            int t = r * tops->columns + c;
            sw_point nw = {c * mm, -r * mm}, ne = {(c + 1) * mm, -r * mm}, sw = {c * mm, -(r + 1) * mm};
            if (c > 0)
                tops->step_u_upright_mm[c][r] = wider * step_u(f, t - 1, t, nw, sw);
            if (r > 0)
                tops->step_u_level_mm[c][r] = wider * step_u(f, t - tops->columns, t, nw, ne);
        }
}

/* The mean of all tops that something was told of: how many, its row of the common numbers, its own variance beside theirs. */
typedef struct mean_top {
    double count, *ratio, own;
} mean_top;

static void make_mean(sw_fitting *f, mean_top *m)
{
    *m = (mean_top){.ratio = f->row_sum};
    for (int t = 0; t < f->tiles; t++)
        m->count += sw_fitting_tells(f, t);
    for (int j = 0; j < f->common; j++)
        m->ratio[j] = 0;
    for (int t = 0; t < f->tiles; t++) {
        if (!sw_fitting_tells(f, t))
            continue;
        m->own += f->blocks[t].inverse[0] / (m->count * m->count);
        for (int j = 0; j < f->common; j++)
            m->ratio[j] += f->blocks[t].ratio[j] / m->count;
    }
}

/* Of a top's height against that mean. */
static double height_u(const sw_fitting *f, int tile, const mean_top *m)
{
    int c = f->common;
    const sw_tops_block *b = &f->blocks[tile];
    double sum = b->inverse[0] * (sw_fitting_tells(f, tile) ? 1 - 2 / m->count : 1) + m->own;
    for (int i = 0; i < c; i++)
        for (int j = 0; j < c; j++)
            sum += (b->ratio[i] - m->ratio[i]) * f->all[i * c + j] * (b->ratio[j] - m->ratio[j]);
    return sqrt(fmax(0, sum));
}

void sw_fitting_fill(sw_fitting *f, double wider, sw_tops *tops)
{
    double level = median_height(f);
    mean_top mean;
    memset(tops, 0, sizeof *tops);
    tops->source = SW_TOPS_MEASURED;
    tops->columns = f->s->columns;
    tops->rows = f->s->rows;
    tops->several = f->s->views > 1;
    tops->uneven = f->uneven || f->s->rim_count > 0;
    tops->spread_mm = f->prior.height_mm;
    tops->slope_spread = f->prior.slope;
    make_mean(f, &mean);
    for (int t = 0; t < f->tiles; t++) {
        int c = t % tops->columns, r = t / tops->columns;
        const sw_tops_block *b = &f->blocks[t];
        double z = sw_fitting_tells(f, t) ? b->value[0] - level : 0;
        tops->top[c][r] = (sw_top){z, b->value[1], b->value[2], b->middle};
        tops->told[c][r] = sw_fitting_tells(f, t);
        tops->height_u_mm[c][r] = wider * height_u(f, t, &mean);
        tops->slope_u[c][r] = wider * sqrt((sw_fitting_variance(f, t, 1) + sw_fitting_variance(f, t, 2)) / 2);
    }
    fill_steps(f, wider, tops);
}
