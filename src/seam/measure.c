#include "seam/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "seam/astray.h"
#include "seam/cast.h"
#include "seam/follow.h"
#include "seam/job.h"
#include "seam/rim.h"
#include "seam/rounding.h"
#include "table/heights.h"

/* What fits start from: a lamp's share, and its s. A wall that a lamp lights with BRIGHT of the top's light passes for the top; no more than STRIP_MOST of
 * a slot does. */
enum { STARTS = 4 };
static const double START_SHARE[STARTS] = {0.03, 0.45, 0.45, 0.5}, START_SLANT[STARTS] = {1, 0.7, 1.5, 0.15},
                    BRIGHT = 0.25, STRIP_MOST = 0.5;
/* Lights of two seams whose lamps differ by more than this, share and logarithm of s, are two explanations. */
static const double OTHER_SHARE = 0.1, OTHER_SLANT = 0.5;
/* A facing has a lamp or two; more lights than this are scatter. */
enum { LIGHTS_MOST = 8 };
/* More than this of the tops' light is never believed to be stray. */
static const double HAZE_MOST = 0.7;
/* How wide a gap beside a step is taken to be before it was looked into, mm. */
static const double STEPPED_OPEN_MM = 1.5;

/* A smaller step, mm, makes no shade or face wider than a fraction of the blur; of one as uncertain as the other figure, anything may lie
 * beside the gap. */
static const double STEP_LEAST_MM = 0.12, STEP_OPEN_MM = 1;
/* A step that nobody knows of is looked for where it may be larger than this, mm, and believed where it fits by so much better
 * (logarithm of odds). */
static const double STEP_LOOKED_FOR_MM = 0.3, STEP_ODDS = 30;

/* Along a rim the floor's light spreads by up to 0.17 (logarithm, standard deviation) on clean photos. Where more than that share of the rims show more there
 * is a pattern; stripes show at the two sides that cross them. The spread is told by quantiles: of stripes as wide as what is between them the median tells
 * nothing. */
static const double FLOOR_SPREAD_MOST = 0.25, FLOOR_RIMS = 0.3, FLOOR_QUANTILE = 0.15, QUANTILE_SDS = 1.036;

static void report(sw_seams_job *j)
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

/* Notes how light the floor is right beside the table, and how much that changes along a rim. */
static void note_floor(sw_seams_job *j, sw_rim_job *rim)
{
    enum { MOST = 256 };
    const sw_trace *t = rim->trace;
    double some[MOST];
    size_t n = 0;
    for (int i = 0, every = t->count / MOST + 1; i < t->count; i++) {
        double light = t->kind == SW_TRACE_LOW_TILE ? t->places[i].high : t->places[i].low;
        if (!t->places[i].seen || !(light > 0))
            continue;
        j->light.floor[rim->facing] += log(light);
        j->light.floors[rim->facing]++;
        if (i % every == 0)
            some[n++] = log(light);
    }
    double low = n ? sw_quantile(some, n, FLOOR_QUANTILE) : NAN,
           high = n ? sw_quantile(some, n, 1 - FLOOR_QUANTILE) : NAN;
    rim->floor_spread = (high - low) / (2 * QUANTILE_SDS);
}

/* The edges of a tile in turn: what lies on the first or the second side of a line of the grid; four a tile. */
static int edge_of(const sw_grid *g, bool upright, int column, int row, bool second)
{
    int tile = (column - (upright && !second)) * g->rows + row - (!upright && !second);
    return 4 * tile + (upright ? 1 : 3) - second;
}

/* 1: the second tile is the far one, 0: the first. */
static int far_tile(const sw_trace *t)
{
    return (t->tangent >= 0) != t->reversed;
}

