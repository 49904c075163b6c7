/* solve.c - least squares over all corners of all photos at once (bundle adjustment).
 *
 * OpenCV gives the start. The fit is ours because its result must carry more than OpenCV's does: the corners' own
 * weights, loose priors for what the photos leave open, the board's stretch, and the whole covariance of the lens. */
#include "scale/calibrate/problem.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"

/* Times that misfits are judged anew: weights and outliers change each other, and settle after two. */
enum { JUDGEMENTS = 3 };
/* Times that the views are held against their mirrored poses; a wrong camera from wrong poses mends in one or two. */
enum { MIRRORINGS = 5 };
/* What the priors are tightened by meanwhile: the centre stays within a hundredth of a pixel, the board flat, the terms
 * of distortion small, unless they move whole pixels. */
static const double TIGHT = 1e4;
/* A corner this many standard deviations off (robust, both axes together) is not the corner it is taken for: of a
 * thousand sound ones, two are beyond sqrt(2 ln 500) = 3.5, one in 30000 beyond 4.5. */
static const double OUTLIER_SIGMAS = 4.5;
/* Nearer than this it is that corner for sure, and what is off is the model. px */
static const double OUTLIER_LEAST_PX = 0.1;
/* A pose is six numbers, four corners settle it; with twice as many their misfit can be judged. */
enum { VIEW_LEAST = 8 };
/* What lenses are like, as loose priors: one standard deviation. They weigh nothing where the photos speak, and keep
 * calm what they leave open.
 * The centre lies within 3 % of the longer side (phones move the lens by 1 to 2 % to steady the picture). What each
 * radial term moves at the frame's corner, as a share of the distance from the centre: a fifth is a strong wide-angle
 * lens, and the terms of phones alternate. A lens set in askew by 3 mrad gives that much tangential distortion. */
static const double PRIOR_CENTRE = 0.03, PRIOR_K1 = 0.2, PRIOR_K2 = 0.2, PRIOR_K3 = 0.1, PRIOR_TANGENTIAL = 0.003;
/* Only for pictures scaled unevenly: a sensor's pixels are square to far better than this. */
static const double PRIOR_RATIO = 0.02;
/* Printers are off by 0.4 to 1 %, and differently in x and y. */
static const double PRIOR_STRETCH = 0.01;
/* A sheet on a board that sags by 1 mm at 100 mm from its middle has a curvature of 0.2 / m. */
static const double PRIOR_CURVE = 0.2;

static void choose(sw_problem *p)
{
    const sw_solve_options *o = p->options;
    const bool fitted[SW_CAMERA_NUMBERS] = {true,          o->fy, true,     true,     true,     true,    o->tangential,
                                            o->tangential, o->k3, o->shape, o->shape, o->shape, o->shape};
    p->free_count = 0;
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++)
        p->slot[i] = fitted[i] ? (int)p->free_count++ : -1;
    p->columns = p->free_count + SW_POSE_NUMBERS * p->count;
}

/* The priors of the radial terms hold at the frame's corner, whose distance on the normal plane is r. */
static void set_priors(sw_problem *p, double f)
{
    double longer = fmax(p->width_px, p->height_px), off = PRIOR_CENTRE * longer;
    double r = hypot(p->width_px, p->height_px) / 2 / f, r2 = r * r;
    const sw_prior priors[SW_CAMERA_NUMBERS] = {
        [SW_RATIO] = {1, PRIOR_RATIO},
        [SW_LENS_CX] = {(p->width_px - 1) / 2.0, off},
        [SW_LENS_CY] = {(p->height_px - 1) / 2.0, off},
        [SW_LENS_K1] = {0, PRIOR_K1 / r2},
        [SW_LENS_K2] = {0, PRIOR_K2 / (r2 * r2)},
        [SW_LENS_K3] = {0, PRIOR_K3 / (r2 * r2 * r2)},
        [SW_LENS_P1] = {0, PRIOR_TANGENTIAL},
        [SW_LENS_P2] = {0, PRIOR_TANGENTIAL},
        [SW_STRETCH] = {1, PRIOR_STRETCH},
        [SW_CURVE_XX] = {0, PRIOR_CURVE},
        [SW_CURVE_XY] = {0, PRIOR_CURVE},
        [SW_CURVE_YY] = {0, PRIOR_CURVE},
    };
    if (p->options->priors)
        memcpy(p->priors, priors, sizeof priors);
}

