/* start.c - where the solver starts, and on which side of a slant. */
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "scale/calibrate/problem.h"
#include "vision/opencv.h"

/* The mirrored pose must leave this much less: where perspective does not tell, the start stays. */
static const double MIRROR_BETTER = 0.9;

/* ---- start ---- */

/* The views in OpenCV's shape; one block of points, freed by the caller. */
static sw_point *lay_out(const sw_problem *p, sw_board_seen *seen)
{
    size_t total = 0;
    for (size_t v = 0; v < p->count; v++)
        total += p->views[v].count;
    sw_point *points = malloc(2 * (total + 1) * sizeof *points), *next = points;
    for (size_t v = 0; points && v < p->count; v++) {
        size_t n = p->views[v].count;
        seen[v] = (sw_board_seen){.board_mm = next, .px = next + n, .count = (int)n};
        for (size_t i = 0; i < n; i++) {
            next[i] = p->views[v].sights[i].board_mm;
            next[n + i] = p->views[v].sights[i].px;
        }
        next += 2 * n;
    }
    return points;
}

static void take_start(sw_problem *p, const sw_board_seen *seen, const sw_pinhole *pinhole, double *parameters)
{
    const double camera[SW_CAMERA_NUMBERS] = {
        [SW_F] = pinhole->f_px,     [SW_RATIO] = 1,  [SW_LENS_CX] = pinhole->cx_px, [SW_LENS_CY] = pinhole->cy_px,
        [SW_LENS_K1] = pinhole->k1, [SW_STRETCH] = 1};
    memcpy(p->camera, camera, sizeof camera);
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++)
        if (p->slot[i] >= 0)
            parameters[p->slot[i]] = camera[i];
    for (size_t v = 0; v < p->count; v++) {
        double *pose = parameters + p->free_count + SW_POSE_NUMBERS * v;
        memcpy(pose, seen[v].turn, sizeof seen[v].turn);
        memcpy(pose + 3, seen[v].shift_mm, sizeof seen[v].shift_mm);
    }
}

sw_status sw_solve_start(sw_problem *p, double *parameters, sw_error *err)
{
    sw_pinhole pinhole;
    sw_board_seen *seen = malloc(p->count * sizeof *seen);
    sw_point *points = seen ? lay_out(p, seen) : NULL;
    sw_status status = points ? sw_vision_pinhole(seen, (int)p->count, p->width_px, p->height_px, &pinhole, err)
                              : sw_fail(err, SW_NO_MEMORY, "out of memory");
    if (status == SW_OK)
        take_start(p, seen, &pinhole, parameters);
    free(points);
    free(seen);
    return status;
}

/* ---- mirrored poses ---- */

/* A flat board seen from far away looks the same from its mirrored slant; only perspective tells the two apart, and the
 * start may have taken the wrong one. Both are fitted to the view with the camera as it stands, and the better one
 * stays. */
typedef struct one_view {
    const sw_problem *p;
    const double *camera;
    const sw_view *view;
} one_view;

static sw_status pose_model(void *context, const double *pose, double *residual, double *jacobian)
{
    const one_view *o = context;
    sw_rotation rotation;
    sw_rotation_from(pose, &rotation);
    for (size_t i = 0; i < o->view->count; i++) {
        const sw_sight *s = &o->view->sights[i];
        sw_projected at;
        if (sw_model_project(o->camera, &rotation, pose + 3, s->board_mm, o->view->sides_known, jacobian != NULL, &at))
            return SW_BAD_INPUT;
        double weight = sw_weight_of(o->p, s);
        residual[2 * i] = weight * (at.px.x - s->px.x);
        residual[2 * i + 1] = weight * (at.px.y - s->px.y);
        for (int k = 0; jacobian && k < SW_POSE_NUMBERS; k++) {
            jacobian[2 * i * SW_POSE_NUMBERS + (size_t)k] = weight * at.by_pose[0][k];
            jacobian[(2 * i + 1) * SW_POSE_NUMBERS + (size_t)k] = weight * at.by_pose[1][k];
        }
    }
    return SW_OK;
}

static double pose_cost(one_view *o, double *pose)
{
    double cost;
    sw_status status =
        sw_lsq_fit(pose_model, o, 2 * o->view->count, SW_POSE_NUMBERS, false, MAX_ROUNDS, pose, NULL, &cost);
    return status == SW_OK || status == SW_NOT_FOUND ? cost : INFINITY;
}

/* Returns how many views were mirrored. */
int sw_mirror_views(const sw_problem *p, double *parameters)
{
    double camera[SW_CAMERA_NUMBERS];
    int mirrored = 0;
    sw_unpack_camera(p, parameters, camera);
    for (size_t v = 0; v < p->count; v++) {
        double *pose = parameters + p->free_count + SW_POSE_NUMBERS * v;
        double as_is[SW_POSE_NUMBERS], other[SW_POSE_NUMBERS];
        one_view o = {.p = p, .camera = camera, .view = &p->views[v]};
        memcpy(as_is, pose, sizeof as_is);
        memcpy(other, pose, sizeof other);
        sw_mirror_turn(pose, pose + 3, other);
        if (pose_cost(&o, other) < MIRROR_BETTER * pose_cost(&o, as_is)) {
            memcpy(pose, other, sizeof other);
            mirrored++;
        }
    }
    return mirrored;
}