/* Lays, follows and reads one trace of a column or row; seams are left for settle_seam. */
static sw_status read_one(sw_seams_job *j, bool upright, int column, int row, sw_trace *t, sw_error *err)
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
        /* the west and north rims look the way the west and north walls face */
        sw_rim_job *rim = &j->rims[j->rim_count++];
        *rim = (sw_rim_job){
            .trace = t, .facing = 2 * upright + (line == 0), .edge = edge_of(g, upright, column, row, line == 0)};
        note_floor(j, rim);
        return status;
    }
    sw_seam_job *s = &j->seams[j->seam_count++];
    *s = (sw_seam_job){.trace = t, .facing = sw_facing_of(t, upright)};
    sw_heights_beside(g, upright, column, row, rise_mm);
    int far = far_tile(t);
    s->edge[SW_NEAR] = edge_of(g, upright, column, row, !far);
    s->edge[SW_FAR] = edge_of(g, upright, column, row, far);
    t->step_mm = rise_mm[far] - rise_mm[!far];
    t->step_u_mm = sw_heights_step_u(g, upright, column, row);
    t->stepped = fabs(t->step_mm) > STEP_LEAST_MM || t->step_u_mm > STEP_OPEN_MM;
    t->may_step = t->stepped || t->step_u_mm > STEP_LOOKED_FOR_MM;
    const sw_top_light *beside[2] = {&j->tops[s->edge[t->tangent >= 0 ? SW_NEAR : SW_FAR] / 4],
                                     &j->tops[s->edge[t->tangent >= 0 ? SW_FAR : SW_NEAR] / 4]};
    status = sw_trace_read_seam(j->photo, j->scale, beside, t, &s->reading, err);
    if (status)
        return status;
    double width_px = sw_seam_rough_width(s->reading, t);
    t->narrow = !t->stepped && width_px < SW_WIDE_BLURS * j->scale->blur_px;
    t->open_mm = width_px / (t->stretch * t->px_per_mm);
    if (t->stepped) /* half-way brightness counts shade and face in */
        t->open_mm = fmin(t->open_mm, STEPPED_OPEN_MM);
    return SW_OK;
}

/* How much farther out than it looks the far rim lies, share of the width, where a lamp lights its wall. */
static double lit_start(const sw_seam_job *s, const sw_slot_light *light)
{
    const sw_trace *t = s->trace;
    double lit = light->share * exp(light->slant) > BRIGHT ? exp(-light->slant) : 0;
    double strip = fmin(STRIP_MOST, fabs(t->tangent) * lit); /* share of the true width */
    return strip / (1 - strip);
}

/* A wide seam between tops of one level, from some of its stations: what it tells of the light. A wall lit as brightly as
 * the top is taken for the top by a fit that starts without a lamp, and a dark one found no more by one that starts with
 * it: so both are tried. */
static sw_status listen(sw_seams_job *j, sw_seam_job *s, const sw_table_light *floor)
{
    sw_light_prior(floor, s->trace, s->facing, &s->prior);
    for (int k = 0; k < STARTS; k++) {
        sw_slot_result result = {.light = s->prior.mean};
        bool behind = s->trace->step_mm > 0; /* the lamp that throws the shade stands behind the far tile */
        *(behind ? &result.light.other_share : &result.light.share) = START_SHARE[k];
        *(behind ? &result.light.other_slant : &result.light.slant) = log(START_SLANT[k]);
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
    return SW_OK;
}

static bool same_light(const sw_slot_light *a, const sw_slot_light *b)
{
    return fabs(a->share - b->share) < OTHER_SHARE && fabs(a->slant - b->slant) < OTHER_SLANT;
}

/* The seam once more in the light that another one found. */
static sw_status listen_with(sw_seams_job *j, sw_seam_job *s, const sw_slot_light *others)
{
    if (same_light(&s->result.light, others))
        return SW_OK;
    sw_slot_result result = {.light = s->prior.mean};
    for (int i = 0; i < SW_LIGHT_NUMBERS; i++)
        if (i != SW_LIGHT_TANGENT && i != SW_LIGHT_NEAR) /* its own view and leans */
            result.light.number[i] = others->number[i];
    sw_status status =
        sw_seam_fit(&j->cavity, s->reading, s->trace, &s->prior, lit_start(s, &result.light), false, &result);
    if (status || !(result.cost < s->result.cost))
        return status;
    s->result = result;
    s->far_wider = sw_seam_far_wider(s->reading, s->trace);
    return SW_OK;
}

/* Lights that seams of one facing found, each unlike the others. Their number is bounded, so that time grows with the seams only. */
static int lights_of(const sw_seams_job *j, int facing, sw_slot_light lights[LIGHTS_MOST])
{
    int n = 0;
    for (int i = 0; i < j->seam_count && n < LIGHTS_MOST; i++) {
        const sw_seam_job *s = &j->seams[i];
        bool new = s->heard && s->facing == facing;
        for (int k = 0; new &&k < n; k++)
            new = !same_light(&s->result.light, &lights[k]);
        if (new)
            lights[n++] = s->result.light;
    }
    return n;
}

/* Walls that face the same way stand in the same light, which a seam may have missed from all of its own starts; one that took a lit wall for the top
 * would be heard by all others. */
static sw_status listen_to_others(sw_seams_job *j)
{
    for (int facing = 0; facing < SW_FACINGS; facing++) {
        sw_slot_light lights[LIGHTS_MOST];
        int count = lights_of(j, facing, lights);
        for (int i = 0; i < j->seam_count; i++)
            for (int k = 0; k < count && j->seams[i].heard && j->seams[i].facing == facing; k++)
                if (listen_with(j, &j->seams[i], &lights[k]) == SW_NO_MEMORY)
                    return SW_NO_MEMORY;
    }
    return SW_OK;
}

/* Where nothing is known of a step but that there may be one: whether face or shade beside the slot say so, from some of the
 * stations. */
static sw_status look_for_step(const sw_seams_job *j, sw_seam_job *s, const sw_table_light *others)
{
    sw_trace *t = s->trace;
    double cost[2];
    if (t->narrow || t->stepped || !t->may_step)
        return SW_OK;
    for (int stepped = 0; stepped < 2; stepped++) {
        sw_slot_prior prior;
        t->stepped = stepped;
        sw_light_prior(others, t, s->facing, &prior);
        if (sw_round_table(j) && !stepped)
            sw_believe_radii(&prior, &j->others[s->edge[SW_NEAR]], &j->others[s->edge[SW_FAR]]);
        sw_slot_result result = {.light = s->heard && !stepped ? s->result.light : prior.mean};
        double wider = s->heard ? s->far_wider : lit_start(s, &prior.mean);
        sw_status status = sw_seam_fit(&j->cavity, s->reading, t, &prior, wider, false, &result);
        cost[stepped] = status ? INFINITY : result.cost;
        if (status == SW_NO_MEMORY)
            return status;
    }
    t->stepped = cost[0] - cost[1] > STEP_ODDS;
    return SW_OK;
}

/* The fit that counts, with what the other seams told as prior. */
static sw_status settle_seam(sw_seams_job *j, sw_seam_job *s, sw_error *err)
{
    sw_table_light others = j->light; /* what all but this one told */
    sw_slot_prior prior;
    sw_slot_result result;
    if (s->heard)
        sw_light_hear(&others, s->facing, &s->prior, &s->result, -1);
    if (look_for_step(j, s, &others) == SW_NO_MEMORY)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    sw_light_prior(&others, s->trace, s->facing, &prior);
    if (sw_round_table(j) && !prior.stepped)
        sw_believe_radii(&prior, &j->others[s->edge[SW_NEAR]], &j->others[s->edge[SW_FAR]]);
    result.light = s->heard ? s->result.light : prior.mean;
    double wider = s->heard ? s->far_wider : lit_start(s, &prior.mean);
    sw_status status = sw_seam_fit(&j->cavity, s->reading, s->trace, &prior, wider, true, &result);
    if (!status) {
        sw_seam_hand_over(s->reading, &result, s->trace);
        sw_note_radii(j, s, &result);
    }
    for (int i = 0; status && i < s->trace->count; i++)
        s->trace->places[i].seen = false;
    sw_seam_reading_free(s->reading);
    s->reading = NULL;
    report(j);
    return status == SW_NO_MEMORY ? sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file)
                                  : SW_OK;
}

