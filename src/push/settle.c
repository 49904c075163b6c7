/* settle.c - the linear programme of pushing: three motions a tile, one widest gap a joint, one widest gap of all. */
#include "push/settle.h"

#include <math.h>
#include <stdlib.h>

#include "push/motion.h"

/* More than this is no pushing together, mm and radians: a table whose tiles lie that far apart is laid anew. */
static const double MOST_MM = 40, MOST_RAD = 0.05;
/* What comes first weighs so much more than what comes next that no gain there can outweigh it: widest gap over the sum
 * of all widest ones (at most some hundred joints trade against one), that over all mean gaps. */
static const double WORST_COST = 1e3, SUM_COST = 1, MEAN_COST = 0.01;

typedef struct columns {
    int motion; /* of tile 1; three a tile */
    int widest; /* of joint 0 */
    int worst;
} columns;

void sw_joint_slopes(const sw_joint *joint, double at_mm, const sw_point *centres, double slopes[6])
{
    sw_point p = {joint->start_mm.x + at_mm * joint->along.x, joint->start_mm.y + at_mm * joint->along.y},
             n = joint->across;
    for (int k = 0; k < 2; k++) {
        sw_point c = centres[k ? joint->second : joint->first];
        double sign = k ? 1 : -1;
        slopes[3 * k] = sign * n.x;
        slopes[3 * k + 1] = sign * n.y;
        slopes[3 * k + 2] = sign * (n.y * (p.x - c.x) - n.x * (p.y - c.y)); /* perp(v) = (-v.y, v.x) */
    }
}

double sw_joint_gap(const sw_joint *joint, const sw_joint_point *point, const sw_point *centres,
                    const sw_motion *motions)
{
    double s[6];
    const sw_motion *a = &motions[joint->first], *b = &motions[joint->second];
    sw_joint_slopes(joint, point->at_mm, centres, s);
    return point->gap_mm + s[0] * a->x_mm + s[1] * a->y_mm + s[2] * a->turn_rad + s[3] * b->x_mm + s[4] * b->y_mm +
           s[5] * b->turn_rad;
}

int sw_motion_terms(const sw_joint *joint, double at_mm, const sw_point *centres, int motion_column,
                    sw_lp_term terms[6])
{
    double s[6];
    int count = 0;
    sw_joint_slopes(joint, at_mm, centres, s);
    for (int k = 0; k < 6; k++) {
        int tile = k < 3 ? joint->first : joint->second;
        if (tile > 0) /* tile 0 stays */
            terms[count++] =
                (sw_lp_term){motion_column + 3 * (tile - 1) + k % 3, k % 3 == 2 ? s[k] / SW_MOTION_RADIUS_MM : s[k]};
    }
    return count;
}

int sw_motion_columns(sw_lp *lp, size_t tiles)
{
    int first = 0;
    for (size_t t = 1; t < tiles; t++)
        for (int k = 0; k < 3; k++) {
            double most = k == 2 ? MOST_RAD * SW_MOTION_RADIUS_MM : MOST_MM;
            int column = sw_lp_column(lp, -most, most, 0);
            if (t == 1 && k == 0)
                first = column;
        }
    return first;
}

void sw_motions_take(const sw_lp *lp, int first, size_t tiles, sw_motion *motions)
{
    motions[0] = (sw_motion){0, 0, 0};
    for (size_t t = 1; t < tiles; t++) {
        int column = first + 3 * (int)(t - 1);
        motions[t] = (sw_motion){sw_lp_value(lp, column), sw_lp_value(lp, column + 1),
                                 sw_lp_value(lp, column + 2) / SW_MOTION_RADIUS_MM};
    }
}