/* A view that keeps too few corners for its pose is left out whole; its pose is then held where it is. */
static void count_rows(sw_problem *p)
{
    p->corners = p->views_out = 0;
    for (size_t v = 0; v < p->count; v++) {
        size_t kept = sw_view_kept(&p->views[v]);
        for (size_t i = 0; kept < VIEW_LEAST && i < p->views[v].count; i++)
            p->views[v].sights[i].left_out = true;
        p->views_out += kept < VIEW_LEAST;
        p->corners += kept < VIEW_LEAST ? 0 : kept;
    }
    p->rows = 2 * p->corners + p->free_count + SW_POSE_NUMBERS * p->views_out;
}

/* ---- the model as sw_lsq_fit wants it ---- */

static void put_slopes(const sw_problem *p, const sw_projected *at, size_t view, double weight, double *rows)
{
    for (int axis = 0; axis < 2; axis++) {
        double *row = rows + (size_t)axis * p->columns, *pose = row + p->free_count + SW_POSE_NUMBERS * view;
        for (int i = 0; i < SW_CAMERA_NUMBERS; i++)
            if (p->slot[i] >= 0)
                row[p->slot[i]] = weight * at->by_camera[axis][i];
        for (int i = 0; i < SW_POSE_NUMBERS; i++)
            pose[i] = weight * at->by_pose[axis][i];
    }
}

static void put_priors(const sw_problem *p, const double *parameters, double *residual, double *jacobian)
{
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++) {
        if (p->slot[i] < 0)
            continue;
        size_t column = (size_t)p->slot[i], row = 2 * p->corners + column;
        double weight = p->priors[i].sigma > 0 ? p->tight / p->priors[i].sigma : 0;
        residual[row] = weight * (parameters[column] - p->priors[i].centre);
        if (jacobian)
            jacobian[row * p->columns + column] = weight;
    }
}

/* One row for each number of the pose of a view left out: moves it nowhere, and keeps the equations solvable. */
static void hold_poses(const sw_problem *p, double *residual, double *jacobian)
{
    size_t row = 2 * p->corners + p->free_count;
    for (size_t v = 0; v < p->count; v++) {
        if (sw_view_kept(&p->views[v]))
            continue;
        for (size_t i = 0; i < SW_POSE_NUMBERS; i++, row++) {
            residual[row] = 0;
            if (jacobian)
                jacobian[row * p->columns + p->free_count + SW_POSE_NUMBERS * v + i] = 1;
        }
    }
}

static sw_status model(void *context, const double *parameters, double *residual, double *jacobian)
{
    const sw_problem *p = context;
    double camera[SW_CAMERA_NUMBERS];
    sw_unpack_camera(p, parameters, camera);
    if (jacobian)
        memset(jacobian, 0, p->rows * p->columns * sizeof *jacobian);
    size_t row = 0;
    for (size_t v = 0; v < p->count; v++) {
        const double *pose = parameters + p->free_count + SW_POSE_NUMBERS * v;
        sw_rotation rotation;
        sw_rotation_from(pose, &rotation);
        for (size_t i = 0; i < p->views[v].count; i++) {
            const sw_sight *s = &p->views[v].sights[i];
            sw_projected at;
            if (s->left_out)
                continue;
            if (sw_model_project(camera, &rotation, pose + 3, s->board_mm, p->views[v].sides_known, jacobian != NULL,
                                 &at))
                return SW_BAD_INPUT;
            double weight = sw_weight_of(p, s);
            residual[row] = weight * (at.px.x - s->px.x);
            residual[row + 1] = weight * (at.px.y - s->px.y);
            if (jacobian)
                put_slopes(p, &at, v, weight, jacobian + row * p->columns);
            row += 2;
        }
    }
    put_priors(p, parameters, residual, jacobian);
    hold_poses(p, residual, jacobian);
    return SW_OK;
}

/* ---- judging corners ---- */

/* Distance of each corner from where the fit puts it, in its own standard deviations (weight_of), view after view;
 * INFINITY where the fit cannot see it. */
