#include "tops/equations.h"

#include <math.h>
#include <string.h>

#include "maths/lsq.h"
#include "tops/camera.h"

void sw_equations_clear(sw_fitting *f)
{
    size_t c = (size_t)f->common;
    memset(f->all, 0, c * c * sizeof *f->all);
    memset(f->side, 0, c * sizeof *f->side);
    f->cost = f->count = f->agreed = f->knots = 0;
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        size_t n = (size_t)b->numbers;
        memset(b->own, 0, n * n * sizeof *b->own);
        memset(b->side, 0, n * sizeof *b->side);
        memset(b->cross, 0, n * c * sizeof *b->cross);
    }
}

/* The numbers an observation depends on: indices into its block, then into the common ones. */
typedef struct row {
    int own_count, common_count, own_at[SW_TOP_NUMBERS + SW_CARD_NUMBERS],
        common_at[SW_LENS_NUMBERS + 1 + SW_CAMERA_NUMBERS];
    double own[SW_TOP_NUMBERS + SW_CARD_NUMBERS], common[SW_LENS_NUMBERS + 1 + SW_CAMERA_NUMBERS];
} row;

static row row_of(const sw_fitting *f, const sw_observation *o)
{
    row r = {0};
    for (int i = 0; i < SW_TOP_NUMBERS; i++) {
        r.own_at[r.own_count] = i;
        r.own[r.own_count++] = o->own[i];
    }
    for (int i = 0; o->card_at && i < SW_CARD_NUMBERS; i++) {
        r.own_at[r.own_count] = o->card_at + i;
        r.own[r.own_count++] = o->card[i];
    }
    for (int j = 0; j < f->lens_numbers; j++) {
        r.common_at[r.common_count] = j;
        r.common[r.common_count++] = o->lens[j];
    }
    if (o->card_at) {
        r.common_at[r.common_count] = f->lens_numbers;
        r.common[r.common_count++] = o->thickness;
    }
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++) {
        r.common_at[r.common_count] = sw_at_camera(f, o->view) + i;
        r.common[r.common_count++] = o->camera[i];
    }
    return r;
}

void sw_equations_add(sw_fitting *f, const sw_observation *o)
{
    sw_tops_block *b = &f->blocks[o->tile];
    row r = row_of(f, o);
    for (int i = 0; i < r.own_count; i++) {
        double w = o->weight * r.own[i];
        b->side[r.own_at[i]] += w * o->rest;
        for (int j = 0; j < r.own_count; j++)
            b->own[r.own_at[i] * b->numbers + r.own_at[j]] += w * r.own[j];
        for (int j = 0; j < r.common_count; j++)
            b->cross[r.own_at[i] * f->common + r.common_at[j]] += w * r.common[j];
    }
    for (int i = 0; i < r.common_count; i++) {
        double w = o->weight * r.common[i];
        f->side[r.common_at[i]] += w * o->rest;
        for (int j = 0; j < r.common_count; j++)
            f->all[r.common_at[i] * f->common + r.common_at[j]] += w * r.common[j];
    }
    f->cost += o->weight * o->rest * o->rest;
    f->count++;
}

/* The rim at a knot lies somewhere: what the photos say of it counts only as far as they differ. Eliminating its place takes the
 * weighted mean row, `sum` over the weights, away from the equations. */
static void take_mean(sw_fitting *f, int tile, const double *sum, double weight, double rest)
{
    sw_tops_block *b = &f->blocks[tile];
    const double *common = sum + SW_TOP_NUMBERS;
    for (int i = 0; i < SW_TOP_NUMBERS; i++) {
        b->side[i] -= sum[i] * rest / weight;
        for (int j = 0; j < SW_TOP_NUMBERS; j++)
            b->own[i * b->numbers + j] -= sum[i] * sum[j] / weight;
        for (int j = 0; j < f->common; j++)
            b->cross[i * f->common + j] -= sum[i] * common[j] / weight;
    }
    for (int i = 0; i < f->common; i++) {
        f->side[i] -= common[i] * rest / weight;
        for (int j = 0; j < f->common && common[i] != 0; j++)
            f->all[i * f->common + j] -= common[i] * common[j] / weight;
    }
    f->cost -= rest * rest / weight;
    f->count--;
}

static void sum_row(const sw_fitting *f, const sw_observation *o, double *sum)
{
    row r = row_of(f, o);
    for (int i = 0; i < r.own_count; i++)
        sum[r.own_at[i]] += o->weight * r.own[i];
    for (int j = 0; j < r.common_count; j++)
        sum[SW_TOP_NUMBERS + r.common_at[j]] += o->weight * r.common[j];
}

void sw_equations_add_alike(sw_fitting *f, const sw_observation *observations, int count)
{
    double weight = 0, rest = 0;
    memset(f->row_sum, 0, (size_t)(f->common + SW_TOP_NUMBERS) * sizeof *f->row_sum);
    for (int i = 0; i < count; i++) {
        const sw_observation *o = &observations[i];
        weight += o->weight;
        rest += o->weight * o->rest;
        sw_equations_add(f, o);
        sum_row(f, o, f->row_sum);
    }
    take_mean(f, observations->tile, f->row_sum, weight, rest);
}

void sw_equations_prior(double value, double sd, double *own, double *side, double *cost)
{
    *own += 1 / (sd * sd);
    *side += value / (sd * sd);
    *cost += value * value / (sd * sd);
}

sw_status sw_equations_solve(sw_fitting *f)
{
    int c = f->common;
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        int n = b->numbers;
        memcpy(b->inverse, b->own, (size_t)n * (size_t)n * sizeof *b->own);
        if (sw_cholesky_invert(b->inverse, (size_t)n))
            return SW_NOT_FOUND;
        for (int i = 0; i < n; i++)
            for (int j = 0; j < c; j++) {
                double sum = 0;
                for (int k = 0; k < n; k++)
                    sum += b->inverse[i * n + k] * b->cross[k * c + j];
                b->ratio[i * c + j] = sum;
            }
        for (int i = 0; i < n; i++) {
            double solved = 0;
            for (int k = 0; k < n; k++)
                solved += b->inverse[i * n + k] * b->side[k];
            for (int j = 0; j < c; j++) {
                double cross = b->cross[i * c + j];
                if (cross == 0)
                    continue;
                f->side[j] -= cross * solved;
                for (int k = 0; k < c; k++)
                    f->all[j * c + k] -= cross * b->ratio[i * c + k];
            }
        }
    }
    return sw_cholesky_invert(f->all, (size_t)c); /* now the common numbers' covariance */
}

double sw_equations_move(sw_fitting *f)
{
    int c = f->common;
    double *step = f->row_sum, most = 0;
    for (int i = 0; i < c; i++) {
        step[i] = 0;
        for (int j = 0; j < c; j++)
            step[i] -= f->all[i * c + j] * f->side[j];
    }
    for (int j = 0; j < f->lens_numbers; j++)
        f->lens_z[j] += step[j];
    f->thickness_mm += step[f->lens_numbers];
    for (int v = 0; v < f->s->views; v++)
        sw_tops_camera_move(&f->cameras[v], step + sw_at_camera(f, v));
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        for (int i = 0; i < b->numbers; i++) {
            double by = 0;
            for (int k = 0; k < b->numbers; k++)
                by -= b->inverse[i * b->numbers + k] * b->side[k];
            for (int j = 0; j < c; j++)
                by -= b->ratio[i * c + j] * step[j];
            b->value[i] += by;
            if (i < SW_TOP_NUMBERS)
                most = fmax(most, fabs(by) / (i ? 1e-4 : 0.01));
        }
    }
    return most;
}
