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
/* A table counts as one of sharp rims until the odds for round ones are this good (logarithm). */
static const double ROUND_ODDS = 8, SEAM_ODDS_MOST = 10, RIM_ODDS_MOST = 5, SEAM_ODDS_LESS = 5, RIM_ODDS_LESS = 2,
                    ODDS_LEAST = -1, ROUND_FAILS = -20;
/* Rims that a hand has sanded, mm; and how little of one shows, px. A fit tells of a radius if it knows this many times more than was
 * known before. */
static const double ROUND_USUAL_MM = 0.25, ROUND_SD_MM = 0.4, ROUND_MOST_MM = 1.2, ROUND_SHOWS_PX = 0.4,
                    ROUND_U_PX = 0.15, ROUND_U_SHARE = 0.2, ROUND_TELLS = 1.5;
/* No edge is known better than that from others, mm. */
static const double RADIUS_SD_LEAST_MM = 0.03;
/* Factors that are tried on how far across a lamp's light goes; one counts where it explains the rims better by so much (logarithm of
 * odds). */
enum { LAMPS = 3 };
static const double LAMP_FACTOR[LAMPS] = {0.4, 0.65, 1.6}, LAMP_ODDS = 2;
/* A step that is held, mm. */
static const double LEVEL_SD_MM = 1e-4;

/* How wide a gap beside a step is taken to be before it was looked into, mm. */
static const double STEPPED_OPEN_MM = 1.5;

/* A smaller step, mm, makes no shade or face wider than a fraction of the blur; of one as uncertain as the other figure, anything may lie
 * beside the gap. */
static const double STEP_LEAST_MM = 0.12, STEP_OPEN_MM = 1;
/* A step that nobody knows of is looked for where it may be larger than this, mm, and believed where it fits by so much better
 * (logarithm of odds). */
static const double STEP_LOOKED_FOR_MM = 0.3, STEP_ODDS = 30;

/* A seam on its way from pixels to rims. */
typedef struct seam_job {
    sw_trace *trace;
    sw_seam_reading *reading;
    int facing;
    int edge[2]; /* of its near and its far rim, see edge_of */
    sw_slot_prior prior;
    sw_slot_result result, round;      /* with sharp rims, with round ones */
    double far_wider, round_far_wider; /* where the fit found the far rim, see sw_seam_far_wider */
    bool heard;                        /* it told of the light */
} seam_job;

/* A side at the table's own rim. */
typedef struct rim_job {
    sw_trace *trace;
    int facing, edge;
} rim_job;

