#include "measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>


/* What is known of the light in a slot before looking (see slot.h): the wall just below a rim gets a little over half of the top's
 * light, as half of its sky is the other wall; seen on practice photos at 0.5 to 0.65. The other spreads are wide. */
static const double WALL = 0.4, WALL_SD = 0.1, BASE = 0.08, BASE_SD = 0.1, BASE_SPREAD = 0.1;
static const double TANGENT_SD = 0.04, TANGENT_LEAST = 0.02, REACH = 0.4, REACH_SD = 0.4;
/* Rims are a little softer than print, how much is the maker's hand. */
static const double BLUR = 0.018, BLUR_SD = 0.006;
/* A near wall is in sight only where the camera looks in less steeply than walls lean (a few degrees). */
static const double NEAR_SIGHT = 0.05, NEAR = 0.03, NEAR_SD = 0.012, NEAR_NONE = 0.004, NEAR_NONE_SD = 0.002;
/* A slot at least this many blurs wide shows its inside; what it says of b is handed to narrower ones that face the same way. */
static const double WIDE_BLURS = 4.5;
/* In a narrower one the stations' own b is next to invisible, and what seems to show it is the error of the edge response. */
static const double NARROW_SPREAD = 0.03;
static const double HANDED_SD = 0.03, HANDED_WALL_SD = 0.05, HANDED_TANGENT_SHARE = 0.2, HANDED_BLUR_SD = 0.006;

/* Seams whose far wall faces the same way share the lamps. */
enum { FACINGS = 4 };
typedef struct pooled {
    double sum, weight;
} pooled;

static void pool(pooled *p, double value, double variance)
{
    p->sum += value / variance;
    p->weight += 1 / variance;
}

static int facing_of(const sw_trace *t, int upright)
{
    int far_high = (t->tangent >= 0) != t->reversed;
    return 2 * (upright != 0) + far_high;
}

typedef struct job {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_grid *grid;
    double step_mm, camera[3];
    sw_traces *traces;
    pooled facings[FACINGS], walls[FACINGS], tangents[FACINGS], blur;
} job;

static double mean_of(const pooled *p, double otherwise)
{
    return p->weight > 0 ? p->sum / p->weight : otherwise;
}

/* What is known before looking: for a wide slot only the general, for a narrow one what wide ones facing the same way told. */
static sw_slot_prior prior_of(const job *j, const sw_trace *t, int upright, int narrow)
{
    double tangent = fmax(TANGENT_LEAST, fabs(t->tangent)), near = NEAR_NONE, near_sd = NEAR_NONE_SD;
    if (tangent < NEAR_SIGHT) {
        near = NEAR * (1 - tangent / NEAR_SIGHT) + NEAR_NONE;
        near_sd = NEAR_SD;
    }
    sw_slot_prior p = {{BASE, WALL, 1.2 * tangent, REACH, near, BLUR},
                       {BASE_SD, WALL_SD, TANGENT_SD, REACH_SD, near_sd, BLUR_SD},
                       narrow ? NARROW_SPREAD : BASE_SPREAD,
                       narrow};
    if (!narrow)
        return p;
    int f = facing_of(t, upright);
    p.mean.base = mean_of(&j->facings[f], BASE);
    p.mean.wall = mean_of(&j->walls[f], WALL);
    p.mean.tangent = tangent * exp(mean_of(&j->tangents[f], log(1.2)));
    p.mean.blur = mean_of(&j->blur, BLUR);
    if (j->facings[f].weight > 0) {
        p.sd.base = HANDED_SD;
        p.sd.wall = HANDED_WALL_SD;
        p.sd.tangent = HANDED_TANGENT_SHARE * tangent;
    }
    if (j->blur.weight > 0)
        p.sd.blur = HANDED_BLUR_SD;
    return p;
}

static sw_trace_kind kind_of(const sw_trace *t, int line, int last)
{
    if (line > 0 && line < last)
        return SW_TRACE_SEAM;
    int tile_first = line > 0; /* the last line has its tile on the west or north side */
    return tile_first != t->reversed ? SW_TRACE_LOW_TILE : SW_TRACE_HIGH_TILE;
}

