/* press.c - the linear programme of an ordinary push: three motions a tile, and of every joint the places that can come
 * to touch. As a motion changes the gap along a joint by a straight line, only the hull of its gaps can. */
#include "push/press.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

#include "maths/hull.h"
#include "push/motion.h"

/* What a mm of motion (of a turn, at SW_MOTION_RADIUS_MM) costs in mm of gap where tiles keep still: ways that differ by
 * less are equal to hands. Common practice, no source. */
static const double STILL_COST = 0.03;

/* Uneven hands press harder or less hard by up to this share. Common practice, no source. */
static const double UNEVEN = 0.3;

typedef struct pressing {
    const sw_point *centres;
    size_t tiles;
    const sw_joint *joints;
    size_t count;
    double *slopes; /* of each joint's mean gap in the six motions of its tiles */
    double *cost;   /* of all motions */
    sw_lp *lp;
    int motion, moved; /* first columns: of the motions; of how far each goes either way */
} pressing;

/* A joint's mean gap changes with the motions as the gap at its points' mean place does. */
static void add_joint(pressing *p, size_t j, sw_point *hull)
{
    const sw_joint *joint = &p->joints[j];
    size_t n = 0;
    double sum = 0;
    for (size_t i = 0; i < joint->point_count; i++) {
        sum += joint->points[i].at_mm;
        if (joint->points[i].apart)
            hull[n++] = (sw_point){joint->points[i].at_mm, joint->points[i].gap_mm};
    }
    if (!joint->point_count)
        return;
    sw_joint_slopes(joint, sum / (double)joint->point_count, p->centres, p->slopes + 6 * j);
    n = sw_hull(hull, n, hull);
    for (size_t i = 0; i < n; i++) {
        sw_lp_term terms[6];
        int count = sw_motion_terms(joint, hull[i].x, p->centres, p->motion, terms);
        sw_lp_row(p->lp, joint->floor_mm - hull[i].y, INFINITY, terms, (size_t)count);
    }
}

/* How many tiles lie beyond a joint, seen from a corner of the table, in its row or column; the half counts for the
 * tile next to it. */
static double beyond(const pressing *p, size_t j, sw_press_way way)
{
    double east = way == SW_PRESS_NW || way == SW_PRESS_SW ? 1 : -1,
           north = way == SW_PRESS_SE || way == SW_PRESS_SW ? 1 : -1;
    const sw_joint *joint = &p->joints[j];
    sw_point a = p->centres[joint->first], b = p->centres[joint->second];
    bool level = fabs(joint->across.y) > fabs(joint->across.x);
    double pitch = hypot(b.x - a.x, b.y - a.y), far = -INFINITY;
    for (size_t t = 0; t < p->tiles; t++)
        far = fmax(far, level ? north * p->centres[t].y : east * p->centres[t].x);
    double here = level ? north * (a.y + b.y) / 2 : east * (a.x + b.x) / 2;
    return pitch > 0 ? fmax(1, (far - here) / pitch + 0.5) : 1;
}

/* 1 less or more up to UNEVEN, by chance that depends on the joint and the way only (Knuth's multiplicative hash). */
static double uneven(size_t j, sw_press_way way)
{
    uint32_t hash = (uint32_t)(j * SW_PRESS_WAYS + way + 1) * 2654435761u;
    return 1 + UNEVEN * ((hash >> 16) / 32767.5 - 1);
}

static double weight_of(const pressing *p, size_t j, sw_press_way way)
{
    if (way <= SW_PRESS_STILL)
        return 1;
    return way >= SW_PRESS_UNEVEN ? uneven(j, way) : beyond(p, j, way);
}

static void set_costs(pressing *p, sw_press_way way)
{
    for (size_t k = 0; k < 3 * p->tiles; k++)
        p->cost[k] = 0;
    for (size_t j = 0; j < p->count; j++) {
        double weight = weight_of(p, j, way);
        for (int k = 0; k < 6; k++) {
            int tile = k < 3 ? p->joints[j].first : p->joints[j].second;
            p->cost[3 * tile + k % 3] += weight * p->slopes[6 * j + (size_t)k] / (k % 3 == 2 ? SW_MOTION_RADIUS_MM : 1);
        }
    }
    for (size_t k = 3; k < 3 * p->tiles; k++) {
        sw_lp_set_cost(p->lp, p->motion + (int)k - 3, p->cost[k]);
        if (p->moved >= 0)
            sw_lp_set_cost(p->lp, p->moved + (int)k - 3, way == SW_PRESS_STILL ? STILL_COST : 0);
    }
}

/* moved >= motion, moved >= -motion */
static void add_moved(pressing *p)
{
    for (size_t k = 3; k < 3 * p->tiles; k++) {
        int column = sw_lp_column(p->lp, 0, INFINITY, 0);
        p->moved = k == 3 ? column : p->moved;
    }
    for (int k = 0; k < 3 * ((int)p->tiles - 1); k++) {
        const sw_lp_term up[2] = {{p->moved + k, 1}, {p->motion + k, -1}},
                         down[2] = {{p->moved + k, 1}, {p->motion + k, 1}};
        sw_lp_row(p->lp, 0, INFINITY, up, 2);
        sw_lp_row(p->lp, 0, INFINITY, down, 2);
    }
}

/* False when memory is out. */
static bool start(pressing *p, bool still)
{
    size_t most = 0;
    for (size_t j = 0; j < p->count; j++)
        most = p->joints[j].point_count > most ? p->joints[j].point_count : most;
    p->lp = sw_lp_new();
    p->slopes = calloc(6 * p->count + 1, sizeof *p->slopes);
    p->cost = calloc(3 * p->tiles + 1, sizeof *p->cost);
    sw_point *hull = calloc(most + 1, sizeof *hull);
    bool room = p->lp && p->slopes && p->cost && hull;
    if (room) {
        p->motion = sw_motion_columns(p->lp, p->tiles);
        p->moved = -1;
        if (still)
            add_moved(p);
        for (size_t j = 0; j < p->count; j++)
            add_joint(p, j, hull);
    }
    free(hull);
    return room;
}

static sw_status push(pressing *p, sw_press_way way, sw_settled *out, sw_error *err)
{
    set_costs(p, way);
    sw_status status = sw_settled_new(p->tiles, p->count, out, err);
    if (!status)
        status = sw_lp_solve(p->lp, err);
    if (status)
        return status;
    sw_motions_take(p->lp, p->motion, p->tiles, out->motions);
    sw_settled_take(p->joints, p->count, p->centres, out);
    return SW_OK;
}

sw_status sw_press(const sw_point *centres, size_t tiles, const sw_joint *joints, size_t joint_count, size_t count,
                   sw_settled *out, sw_error *err)
{
    pressing p = {.centres = centres, .tiles = tiles, .joints = joints, .count = joint_count};
    for (size_t w = 0; w < count; w++)
        out[w] = (sw_settled){0};
    sw_status status = start(&p, count > SW_PRESS_STILL) ? SW_OK : sw_plan_no_memory(err);
    for (size_t w = 0; !status && w < count; w++)
        status = push(&p, (sw_press_way)w, &out[w], err);
    for (size_t w = 0; status && w < count; w++)
        sw_settled_free(&out[w]);
    free(p.slopes);
    free(p.cost);
    sw_lp_free(&p.lp);
    return status;
}
