/* side_error.c - see README.md, Sides are wrong together. With independent errors D and common ones B S B', B's columns made orthonormal over D, the
 * covariance is D^(1/2) (I + P G P') D^(1/2), so that along each column of P a residual is divided by sqrt(1 + G). */
#include "scale/side_error.h"

#include <math.h>

/* What all of a side's points are wrong by, px (standard deviation): offset, half the difference of its ends, height of its bow. Seen on
 * made photos with the true lens; mosaic, sharpening and JPEG act on all of an edge alike. */
static const double COMMON_PX[SW_SIDE_SHAPES] = {0.008, 0.008, 0.008};
/* Numbers left over from which the sides themselves tell how wrong they are. */
enum { LEFT_LEAST = 8 };

/* Misfits up to here come of chance, and of photos whose noise the points' own scatter does not show (clean ones: up to 1.8). What is
 * beyond counts for a square, not for one of its sides: a frame has eight, of which some four tell a figure. */
static const double MISFIT_CHANCE = 1.8, SIDES_ALIKE = 4;

/* Takes the shapes before out of one, and makes it a unit vector; returns its length before. */
static double make_unit(sw_side_error *e, int shape)
{
    double length = 0;
    for (int k = 0; k < shape; k++) {
        double along = 0;
        for (int i = 0; i < e->count; i++)
            along += e->shape[k][i] * e->shape[shape][i];
        for (int i = 0; i < e->count; i++)
            e->shape[shape][i] -= along * e->shape[k][i];
    }
    for (int i = 0; i < e->count; i++)
        length += e->shape[shape][i] * e->shape[shape][i];
    length = sqrt(length);
    for (int i = 0; i < e->count; i++)
        e->shape[shape][i] /= length;
    return length;
}

void sw_side_errors_add(sw_side_errors *errors, int first, int count, const double *along, const double *sd_px)
{
    if (count <= SW_SIDE_SHAPES || errors->count == SW_SIDES_MOST)
        return;
    sw_side_error *e = &errors->side[errors->count];
    *e = (sw_side_error){.first = first, .count = count};
    double low = along[0], high = along[count - 1];
    if (!(fabs(high - low) > 0))
        return;
    for (int i = 0; i < count; i++) {
        double t = 2 * (along[i] - low) / (high - low) - 1;
        e->shape[0][i] = 1 / sd_px[i];
        e->shape[1][i] = t / sd_px[i];
        e->shape[2][i] = (1.5 * t * t - 0.5) / sd_px[i];
    }
    for (int k = 0; k < SW_SIDE_SHAPES; k++) {
        double common = COMMON_PX[k] * make_unit(e, k);
        e->keep[k] = 1 / sqrt(1 + common * common);
    }
    errors->count++;
}

static double share(const sw_side_error *e, int shape, const double *residuals)
{
    double sum = 0;
    for (int i = 0; i < e->count; i++)
        sum += e->shape[shape][i] * residuals[e->first + i];
    return sum;
}

void sw_side_errors_weigh(const sw_side_errors *errors, double *residuals)
{
    for (int s = 0; s < errors->count; s++) {
        const sw_side_error *e = &errors->side[s];
        for (int k = 0; k < SW_SIDE_SHAPES; k++) {
            double off = (1 - e->keep[k]) * share(e, k, residuals);
            for (int i = 0; i < e->count; i++)
                residuals[e->first + i] -= off * e->shape[k][i];
        }
    }
}

double sw_side_errors_misfit(const sw_side_errors *errors, const double *residuals, int fitted)
{
    double sum = 0;
    int left = SW_SIDE_SHAPES * errors->count - fitted;
    for (int s = 0; s < errors->count; s++)
        for (int k = 0; k < SW_SIDE_SHAPES; k++) {
            double along = share(&errors->side[s], k, residuals);
            sum += along * along;
        }
    return left < LEFT_LEAST ? 1 : sum / left;
}

double sw_misfit_inflation(double misfit)
{
    return misfit + (SIDES_ALIKE - 1) * fmax(0, misfit - MISFIT_CHANCE);
}
