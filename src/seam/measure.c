#include "seam/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scale/frame.h"
#include "seam/follow.h"
#include "seam/light.h"
#include "seam/read.h"
#include "seam/rim.h"
#include "table/heights.h"

/* What fits start from: a lamp's share, and its s. A wall that a lamp lights with BRIGHT of the top's light passes for the top; no more than STRIP_MOST of
 * a slot does. */
enum { STARTS = 4 };
static const double START_SHARE[STARTS] = {0.03, 0.45, 0.45, 0.5}, START_SLANT[STARTS] = {1, 0.7, 1.5, 0.15},
                    BRIGHT = 0.25, STRIP_MOST = 0.5;

/* A seam on its way from pixels to rims. */
typedef struct seam_job {
    sw_trace *trace;
    sw_seam_reading *reading;
    int facing;
    sw_slot_prior prior;
    sw_slot_result result;
    double far_wider; /* where the fit found the far rim, see sw_seam_far_wider */
    bool heard;       /* it told of the light */
} seam_job;

typedef struct job {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_grid *grid;
    double step_mm, camera[3];
    sw_traces *traces;
    seam_job *seams;
    int seam_count;
    sw_cavity cavity;
    sw_table_light light;
    void (*progress)(void *, double);
    void *context;
    int done;
} job;

static void report(job *j)
{
    if (j->progress)
        j->progress(j->context, (double)++j->done / j->traces->count);
}

static sw_trace_kind kind_of(const sw_trace *t, int line, int last)
{
    if (line > 0 && line < last)
        return SW_TRACE_SEAM;
    bool tile_first = line > 0; /* the last line has its tile on the west or north side */
    return tile_first != t->reversed ? SW_TRACE_LOW_TILE : SW_TRACE_HIGH_TILE;
}

/* Notes how light the floor is right beside the table. */
static void note_floor(job *j, const sw_trace *t, bool upright, int line)
{
    int facing = 2 * upright + (line == 0); /* the west and north rims look the way the west and north walls face */
    for (int i = 0; i < t->count; i++) {
        double light = t->kind == SW_TRACE_LOW_TILE ? t->places[i].high : t->places[i].low;
        if (!t->places[i].seen || !(light > 0))
            continue;
        j->light.floor[facing] += log(light);
        j->light.floors[facing]++;
    }
}

/* Lays, follows and reads one trace of a column or row; seams are left for settle_seam. */
static sw_status read_one(job *j, bool upright, int column, int row, sw_trace *t, sw_error *err)
{
    const sw_grid *g = j->grid;
    const sw_grid_side *side = upright ? &g->upright[column][row] : &g->level[column][row];
    int line = upright ? column : row, last = upright ? g->columns : g->rows;
    double rise_mm[2];
    sw_status status = sw_trace_lay(j->photo, j->scale, side, upright, SW_TRACE_SEAM, j->step_mm, j->camera, t, err);
    if (status)
        return status;
    t->kind = kind_of(t, line, last);
    status = sw_trace_follow(j->photo, t, err);
    if (status)
        return status;
    if (t->kind != SW_TRACE_SEAM) {
        report(j);
        status = sw_trace_read_rim(j->photo, j->scale, t, err);
        note_floor(j, t, upright, line);
        return status;
    }
    seam_job *s = &j->seams[j->seam_count++];
    *s = (seam_job){.trace = t, .facing = sw_facing_of(t, upright)};
    sw_heights_beside(g, upright, column, row, rise_mm);
    int far = (t->tangent >= 0) != t->reversed; /* 1: the second tile is the far one */
    t->step_mm = rise_mm[far] - rise_mm[!far];
    t->step_u_mm = sw_heights_step_u(g, upright, column, row);
    status = sw_trace_read_seam(j->photo, j->scale, t, &s->reading, err);
    if (status)
        return status;
    double width_px = sw_seam_rough_width(s->reading, t);
    t->narrow = width_px < SW_WIDE_BLURS * j->scale->blur_px;
    t->open_mm = width_px / (t->stretch * t->px_per_mm);
    return SW_OK;
}

/* How much farther out than it looks the far rim lies, share of the width, where a lamp lights its wall or that stands free. */
static double lit_start(const seam_job *s, const sw_slot_light *light)
{
    const sw_trace *t = s->trace;
    double lit = light->share * exp(light->slant) > BRIGHT ? exp(-light->slant) : 0;
    double strip = fmin(STRIP_MOST, fabs(t->tangent) * lit); /* share of the true width */
    return strip / (1 - strip) + fmax(0, t->step_mm) * fabs(t->tangent) / fmax(0.1, t->open_mm);
}