/* What was followed is not the seam, or no tile's rim: nothing of it was seen. */
static void leave_out(sw_trace *t)
{
    for (int i = 0; i < t->count; i++) {
        t->places[i].doubled |= (t->astray || t->cast) && t->places[i].seen;
        t->places[i].seen = false;
    }
}

static sw_floor_light floor_light(const sw_seams_job *j)
{
    sw_floor_light floor = {INFINITY, NAN, -INFINITY};
    double sum = 0, n = 0;
    for (int f = 0; f < SW_FACINGS; f++) {
        if (!(j->light.floors[f] > 0))
            continue;
        floor.least = fmin(floor.least, j->light.floor[f] / j->light.floors[f]);
        floor.most = fmax(floor.most, j->light.floor[f] / j->light.floors[f]);
        sum += j->light.floor[f];
        n += j->light.floors[f];
    }
    floor.mean = n > 0 ? sum / n : NAN;
    return floor;
}

/* Leaves out the table's own rims where the floor beside them is patterned; its mean light still tells where lamps stand. */
static void leave_out_patterned(sw_seams_job *j)
{
    double some[4 * SW_GRID_MOST];
    size_t n = 0;
    for (int k = 0; k < j->rim_count && n < sizeof some / sizeof *some; k++)
        if (isfinite(j->rims[k].floor_spread))
            some[n++] = j->rims[k].floor_spread;
    j->traces->patterned = n && sw_quantile(some, n, 1 - FLOOR_RIMS) > FLOOR_SPREAD_MOST;
    for (int k = 0; j->traces->patterned && k < j->rim_count; k++)
        leave_out(j->rims[k].trace);
}

/* Leaves out what is no seam, or none that can be read: a line beside one, one with the edge of a shadow in it, and the sides of tiles that are
 * not there. */