typedef struct job {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_grid *grid;
    double step_mm, camera[3];
    sw_traces *traces;
    seam_job *seams;
    rim_job *rims;
    int seam_count, rim_count;
    sw_radius *told, *others, *all; /* radii of all edges: by their own light, by that of all but themselves, by both */
    double lamp[2];    /* factor on how far across lamps go, for level and for upright rims, as their shoulders tell */
    double round_odds; /* what speaks for round rims on this table, logarithm of odds */
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

/* The edges of a tile in turn: what lies on the first or the second side of a line of the grid; four a tile. */
static int edge_of(const sw_grid *g, bool upright, int column, int row, bool second)
{
    int tile = (column - (upright && !second)) * g->rows + row - (!upright && !second);
    return 4 * tile + (upright ? 1 : 3) - second;
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
        j->rims[j->rim_count++] = (rim_job){t, 2 * upright + (line == 0), edge_of(g, upright, column, row, line == 0)};
        return status;
    }
    seam_job *s = &j->seams[j->seam_count++];
    *s = (seam_job){.trace = t, .facing = sw_facing_of(t, upright)};
    sw_heights_beside(g, upright, column, row, rise_mm);
    int far = (t->tangent >= 0) != t->reversed; /* 1: the second tile is the far one */
    s->edge[SW_NEAR] = edge_of(g, upright, column, row, !far);
    s->edge[SW_FAR] = edge_of(g, upright, column, row, far);
    t->step_mm = rise_mm[far] - rise_mm[!far];
    t->step_u_mm = sw_heights_step_u(g, upright, column, row);
    t->stepped = fabs(t->step_mm) > STEP_LEAST_MM || t->step_u_mm > STEP_OPEN_MM;
    status = sw_trace_read_seam(j->photo, j->scale, t, &s->reading, err);
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
static double lit_start(const seam_job *s, const sw_slot_light *light)
{
    const sw_trace *t = s->trace;
    double lit = light->share * exp(light->slant) > BRIGHT ? exp(-light->slant) : 0;
    double strip = fmin(STRIP_MOST, fabs(t->tangent) * lit); /* share of the true width */
    return strip / (1 - strip);
}

/* Radii go along with the other shared numbers. */
static void believe_radii(sw_slot_prior *prior, const sw_radius *near, const sw_radius *far)
{
    const sw_radius *radius[2] = {near, far};
    prior->round = prior->shaped = true;
    prior->inverse[SW_SHAPE_STEP][SW_SHAPE_STEP] = 1 / (LEVEL_SD_MM * LEVEL_SD_MM);
    for (int side = 0; side < 2; side++) {
        int at = SW_SHAPE_ROUND_NEAR + side;
        double sd = fmax(RADIUS_SD_LEAST_MM, radius[side]->sd_mm);
        prior->mean.number[at] = fmax(0, radius[side]->mm);
        prior->inverse[at][at] = 1 / (sd * sd);
    }
}

/* A wide seam between tops of one level, from some of its stations: what it tells of the light. A wall lit as brightly as
 * the top is taken for the top by a fit that starts without a lamp, and a dark one found no more by one that starts with
 * it: so both are tried. */
static sw_status listen(job *j, seam_job *s, const sw_table_light *floor)
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

static bool round_table(const job *j)
{
    return j->round_odds > ROUND_ODDS;
}

/* Standard uncertainty of a radius: its own light's, and what model and light leave over. */
static double round_u(double sd_mm, const sw_trace *t, double radius_mm)
{
    return hypot(sd_mm, hypot(ROUND_U_PX / t->px_per_mm, ROUND_U_SHARE * radius_mm));
}

/* How far both rims are rounded, for the trace. */
static void note_radii(const job *j, const seam_job *s, const sw_slot_result *result)
{
    sw_trace *t = s->trace;
    for (int side = 0; side < 2 && round_table(j) && !t->stepped; side++) {
        int high = (side == SW_FAR) == (t->tangent >= 0), number = SW_SHAPE_ROUND_NEAR + side;
        t->round_mm[high] = result->light.number[number];
        t->round_u_mm[high] = round_u(sqrt(result->covariance[number][number]), t, t->round_mm[high]);
    }
}

/* What lights the shoulder of the table's own rim. */
static sw_shoulder_light rim_light(const job *j, const rim_job *r)
{
    sw_slot_prior prior;
    sw_light_prior(&j->light, r->trace, r->facing, &prior);
    double share = fmax(0, prior.mean.share), sky = fmax(0, 1 - share - prior.other.share);
    return (sw_shoulder_light){.wall = fmin(prior.mean.wall, sky / 2), /* what each facing says is not of one piece */
                               .share = share,
                               .slant = exp(prior.mean.slant) * j->lamp[r->facing / 2],
                               .share_behind = prior.other.share,
                               .slant_behind = prior.other.slant * j->lamp[r->facing / 2],
                               .penumbra = prior.mean.penumbra};
}

/* The light as the wide seams tell it, with sharp rims or with round ones. */
static void hear_all(job *j, const sw_table_light *floor)
{
    j->light = *floor;
    for (int k = 0; k < j->seam_count; k++)
        if (j->seams[k].heard)
            sw_light_hear(&j->light, j->seams[k].facing, &j->seams[k].prior, &j->seams[k].result, 1);
}

/* What a fit says of a radius beyond what was believed before. Below about a third of a pixel a round rim looks like a sharp
 * one. */
static sw_radius radius_told(const sw_trace *t, const sw_slot_prior *prior, const sw_slot_result *result, int number)
{
    double least = ROUND_SHOWS_PX / t->px_per_mm, mm = result->light.number[number],
           p = 1 / result->covariance[number][number], before = prior->inverse[number][number];
    if (mm < least)
        return (sw_radius){least / 2, least};
    if (!(p > before * ROUND_TELLS))
        return (sw_radius){0, 0};
    mm = (p * mm - before * prior->mean.number[number]) / (p - before);
    return (sw_radius){fmax(0, mm), hypot(sqrt(1 / (p - before)), least / 2)};
}

/* What an edge or two say for round rims: less what two more numbers explain of anything (an edge response that is a little off, in all
 * seams alike), and no more than so much, as something else may lie at a single edge. */
static double odds_of(double gain, double less, double most)
{
    return fmax(ODDS_LEAST, fmin(most, gain - less));
}

/* The same of a seam. A step between its tops makes bands beside the slot that no hand-sanded rims do: too wide, or not to be fitted. */
static double seam_odds(const seam_job *s)
{
    double gain = s->result.cost - s->round.cost, widest = fmax(s->round.light.round_near, s->round.light.round_far);
    return widest > ROUND_MOST_MM || gain < ROUND_FAILS ? -SEAM_ODDS_MOST
                                                        : odds_of(gain, SEAM_ODDS_LESS, SEAM_ODDS_MOST);
}

/* The same seam with round rims. */
static sw_status listen_round(job *j, seam_job *s)
{
    const sw_radius any = {ROUND_USUAL_MM, ROUND_SD_MM};
    sw_slot_prior prior;
    sw_light_prior(&j->light, s->trace, s->facing, &prior);
    s->prior.other = prior.other; /* shoulders see the lamp at the other side, too: as well as is known by now */
    prior = s->prior;
    believe_radii(&prior, &any, &any);
    s->round = s->result;
    s->round.light.step = prior.mean.step;
    s->round.light.round_near = s->round.light.round_far = ROUND_USUAL_MM;
    sw_status status = sw_seam_fit(&j->cavity, s->reading, s->trace, &prior, s->far_wider, false, &s->round);
    if (status)
        return status;
    s->round_far_wider = sw_seam_far_wider(s->reading, s->trace);
    for (int side = 0; side < 2; side++)
        j->told[s->edge[side]] = radius_told(s->trace, &prior, &s->round, SW_SHAPE_ROUND_NEAR + side);
    return SW_OK;
}

/* A seam that is fitted with round rims, too: at a step its shape is the step's. */
static bool fits_round(const seam_job *s)
{
    return s->heard && !s->prior.stepped;
}

/* What a rim's own light says of its radius. */
static sw_rim_odds tell_rim(job *j, const rim_job *r)
{
    const sw_shoulder_light light = rim_light(j, r);
    sw_rim_odds odds;
    j->told[r->edge] = sw_trace_rim_radius(j->photo, j->scale, r->trace, &light, &odds);
    return odds;
}

static double tell_rims(job *j, bool upright)
{
    double left = 0;
    for (int i = 0; i < j->rim_count; i++)
        if (j->rims[i].facing / 2 == upright)
            left += tell_rim(j, &j->rims[i]).left;
    return left;
}

/* How far across the lamp's light goes is not known of walls that the camera does not see, but the shoulders of the table's own rims
 * tell it. */
static void find_lamp(job *j, bool upright)
{
    double usual = tell_rims(j, upright), best = usual - LAMP_ODDS, factor = 1;
    for (int k = 0; k < LAMPS; k++) {
        j->lamp[upright] = LAMP_FACTOR[k];
        double left = tell_rims(j, upright);
        if (left < best) {
            best = left;
            factor = LAMP_FACTOR[k];
        }
    }
    j->lamp[upright] = factor;
    tell_rims(j, upright);
}

/* Takes the fits with round rims for those that count. */
static void hear_round(job *j, const sw_table_light *floor)
{
    for (int k = 0; k < j->seam_count; k++)
        if (fits_round(&j->seams[k])) {
            j->seams[k].result = j->seams[k].round;
            j->seams[k].far_wider = j->seams[k].round_far_wider;
        }
    hear_all(j, floor);
}

/* How far all edges are rounded, if they are: what the table's own rims say with what the wide seams did. */
static sw_status weigh_rounding(job *j, const sw_table_light *floor)
{
    double rims[SW_FACINGS] = {0}; /* what they say, by where they look */
    hear_all(j, floor);
    for (int k = 0; k < j->seam_count; k++)
        if (fits_round(&j->seams[k]) && listen_round(j, &j->seams[k]))
            return SW_NO_MEMORY;
        else if (fits_round(&j->seams[k]))
            j->round_odds += seam_odds(&j->seams[k]);
    for (int k = 0; k < j->rim_count; k++) {
        const rim_job *r = &j->rims[k];
        rims[r->facing] += odds_of(tell_rim(j, r).gain, RIM_ODDS_LESS, RIM_ODDS_MOST);
    }
    /* what a lit floor makes of a sharp rim can look like a shoulder, but not at the opposite side as well */
    for (int f = 0; f < SW_FACINGS; f += 2)
        j->round_odds += fmin(rims[f], rims[f + 1]);

    if (!round_table(j))
        return SW_OK;
    hear_round(j, floor);
    for (int upright = 0; upright < 2; upright++)
        find_lamp(j, upright);
    sw_radii_believe(j->told, j->grid->columns * j->grid->rows, j->others, j->all);
    for (int k = 0; k < j->rim_count; k++) {
        const rim_job *r = &j->rims[k];
        const sw_shoulder_light light = rim_light(j, r);
        int high = r->trace->kind == SW_TRACE_HIGH_TILE;
        r->trace->round_mm[high] = fmax(0, j->all[r->edge].mm);
        r->trace->round_u_mm[high] = round_u(j->all[r->edge].sd_mm, r->trace, r->trace->round_mm[high]);
        sw_trace_round_rim(j->photo, j->scale, r->trace, &light, r->trace->round_mm[high]);
    }
    return SW_OK;
}

/* Where nothing is known of a step but that there may be one: whether face or shade beside the slot say so, from some of the
 * stations. */
static sw_status look_for_step(const job *j, seam_job *s, const sw_table_light *others)
{
    sw_trace *t = s->trace;
    double cost[2];
    if (t->narrow || t->stepped || !(t->step_u_mm > STEP_LOOKED_FOR_MM))
        return SW_OK;
    for (int stepped = 0; stepped < 2; stepped++) {
        sw_slot_prior prior;
        t->stepped = stepped;
        sw_light_prior(others, t, s->facing, &prior);
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
static sw_status settle_seam(job *j, seam_job *s, sw_error *err)
{
    sw_table_light others = j->light; /* what all but this one told */
    sw_slot_prior prior;
    sw_slot_result result;
    if (s->heard)
        sw_light_hear(&others, s->facing, &s->prior, &s->result, -1);
    if (look_for_step(j, s, &others) == SW_NO_MEMORY)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    sw_light_prior(&others, s->trace, s->facing, &prior);
    if (round_table(j) && !prior.stepped)
        believe_radii(&prior, &j->others[s->edge[SW_NEAR]], &j->others[s->edge[SW_FAR]]);
    result.light = s->heard ? s->result.light : prior.mean;
    double wider = s->heard ? s->far_wider : lit_start(s, &prior.mean);
    sw_status status = sw_seam_fit(&j->cavity, s->reading, s->trace, &prior, wider, true, &result);
    if (!status) {
        sw_seam_hand_over(s->reading, &result, s->trace);
        note_radii(j, s, &result);
    }
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
        if (!j->seams[k].trace->narrow && listen(j, &j->seams[k], &floor) == SW_NO_MEMORY)
            status = sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    if (!status && weigh_rounding(j, &floor))
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
    j.told = calloc(3 * edges, sizeof *j.told);
    j.others = j.told + edges;
    j.all = j.others + edges;
    sw_status status = SW_OK;
    traces->level = traces->upright ? traces->upright + upright : NULL;
    if (!traces->upright || !j.seams || !j.rims || !j.told)
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