/* A wide seam between tops of one level, from some of its stations: what it tells of the light. A wall lit as brightly as
 * the top is taken for the top by a fit that starts without a lamp, and a dark one found no more by one that starts with
 * it: so both are tried. */
static sw_status listen(job *j, seam_job *s, const sw_table_light *floor)
{
    sw_light_prior(floor, s->trace, s->facing, &s->prior);
    for (int k = 0; k < STARTS; k++) {
        sw_slot_result result = {.light = s->prior.mean};
        result.light.share = START_SHARE[k];
        result.light.slant = log(START_SLANT[k]);
        double wider = lit_start(s, &result.light);
        sw_status status = sw_seam_fit(&j->cavity, s->reading, s->trace, &s->prior, wider, false, &result);
        if (status)
            return status;
        if (k > 0 && result.cost > s->result.cost)
            continue;
        s->result = result;
        s->far_wider = sw_seam_far_wider(s->reading, s->trace);
    }
    s->heard = true;
    sw_light_hear(&j->light, s->facing, &s->prior, &s->result, 1);
    return SW_OK;
}

/* The fit that counts, with what the other seams told as prior. */
static sw_status settle_seam(job *j, seam_job *s, sw_error *err)
{
    sw_table_light others = j->light; /* what all but this one told */
    sw_slot_prior prior;
    sw_slot_result result;
    if (s->heard)
        sw_light_hear(&others, s->facing, &s->prior, &s->result, -1);
    sw_light_prior(&others, s->trace, s->facing, &prior);
    result.light = s->heard ? s->result.light : prior.mean;
    double wider = s->heard ? s->far_wider : lit_start(s, &prior.mean);
    sw_status status = sw_seam_fit(&j->cavity, s->reading, s->trace, &prior, wider, true, &result);
    if (!status)
        sw_seam_hand_over(s->reading, &result, s->trace);
    for (int i = 0; status && i < s->trace->count; i++)
        s->trace->places[i].seen = false;
    sw_seam_reading_free(s->reading);
    s->reading = NULL;
    report(j);
    return status == SW_NO_MEMORY ? sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file)
                                  : SW_OK;
}

static sw_status read_all(job *j, sw_error *err)
{
    const sw_grid *g = j->grid;
    sw_status status = SW_OK;
    for (int i = 0; !status && i <= g->columns; i++)
        for (int r = 0; !status && r < g->rows; r++)
            status = read_one(j, true, i, r, &j->traces->upright[i * g->rows + r], err);
    for (int i = 0; !status && i < g->columns; i++)
        for (int r = 0; !status && r <= g->rows; r++)
            status = read_one(j, false, i, r, &j->traces->level[i * (g->rows + 1) + r], err);
    const sw_table_light floor = j->light;
    for (int k = 0; !status && k < j->seam_count; k++)
        if (!j->seams[k].trace->narrow && j->seams[k].trace->step_mm == 0 &&
            listen(j, &j->seams[k], &floor) == SW_NO_MEMORY)
            status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    for (int k = 0; !status && k < j->seam_count; k++)
        status = settle_seam(j, &j->seams[k], err);
    return status;
}

sw_status sw_traces_read(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, double step_mm,
                         void (*progress)(void *context, double share), void *context, sw_traces *traces, sw_error *err)
{
    job j = {.photo = photo,
             .scale = scale,
             .grid = grid,
             .step_mm = step_mm,
             .traces = traces,
             .progress = progress,
             .context = context};
    sw_cavity_make(&j.cavity);
    memset(traces, 0, sizeof *traces);
    traces->columns = grid->columns;
    traces->rows = grid->rows;
    int upright = (grid->columns + 1) * grid->rows;
    traces->count = upright + grid->columns * (grid->rows + 1);
    traces->upright = calloc((size_t)traces->count, sizeof *traces->upright);
    j.seams = calloc((size_t)traces->count, sizeof *j.seams);
    sw_status status = SW_OK;
    traces->level = traces->upright ? traces->upright + upright : NULL;
    if (!traces->upright || !j.seams)
        status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    else if (sw_camera_place(scale, j.camera))
        status = sw_fail(err, SW_BAD_INPUT, "%s: the photo is too slanted to be measured; photograph from above",
                         photo->file);
    else
        status = read_all(&j, err);
    for (int k = 0; k < j.seam_count; k++)
        sw_seam_reading_free(j.seams[k].reading);
    free(j.seams);
    if (status)
        sw_traces_free(traces);
    return status;
}

void sw_traces_free(sw_traces *traces)
{
    if (!traces)
        return;
    for (int k = 0; traces->upright && k < traces->count; k++)
        sw_trace_free(&traces->upright[k]);
    free(traces->upright);
    memset(traces, 0, sizeof *traces);
}