static sw_status leave_out_strays(sw_seams_job *j)
{
    const int tiles = j->grid->columns * j->grid->rows;
    const sw_floor_light floor = floor_light(j);
    bool *gone = malloc((size_t)tiles * sizeof *gone);
    if (!gone || sw_astray_judge(j->scale, j->grid, j->traces)) {
        free(gone);
        return SW_NO_MEMORY;
    }
    for (int i = 0; i < tiles; i++)
        gone[i] = sw_top_light_missing(j->tops, tiles, i, &floor);
    leave_out_patterned(j);
    sw_cast_judge(j);
    for (int k = 0; k < j->seam_count; k++) {
        sw_seam_job *s = &j->seams[k];
        for (int side = SW_NEAR; side <= SW_FAR; side++)
            s->trace->no_tile[(side == SW_FAR) == far_tile(s->trace)] = gone[s->edge[side] / 4];
        /* tops of other heights stand elsewhere in the photo */
        s->trace->astray &= !s->trace->stepped && !(s->trace->step_mm != 0);
        if (!s->trace->astray && !s->trace->cast && !s->trace->no_tile[0] && !s->trace->no_tile[1])
            continue;
        leave_out(s->trace);
        sw_seam_leave_out(s->reading);
    }
    for (int k = 0; k < j->rim_count; k++)
        if (gone[j->rims[k].edge / 4])
            leave_out(j->rims[k].trace);
    free(gone);
    return SW_OK;
}

/* Stray light as a share of what the tops have on average. */
static double haze_share(const sw_seams_job *j)
{
    double sum = 0, n = 0;
    for (int i = 0; i < j->grid->columns * j->grid->rows; i++) {
        double light = sw_top_light_at(&j->tops[i], j->tops[i].middle);
        if (!isfinite(light))
            continue;
        sum += light;
        n++;
    }
    return n > 0 ? fmin(j->scale->haze / exp(sum / n), HAZE_MOST) : 0;
}

static sw_status read_all(sw_seams_job *j, sw_error *err)
{
    const sw_grid *g = j->grid;
    sw_status status = SW_OK;
    for (int i = 0; i < g->columns; i++)
        for (int r = 0; r < g->rows; r++)
            sw_top_light_read(j->photo, j->scale, g, i, r, &j->tops[i * g->rows + r]);
    sw_top_light_find_printed(j->tops, g->columns * g->rows);
    j->light.haze = haze_share(j);
    for (int i = 0; !status && i <= g->columns; i++)
        for (int r = 0; !status && r < g->rows; r++)
            status = read_one(j, true, i, r, &j->traces->upright[i * g->rows + r], err);
    for (int i = 0; !status && i < g->columns; i++)
        for (int r = 0; !status && r <= g->rows; r++)
            status = read_one(j, false, i, r, &j->traces->level[i * (g->rows + 1) + r], err);
    if (!status && leave_out_strays(j))
        status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    const sw_table_light floor = j->light;
    for (int k = 0; !status && k < j->seam_count; k++)
        if (!j->seams[k].trace->narrow && listen(j, &j->seams[k], &floor) == SW_NO_MEMORY)
            status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    if (!status && (listen_to_others(j) || sw_weigh_rounding(j, &floor)))
        status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    for (int k = 0; !status && k < j->seam_count; k++)
        status = settle_seam(j, &j->seams[k], err);
    return status;
}

sw_status sw_traces_read(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, double step_mm,
                         void (*progress)(void *context, double share), void *context, sw_traces *traces, sw_error *err)
{
    sw_seams_job j = {.photo = photo,
                      .scale = scale,
                      .grid = grid,
                      .step_mm = step_mm,
                      .lamp = {1, 1},
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
    j.rims = calloc((size_t)traces->count, sizeof *j.rims);
    size_t edges = 4 * (size_t)(grid->columns * grid->rows);
    j.tops = calloc((size_t)(grid->columns * grid->rows), sizeof *j.tops);
    j.told = calloc(3 * edges, sizeof *j.told);
    j.others = j.told + edges;
    j.all = j.others + edges;
    sw_status status = SW_OK;
    traces->level = traces->upright ? traces->upright + upright : NULL;
    if (!traces->upright || !j.seams || !j.rims || !j.told || !j.tops)
        status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", photo->file);
    else if (sw_camera_place(scale, j.camera))
        status = sw_fail(err, SW_BAD_INPUT, "%s: the photo is too slanted to be measured; photograph from above",
                         photo->file);
    else
        status = read_all(&j, err);
    for (int k = 0; k < j.seam_count; k++)
        sw_seam_reading_free(j.seams[k].reading);
    free(j.seams);
    free(j.rims);
    free(j.told);
    free(j.tops);
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