static void take_misses(const sw_problem *p, const double *parameters, double *misses)
{
    double camera[SW_CAMERA_NUMBERS];
    sw_unpack_camera(p, parameters, camera);
    for (size_t v = 0; v < p->count; v++) {
        const double *pose = parameters + p->free_count + SW_POSE_NUMBERS * v;
        sw_rotation rotation;
        sw_rotation_from(pose, &rotation);
        for (size_t i = 0; i < p->views[v].count; i++) {
            const sw_sight *s = &p->views[v].sights[i];
            sw_projected at;
            bool lost = sw_model_project(camera, &rotation, pose + 3, s->board_mm, p->views[v].sides_known, false, &at);
            *misses++ = lost ? INFINITY : sw_weight_of(p, s) * hypot(at.px.x - s->px.x, at.px.y - s->px.y);
        }
    }
}

/* Marks outliers: beyond OUTLIER_SIGMAS of the robust spread. Half of a normal sample's distances in the plane lie
 * under sqrt(2 ln 2) standard deviations. work holds a copy of the misses. */
static void mark_outliers(sw_problem *p, const double *misses, double *work, size_t total)
{
    memcpy(work, misses, total * sizeof *work);
    double spread = sw_median(work, total) / sqrt(2 * log(2));
    for (size_t v = 0; v < p->count; v++) {
        for (size_t i = 0; i < p->views[v].count; i++, misses++) {
            sw_sight *s = &p->views[v].sights[i];
            s->left_out = !(*misses <= fmax(OUTLIER_SIGMAS * spread, OUTLIER_LEAST_PX * sw_weight_of(p, s)));
        }
    }
    count_rows(p);
}

/* One standard deviation of the kept corners' residuals in units of their weights, degrees of freedom counted. */
static double scatter_of(const sw_problem *p, const double *misses)
{
    double sum = 0;
    for (size_t v = 0; v < p->count; v++) {
        for (size_t i = 0; i < p->views[v].count; i++, misses++)
            if (!p->views[v].sights[i].left_out)
                sum += *misses * *misses;
    }
    return sqrt(sum / (double)(2 * p->corners + SW_POSE_NUMBERS * p->views_out - p->columns));
}

static sw_status judge(sw_problem *p, const double *parameters, double *misses, size_t total, sw_error *err)
{
    take_misses(p, parameters, misses);
    if (!p->options->keep_all)
        mark_outliers(p, misses, misses + total, total);
    if (2 * p->corners + SW_POSE_NUMBERS * p->views_out <= p->columns)
        return sw_fail(err, SW_BAD_INPUT, "the corners found do not fit one camera");
    /* Exact data (a test's) leave nothing: keep the weights finite. */
    p->scatter *= fmax(scatter_of(p, misses), 1e-9);
    return SW_OK;
}

static sw_status fit_once(sw_problem *p, double *parameters, double *covariance, sw_error *err)
{
    sw_status status = sw_lsq_fit(model, p, p->rows, p->columns, false, MAX_ROUNDS, parameters, covariance, NULL);
    if (status == SW_NO_MEMORY)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    if (status && status != SW_NOT_FOUND)
        return sw_fail(err, SW_BAD_INPUT, "the photos do not determine the lens");
    return SW_OK;
}

/* With the camera held near what cameras are like, wrong slants show; free, it would bend until they fit. */
static sw_status settle_slants(sw_problem *p, double *parameters, sw_error *err)
{
    sw_status status = SW_OK;
    p->tight = TIGHT;
    for (int round = 0; round < MIRRORINGS && status == SW_OK && sw_mirror_views(p, parameters); round++)
        status = fit_once(p, parameters, NULL, err);
    p->tight = 1;
    return status;
}

static sw_status fit(sw_problem *p, double *parameters, double *covariance, double *misses, size_t total, sw_error *err)
{
    sw_status status = settle_slants(p, parameters, err);
    if (status == SW_OK)
        status = fit_once(p, parameters, NULL, err);
    for (int round = 0; round < JUDGEMENTS && status == SW_OK; round++) {
        status = judge(p, parameters, misses, total, err);
        if (status == SW_OK)
            status = fit_once(p, parameters, covariance, err);
    }
    return status;
}

/* ---- the answer ---- */