/* Lays and follows one trace, and reads it unless it is a narrow seam: these wait for what the wide ones tell. */
static sw_status read_one(job *j, const sw_grid_side *side, int upright, int line, int last, sw_trace *t, sw_error *err)
{
    sw_status status = sw_trace_lay(j->photo, j->scale, side, upright, SW_TRACE_SEAM, j->step_mm, j->camera, t, err);
    if (status)
        return status;
    t->kind = kind_of(t, line, last);
    status = sw_trace_follow(j->photo, t, err);
    if (status)
        return status;
    if (t->kind != SW_TRACE_SEAM)
        return sw_trace_read_rim(j->photo, j->scale, t, err);
    t->narrow = sw_trace_rough_width(j->photo, j->scale, t) < WIDE_BLURS * j->scale->blur_px;
    if (t->narrow)
        return SW_OK;
    sw_slot_prior prior = prior_of(j, t, upright, 0);
    status = sw_trace_read_seam(j->photo, j->scale, &prior, t, err);
    if (status)
        return status;
    int f = facing_of(t, upright);
    double tangent = fmax(TANGENT_LEAST, fabs(t->tangent)), share = HANDED_TANGENT_SHARE;
    pool(&j->facings[f], t->light.base, t->light_covariance[SW_LIGHT_BASE][SW_LIGHT_BASE] + HANDED_SD * HANDED_SD / 4);
    pool(&j->walls[f], t->light.wall,
         t->light_covariance[SW_LIGHT_WALL][SW_LIGHT_WALL] + HANDED_WALL_SD * HANDED_WALL_SD / 4);
    pool(&j->tangents[f], log(t->light.tangent / tangent),
         t->light_covariance[SW_LIGHT_TANGENT][SW_LIGHT_TANGENT] / (tangent * tangent) + share * share / 4);
    pool(&j->blur, t->light.blur, t->light_covariance[SW_LIGHT_BLUR][SW_LIGHT_BLUR] + 0.01 * 0.01);
    return SW_OK;
}

static sw_status read_narrow(job *j, int upright, sw_trace *t, sw_error *err)
{
    if (!t->narrow)
        return SW_OK;
    sw_slot_prior prior = prior_of(j, t, upright, 1);
    return sw_trace_read_seam(j->photo, j->scale, &prior, t, err);
}

static sw_status read_all(job *j, void (*progress)(void *, double), void *context, sw_error *err)
{
    const sw_grid *g = j->grid;
    int total = (g->columns + 1) * g->rows + g->columns * (g->rows + 1), done = 0;
    sw_status status = SW_OK;
    for (int i = 0; !status && i <= g->columns; i++)
        for (int r = 0; !status && r < g->rows; r++) {
            status = read_one(j, &g->upright[i][r], 1, i, g->columns, &j->traces->upright[i * g->rows + r], err);
            if (progress)
                progress(context, (double)++done / total);
        }
    for (int i = 0; !status && i < g->columns; i++)
        for (int r = 0; !status && r <= g->rows; r++) {
            status = read_one(j, &g->level[i][r], 0, r, g->rows, &j->traces->level[i * (g->rows + 1) + r], err);
            if (progress)
                progress(context, (double)++done / total);
        }
    for (int k = 0; !status && k < (g->columns + 1) * g->rows; k++)
        status = read_narrow(j, 1, &j->traces->upright[k], err);
    for (int k = 0; !status && k < g->columns * (g->rows + 1); k++)
        status = read_narrow(j, 0, &j->traces->level[k], err);
    return status;
}

sw_status sw_traces_read(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, double step_mm,
                         void (*progress)(void *context, double share), void *context, sw_traces *traces, sw_error *err)
{
    job j = {.photo = photo, .scale = scale, .grid = grid, .step_mm = step_mm, .traces = traces};
    memset(traces, 0, sizeof *traces);
    traces->columns = grid->columns;
    traces->rows = grid->rows;
    traces->upright = calloc((size_t)(grid->columns + 1) * (size_t)grid->rows, sizeof *traces->upright);
    traces->level = calloc((size_t)grid->columns * (size_t)(grid->rows + 1), sizeof *traces->level);
    sw_status status = SW_OK;
    if (!traces->upright || !traces->level)
        status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    else if (sw_camera_place(scale, j.camera))
        status = sw_fail(err, SW_BAD_INPUT, "%s: the photo is too slanted to be measured; photograph from above", photo->file);
    else
        status = read_all(&j, progress, context, err);
    if (status)
        sw_traces_free(traces);
    return status;
}

void sw_traces_free(sw_traces *traces)
{
    if (!traces)
        return;
    for (int k = 0; traces->upright && k < (traces->columns + 1) * traces->rows; k++)
        sw_trace_free(&traces->upright[k]);
    for (int k = 0; traces->level && k < traces->columns * (traces->rows + 1); k++)
        sw_trace_free(&traces->level[k]);
    free(traces->upright);
    free(traces->level);
    memset(traces, 0, sizeof *traces);
}
