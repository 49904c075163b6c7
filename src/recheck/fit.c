#include "recheck/fit.h"

#include <math.h>
#include <stdlib.h>

#include "push/lp.h"

/* An outline's middle is fitted, so it cannot lie further off than this, mm. */
static const double MOTION_MOST_MM = 60;
/* A motion fits when it costs no more than this above the best one. Cost is minus the log-likelihood of Laplace's
 * distribution, so 2 is twice the standard deviation (95 %) of a normal one. */
static const double SLACK = 2;
/* Fewer places than this on a side do not hold an outline. */
enum { LEAST_PLACES = 4, MOTIONS = 3 };

/* Columns 0 and 1: the shift east and north; 2: the turn times half, mm. Then, by place, what came off there and what
 * would have had to grow. */
typedef struct programme {
    sw_lp *lp;
    size_t count;
    int cost_row;
} programme;

/* n . d - phi u as terms of the motions. */
static void motion_terms(int side, double u_mm, double half_mm, double factor[MOTIONS])
{
    static const double nx[] = {0, 1, 0, -1}, ny[] = {1, 0, -1, 0};
    factor[0] = nx[side];
    factor[1] = ny[side];
    factor[2] = -u_mm / half_mm;
}

static double cost_of(const sw_fit_place *place)
{
    double spread = place->shape_mm / M_SQRT2; /* Laplace's scale with that standard deviation */
    return 2 * SW_OUTLINE_PITCH_MM / SW_TOGETHER_MM / spread;
}

static sw_status set_up(programme *p, const sw_fit_place *places, size_t count, double half_mm, sw_error *err)
{
    sw_lp_term *limit = calloc(2 * count + 1, sizeof *limit);
    size_t limits = 0;
    p->lp = sw_lp_new();
    p->count = count;
    if (!p->lp || !limit) {
        free(limit);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    }
    for (int k = 0; k < MOTIONS; k++)
        sw_lp_column(p->lp, -MOTION_MOST_MM, MOTION_MOST_MM, 0);
    for (size_t i = 0; i < count; i++) {
        double cost = cost_of(&places[i]), factor[MOTIONS];
        int off = sw_lp_column(p->lp, 0, INFINITY, places[i].free ? 0 : cost);
        int grown = sw_lp_column(p->lp, 0, INFINITY, cost);
        motion_terms(places[i].side, places[i].u_mm, half_mm, factor);
        sw_lp_term terms[] = {{off, 1}, {grown, -1}, {0, factor[0]}, {1, factor[1]}, {2, factor[2]}};
        sw_lp_row(p->lp, places[i].missing_mm, places[i].missing_mm, terms, 5);
        if (!places[i].free)
            limit[limits++] = (sw_lp_term){off, cost};
        limit[limits++] = (sw_lp_term){grown, cost};
    }
    p->cost_row = sw_lp_row(p->lp, -INFINITY, INFINITY, limit, limits);
    free(limit);
    return SW_OK;
}

/* From here on the cost is a limit, and the motions alone are looked at. */
static void limit_cost(programme *p, double most)
{
    for (size_t i = 0; i < 2 * p->count; i++)
        sw_lp_set_cost(p->lp, MOTIONS + (int)i, 0);
    sw_lp_set_row(p->lp, p->cost_row, -INFINITY, most);
}

/* Least (sign 1) or most (-1) of n . d - phi u. */
static sw_status extreme(programme *p, const double factor[MOTIONS], double sign, double *value, sw_error *err)
{
    for (int k = 0; k < MOTIONS; k++)
        sw_lp_set_cost(p->lp, k, sign * factor[k]);
    sw_status status = sw_lp_solve(p->lp, err);
    *value = 0;
    for (int k = 0; !status && k < MOTIONS; k++)
        *value += factor[k] * sw_lp_value(p->lp, k);
    return status;
}

static bool held(const sw_fit_place *places, size_t count)
{
    int on[4] = {0};
    for (size_t i = 0; i < count; i++)
        on[places[i].side]++;
    return on[0] >= LEAST_PLACES && on[1] >= LEAST_PLACES && on[2] >= LEAST_PLACES && on[3] >= LEAST_PLACES;
}

/* After the best motion was found. */
static double astray(const programme *p, const sw_fit_place *places)
{
    double sum = 0;
    int held = 0;
    for (size_t i = 0; i < p->count; i++)
        if (!places[i].free) {
            sum += sw_lp_value(p->lp, MOTIONS + 2 * (int)i) + sw_lp_value(p->lp, MOTIONS + 2 * (int)i + 1);
            held++;
        }
    return held ? sum / held : 0;
}

/* SW_NOT_FOUND: too little is held to tell. The programme is the caller's to free in any case. */
static sw_status solve(programme *p, const sw_fit_place *places, size_t count, double half_mm, sw_error *err)
{
    if (!held(places, count))
        return SW_NOT_FOUND;
    sw_status status = set_up(p, places, count, half_mm, err);
    if (!status)
        status = sw_lp_solve(p->lp, err);
    return status == SW_NOT_FOUND ? SW_BROKEN : status;
}

sw_status sw_fit_outline(const sw_fit_place *places, size_t count, double half_mm, sw_fit *fit, sw_error *err)
{
    programme p = {0};
    sw_status solved = solve(&p, places, count, half_mm, err), status = solved;
    if (!status) {
        fit->astray_mm = astray(&p, places);
        limit_cost(&p, sw_lp_cost(p.lp) + SLACK);
    }
    for (int s = 0; s < 4 && !status; s++)
        for (int end = 0; end < 2 && !status; end++) {
            double factor[MOTIONS], least, most = 0;
            motion_terms(s, end ? half_mm : -half_mm, half_mm, factor);
            status = extreme(&p, factor, 1, &least, err);
            if (!status)
                status = extreme(&p, factor, -1, &most, err);
            fit->middle_mm[s][end] = (least + most) / 2;
            fit->range_mm[s][end] = (most - least) / 2;
        }
    sw_lp_free(&p.lp);
    return !solved && status == SW_NOT_FOUND ? SW_BROKEN : status;
}

static double between(const double end[2], double u_mm, double half_mm)
{
    double share = fmin(1, fmax(0, (u_mm + half_mm) / (2 * half_mm)));
    return end[0] + share * (end[1] - end[0]);
}

double sw_fit_middle(const sw_fit *fit, int side, double u_mm, double half_mm)
{
    return between(fit->middle_mm[side], u_mm, half_mm);
}

double sw_fit_range(const sw_fit *fit, int side, double u_mm, double half_mm)
{
    return between(fit->range_mm[side], u_mm, half_mm);
}

sw_status sw_fit_grown(const sw_fit_place *places, size_t count, double half_mm, double *cost, sw_error *err)
{
    programme p = {0};
    sw_status status = solve(&p, places, count, half_mm, err);
    *cost = status ? 0 : sw_lp_cost(p.lp);
    sw_lp_free(&p.lp);
    return status;
}