static void add_joint(sw_lp *lp, const columns *at, const sw_point *centres, const sw_joint *joint, int j,
                      double *slope_cost)
{
    sw_lp_term terms[7];
    for (size_t i = 0; i < joint->point_count; i++) {
        const sw_joint_point *p = &joint->points[i];
        int count = sw_motion_terms(joint, p->at_mm, centres, at->motion, terms);
        if (p->apart)
            sw_lp_row(lp, joint->floor_mm - p->gap_mm, INFINITY, terms, (size_t)count);
        for (int k = 0; k < count; k++)
            slope_cost[terms[k].column - at->motion] += MEAN_COST * terms[k].factor / (double)joint->point_count;
        if (!p->limits)
            continue;
        terms[count++] = (sw_lp_term){at->widest + j, -1};
        sw_lp_row(lp, -INFINITY, -p->gap_mm, terms, (size_t)count);
    }
    sw_lp_term below[2] = {{at->widest + j, 1}, {at->worst, -1}};
    sw_lp_row(lp, -INFINITY, joint->allow_mm, below, 2);
}

static columns add_columns(sw_lp *lp, size_t tiles, size_t joints)
{
    columns at = {.motion = sw_motion_columns(lp, tiles)};
    for (size_t j = 0; j < joints; j++) {
        int column = sw_lp_column(lp, 0, INFINITY, SUM_COST);
        at.widest = j ? at.widest : column;
    }
    at.worst = sw_lp_column(lp, 0, INFINITY, WORST_COST);
    return at;
}

static void take_joint(const sw_joint *joint, const sw_point *centres, int j, sw_settled *settled)
{
    double sum = 0;
    size_t n = 0;
    settled->max_mm[j] = settled->mean_mm[j] = NAN;
    for (size_t i = 0; i < joint->point_count; i++) {
        if (!joint->points[i].limits)
            continue;
        double gap = fmax(0, sw_joint_gap(joint, &joint->points[i], centres, settled->motions));
        settled->max_mm[j] = n ? fmax(settled->max_mm[j], gap) : gap;
        sum += gap;
        n++;
    }
    if (!n)
        return;
    settled->mean_mm[j] = sum / (double)n;
    settled->worst_mm = fmax(settled->worst_mm, settled->max_mm[j]);
    settled->sum_mm += settled->max_mm[j];
}

sw_status sw_settled_new(size_t tiles, size_t joints, sw_settled *settled, sw_error *err)
{
    *settled = (sw_settled){calloc(tiles + 1, sizeof(sw_motion)), calloc(joints + 1, sizeof(double)),
                            calloc(joints + 1, sizeof(double)), 0, 0};
    if (settled->motions && settled->max_mm && settled->mean_mm)
        return SW_OK;
    sw_settled_free(settled);
    return sw_fail(err, SW_NO_MEMORY, "not enough memory to push %zu tiles together", tiles);
}

void sw_settled_take(const sw_joint *joints, size_t count, const sw_point *centres, sw_settled *settled)
{
    for (size_t j = 0; j < count; j++)
        take_joint(&joints[j], centres, (int)j, settled);
}

void sw_settled_free(sw_settled *settled)
{
    free(settled->motions);
    free(settled->max_mm);
    free(settled->mean_mm);
    *settled = (sw_settled){0};
}

sw_status sw_settle(const sw_point *centres, size_t tiles, const sw_joint *joints, size_t joint_count,
                    sw_settled *settled, sw_error *err)
{
    double *slope_cost = calloc(3 * tiles + 1, sizeof *slope_cost);
    sw_lp *lp = sw_lp_new();
    sw_status status = sw_settled_new(tiles, joint_count, settled, err);
    if (!status && (!lp || !slope_cost))
        status = sw_fail(err, SW_NO_MEMORY, "not enough memory to push %zu tiles together", tiles);
    if (status)
        goto done;
    columns at = add_columns(lp, tiles, joint_count);
    for (size_t j = 0; j < joint_count; j++)
        add_joint(lp, &at, centres, &joints[j], (int)j, slope_cost);
    for (size_t k = 0; tiles > 1 && k < 3 * (tiles - 1); k++)
        sw_lp_set_cost(lp, at.motion + (int)k, slope_cost[k]);
    status = sw_lp_solve(lp, err);
    if (status)
        goto done;
    sw_motions_take(lp, at.motion, tiles, settled->motions);
    sw_settled_take(joints, joint_count, centres, settled);
done:
    free(slope_cost);
    sw_lp_free(&lp);
    if (status)
        sw_settled_free(settled);
    return status;
}