/* Covariance of fx fy ... k3 from that of what was fitted: fx = f, fy = f ratio, the others as they are. */
static void lens_covariance(const sw_problem *p, const double *covariance, sw_lens *lens)
{
    double slope[SW_LENS_NUMBERS][SW_CAMERA_NUMBERS] = {{0}};
    slope[0][SW_F] = 1;
    slope[1][SW_F] = lens->fy / lens->fx;
    slope[1][SW_RATIO] = lens->fx;
    for (int i = SW_LENS_CX; i < SW_LENS_NUMBERS; i++)
        slope[i][i] = 1;
    for (int i = 0; i < SW_LENS_NUMBERS; i++)
        for (int k = 0; k < SW_LENS_NUMBERS; k++)
            for (int a = 0; a < SW_CAMERA_NUMBERS; a++)
                for (int b = 0; b < SW_CAMERA_NUMBERS; b++)
                    if (p->slot[a] >= 0 && p->slot[b] >= 0)
                        lens->covariance[i][k] += slope[i][a] * slope[k][b] *
                                                  covariance[(size_t)p->slot[a] * p->columns + (size_t)p->slot[b]];
}

/* Poses and residuals of the views; returns the sum of squared distances over the kept corners, px^2. */
static double keep_views(sw_problem *p, const double *parameters, const double *misses)
{
    double all = 0;
    for (size_t v = 0; v < p->count; v++) {
        sw_view *view = &p->views[v];
        const double *pose = parameters + p->free_count + SW_POSE_NUMBERS * v;
        double sum = 0;
        size_t kept = 0;
        memcpy(view->turn, pose, sizeof view->turn);
        memcpy(view->shift_mm, pose + 3, sizeof view->shift_mm);
        for (size_t i = 0; i < view->count; i++, misses++) {
            if (view->sights[i].left_out)
                continue;
            sum += pow(*misses / sw_weight_of(p, &view->sights[i]), 2);
            kept++;
        }
        view->residual_px = kept ? sqrt(sum / (double)kept) : 0;
        all += sum;
    }
    return all;
}

static void answer(sw_problem *p, const double *parameters, const double *covariance, double *misses, size_t total,
                   sw_lens *lens, sw_solution *solution)
{
    double camera[SW_CAMERA_NUMBERS];
    sw_unpack_camera(p, parameters, camera);
    sw_model_to_lens(camera, lens);
    lens->source = SW_LENS_PROFILE;
    lens->width_px = p->width_px;
    lens->height_px = p->height_px;
    lens->photos = (int)(p->count - p->views_out);
    lens_covariance(p, covariance, lens);
    take_misses(p, parameters, misses);
    lens->residual_px = sqrt(keep_views(p, parameters, misses) / (double)p->corners);
    if (!solution)
        return;
    *solution = (sw_solution){
        .stretch = camera[SW_STRETCH], .scatter = p->scatter, .corners = p->corners, .left_out = total - p->corners};
    if (!p->options->shape)
        return;
    solution->u_stretch = sqrt(covariance[(size_t)p->slot[SW_STRETCH] * (p->columns + 1)]);
    for (int i = 0; i < 3; i++) {
        solution->curve[i] = camera[SW_CURVE_XX + i];
        solution->u_curve[i] = sqrt(covariance[(size_t)p->slot[SW_CURVE_XX + i] * (p->columns + 1)]);
    }
}

static sw_status solve(sw_problem *p, sw_lens *lens, sw_solution *solution, sw_error *err)
{
    size_t total = p->corners;
    if (2 * total <= p->columns)
        return sw_fail(err, SW_BAD_INPUT, "too few corners for one camera");
    double *parameters = calloc(p->columns * (p->columns + 1) + 2 * total, sizeof *parameters);
    if (!parameters)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    double *covariance = parameters + p->columns, *misses = covariance + p->columns * p->columns;
    sw_status status = sw_solve_start(p, parameters, err);
    if (status == SW_OK) {
        set_priors(p, p->camera[SW_F]);
        status = fit(p, parameters, covariance, misses, total, err);
    }
    if (status == SW_OK)
        answer(p, parameters, covariance, misses, total, lens, solution);
    free(parameters);
    return status;
}

sw_status sw_calibrate_solve(sw_view *views, size_t count, int width_px, int height_px, const sw_solve_options *options,
                             sw_lens *lens, sw_solution *solution, sw_error *err)
{
    memset(lens, 0, sizeof *lens);
    if (solution)
        *solution = (sw_solution){0};
    sw_problem p = {.views = views,
                    .count = count,
                    .width_px = width_px,
                    .height_px = height_px,
                    .options = options,
                    .scatter = 1,
                    .tight = 1};
    for (size_t v = 0; v < count; v++)
        for (size_t i = 0; i < views[v].count; i++)
            views[v].sights[i].left_out = false;
    choose(&p);
    count_rows(&p);
    return solve(&p, lens, solution, err);
}
