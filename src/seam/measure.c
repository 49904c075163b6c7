#include "seam/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scale/frame.h"
#include "seam/follow.h"
#include "seam/light.h"
#include "seam/read.h"
#include "seam/rim.h"

/* A slot at least this many blurs wide shows its inside; what it says of the light is handed to narrower ones that face
 * the same way. */
static const double WIDE_BLURS = 4.5;
/* A lamp that lights the far walls facing one side casts the table's own shadow on the floor at the other side: there
 * the floor is two to four times darker than at the lamp's side, while wood's grain makes it a third. The logarithm of
 * the ratio that speaks for neither, what it is worth from there on (logarithm of odds), and the most it may be worth:
 * the floor may be cluttered. */
static const double SHADOW_EVEN = 0.55, SHADOW_WORTH = 10, SHADOW_MOST = 6;
/* Differences of evidence up to this say nothing: the priors' shapes are worth as much. */
static const double NO_WORD = 2;
/* And no single slot has the last word: one that neither supposition fits may seem to be sure. */
static const double LAST_WORD = 6;
/* A supposition less likely than this is dropped. */
static const double UNLIKELY = 0.02;
/* And less likely than this, a narrow seam is not even asked. */
static const double FOREGONE = 1e-4;
/* Where the fit starts from when a wall is supposed lit: down to so many gaps below the rim. A high lamp and a low one
 * leave different pictures, and a start from the wrong one may not find the way. */
enum { LIT_STARTS = 2 };
static const double LIT_START[LIT_STARTS] = {0.6, 1.2};

/* A seam on its way from pixels to rims. */
typedef struct seam_job {
    sw_trace *trace;
    sw_seam_reading *reading;
    int facing;
    sw_slot_prior prior[SW_SUPPOSITIONS];
    sw_slot_result result[SW_SUPPOSITIONS];
    double far_wider[SW_SUPPOSITIONS];
    bool heard; /* it told of the light */
} seam_job;

typedef struct job {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_grid *grid;
    double step_mm, camera[3];
    sw_traces *traces;
    seam_job *seams;
    int seam_count;
    sw_light_word words[SW_FACINGS][SW_SUPPOSITIONS];
    double evidence[SW_FACINGS];                  /* for lit over dim walls, logarithm */
    double floor[SW_FACINGS], floors[SW_FACINGS]; /* beside the table at the side a facing looks to: sum of the
                                                     logarithm of its light, count */
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

/* A difference of evidence without what is within the priors' own doubt. */
static double word_of(double evidence)
{
    double word = evidence - fmax(-NO_WORD, fmin(NO_WORD, evidence));
    return fmax(-LAST_WORD, fmin(LAST_WORD, word));
}

/* A wide seam under both suppositions, from some of its stations: what it tells of the light. */
static sw_status listen(job *j, seam_job *s)
{
    for (int h = 0; h < SW_SUPPOSITIONS; h++) {
        const sw_light_word none = {.slots = 0};
        sw_light_prior(s->trace, h, false, &none, &s->prior[h]);
        for (int k = 0; k < (h == SW_LIT ? LIT_STARTS : 1); k++) {
            sw_slot_result result = {.light = s->prior[h].mean};
            if (h == SW_LIT) {
                result.light.base *= exp(result.light.reach) / LIT_START[k];
                result.light.reach = log(LIT_START[k]);
            }
            sw_status status = sw_seam_fit(s->reading, s->trace, &s->prior[h],
                                           h == SW_LIT ? LIT_START[k] * fabs(s->trace->tangent) : 0, false, &result);
            if (status)
                return status;
            if (k > 0 && result.evidence < s->result[h].evidence)
                continue;
            s->result[h] = result;
            s->far_wider[h] = sw_seam_far_wider(s->reading, s->trace);
        }
        sw_light_hear(s->trace, &s->prior[h], &s->result[h], 1, &j->words[s->facing][h]);
    }
    s->heard = true;
    j->evidence[s->facing] += word_of(s->result[SW_LIT].evidence - s->result[SW_DIM].evidence);
    return SW_OK;
}

/* Notes how light the floor is right beside the table. */
static void note_floor(job *j, const sw_trace *t, bool upright, int line)
{
    int facing = 2 * upright + (line == 0); /* the west and north rims look the way the west and north walls face */
    for (int i = 0; i < t->count; i++) {
        double light = t->kind == SW_TRACE_LOW_TILE ? t->places[i].high : t->places[i].low;
        if (!t->places[i].seen || !(light > 0))
            continue;
        j->floor[facing] += log(light);
        j->floors[facing]++;
    }
}

/* What the floor's light says of lamps on far walls of this facing, logarithm of odds. */
static double shadow_says(const job *j, int facing)
{
    int other = facing ^ 1;
    if (!(j->floors[facing] > 0) || !(j->floors[other] > 0))
        return 0;
    double ratio = j->floor[facing] / j->floors[facing] - j->floor[other] / j->floors[other];
    double says = SHADOW_WORTH * (ratio - SHADOW_EVEN);
    return fmax(-SHADOW_MOST, fmin(SHADOW_MOST, says));
}

/* Lays, follows and reads one trace; seams are left for settle_seam. */
static sw_status read_one(job *j, const sw_grid_side *side, int upright, int line, int last, sw_trace *t, sw_error *err)
{
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
    status = sw_trace_read_seam(j->photo, j->scale, t, &s->reading, err);
    if (status)
        return status;
    t->narrow = sw_seam_rough_width(s->reading, t) < WIDE_BLURS * j->scale->blur_px;
    if (!t->narrow && listen(j, s) == SW_NO_MEMORY)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", j->photo->file);
    return SW_OK;
}

static double start_of(const seam_job *s, int supposition)
{
    if (s->heard)
        return s->far_wider[supposition];
    return supposition == SW_LIT ? LIT_START[0] * fabs(s->trace->tangent) : 0;
}

/* Fits a seam under a supposition, with what the others told as prior. */
static sw_status fit_with_words(job *j, seam_job *s, int supposition, bool all, sw_slot_result *result)
{
    sw_light_word *words = &j->words[s->facing][supposition];
    sw_slot_prior prior;
    if (s->heard)
        sw_light_hear(s->trace, &s->prior[supposition], &s->result[supposition], -1, words);
    sw_light_prior(s->trace, supposition, s->trace->narrow, words, &prior);
    if (s->heard)
        sw_light_hear(s->trace, &s->prior[supposition], &s->result[supposition], 1, words);
    result->light = s->heard ? s->result[supposition].light : prior.mean;
    return sw_seam_fit(s->reading, s->trace, &prior, start_of(s, supposition), all, result);
}

/* How likely it is that this seam's far wall is lit: what the floor and all walls that face its way show, and, where it
 * was too narrow to be heard, what its own samples do. */
static sw_status judge(job *j, seam_job *s, double *lit)
{
    double odds = j->evidence[s->facing] + shadow_says(j, s->facing);
    *lit = 1 / (1 + exp(-odds));
    if (s->heard || *lit < FOREGONE || *lit > 1 - FOREGONE)
        return SW_OK;
    sw_slot_result result[SW_SUPPOSITIONS];
    for (int h = 0; h < SW_SUPPOSITIONS; h++) {
        sw_status status = fit_with_words(j, s, h, false, &result[h]);
        if (status)
            return status;
    }
    *lit = 1 / (1 + exp(-odds - word_of(result[SW_LIT].evidence - result[SW_DIM].evidence)));
    return SW_OK;
}

/* The fit that counts. */
static sw_status settle_seam(job *j, seam_job *s, sw_error *err)
{
    double lit = 0;
    bool handed = false;
    sw_status status = judge(j, s, &lit);
    for (int h = 0; h < SW_SUPPOSITIONS && !status; h++) {
        double share = h == SW_LIT ? lit : 1 - lit;
        sw_slot_result result;
        if (share < UNLIKELY)
            continue;
        status = fit_with_words(j, s, h, true, &result);
        if (status)
            break;
        sw_seam_hand_over(s->reading, &result, handed ? share : 1, s->trace);
        handed = true;
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
            status = read_one(j, &g->upright[i][r], true, i, g->columns, &j->traces->upright[i * g->rows + r], err);
    for (int i = 0; !status && i < g->columns; i++)
        for (int r = 0; !status && r <= g->rows; r++)
            status = read_one(j, &g->level[i][r], false, r, g->rows, &j->traces->level[i * (g->rows + 1) + r], err);
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
