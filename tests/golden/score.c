#include "golden/score.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double VERDICT_MARGIN_MM = 0.1;
static const double END_MARGIN_MM = 6, CHIP_WIDER_MM = 0.02, CHIP_DEPTH_MM = 0.8, DEGREE = 3.14159265358979323846 / 180;
/* Stations of the truth are 1 mm apart. */
enum { CHIP_MARGIN = 4, CHIP_JOIN = 3, RUNS_MOST = 64 };

/* Running sums of one kind of error. */
typedef struct sums {
    double n, sum, squares, worst, held, asked, stated;
} sums;

static void add(sums *s, double error, double u95)
{
    s->n++;
    s->sum += error;
    s->squares += error * error;
    s->worst = fmax(s->worst, fabs(error));
    if (!isnan(u95)) {
        s->asked++;
        s->held += fabs(error) <= u95;
        s->stated += u95;
    }
}

static score_errors close(const sums *s)
{
    if (s->n < 1)
        return (score_errors){0, NAN, NAN, NAN, NAN, NAN};
    return (score_errors){(size_t)s->n, s->sum / s->n,      sqrt(s->squares / s->n),
                          s->worst,     s->held / s->asked, s->stated / s->asked};
}

/* One seam's truth, as arrays, and what was found of it. */
typedef struct seam_truth {
    size_t count;
    double *at, *gap, *clean; /* without chips */
    char *near;               /* next to a chip */
    double length;
    int runs, from[RUNS_MOST], to[RUNS_MOST]; /* chips deep enough to count */
} seam_truth;

static double number_at(const json_t *array, size_t i)
{
    return json_number_value(json_array_get(array, i));
}

static int is_chippy(const seam_truth *t, size_t i)
{
    return fabs(t->gap[i] - t->clean[i]) > CHIP_WIDER_MM;
}

/* Runs of places with a chip; a gap of up to CHIP_JOIN does not part them. Only deep ones stay. */
static void find_runs(seam_truth *t)
{
    int kept = 0, open = 0;
    for (size_t i = 0; i < t->count; i++) {
        if (!is_chippy(t, i))
            continue;
        for (size_t j = i < CHIP_MARGIN ? 0 : i - CHIP_MARGIN; j < t->count && j <= i + CHIP_MARGIN; j++)
            t->near[j] = 1;
        if (open && (int)i - t->to[t->runs - 1] <= CHIP_JOIN) {
            t->to[t->runs - 1] = (int)i;
        } else if (t->runs < RUNS_MOST) {
            t->from[t->runs] = t->to[t->runs] = (int)i;
            t->runs++;
            open = 1;
        }
    }
    for (int r = 0; r < t->runs; r++) {
        double depth = 0;
        for (int i = t->from[r]; i <= t->to[r]; i++)
            depth = fmax(depth, t->gap[i] - t->clean[i]);
        if (depth > CHIP_DEPTH_MM) {
            t->from[kept] = t->from[r];
            t->to[kept++] = t->to[r];
        }
    }
    t->runs = kept;
}

static int load_seam(const json_t *json, seam_truth *t)
{
    const json_t *at = json_object_get(json, "at"), *gap = json_object_get(json, "gap"),
                 *clean = json_object_get(json, "gap_without_chips");
    *t = (seam_truth){.count = json_array_size(at), .length = json_number_value(json_object_get(json, "length"))};
    if (t->count < 1 || json_array_size(gap) != t->count || json_array_size(clean) != t->count)
        return -1;
    t->at = malloc(t->count * 3 * sizeof *t->at);
    t->near = calloc(t->count, 1);
    if (!t->at || !t->near)
        return -1;
    t->gap = t->at + t->count;
    t->clean = t->gap + t->count;
    for (size_t i = 0; i < t->count; i++) {
        t->at[i] = number_at(at, i);
        t->gap[i] = number_at(gap, i);
        t->clean[i] = number_at(clean, i);
    }
    find_runs(t);
    return 0;
}

static int usable(const seam_truth *t, size_t i)
{
    return t->at[i] >= END_MARGIN_MM && t->at[i] <= t->length - END_MARGIN_MM && !t->near[i];
}

/* The measured stations that are "ok", in order. */
static size_t good_stations(const sw_seam *seam, sw_station *out)
{
    size_t n = 0;
    for (size_t k = 0; k < seam->station_count; k++)
        if (seam->stations[k].state == SW_STATION_OK && !isnan(seam->stations[k].gap_mm))
            out[n++] = seam->stations[k];
    return n;
}

/* Gap at a place, linear between stations. */
static double gap_at(const sw_station *s, size_t n, double at)
{
    size_t hi = 1;
    if (at <= s[0].at_mm)
        return s[0].gap_mm;
    if (at >= s[n - 1].at_mm)
        return s[n - 1].gap_mm;
    while (s[hi].at_mm <= at)
        hi++;
    double part = (at - s[hi - 1].at_mm) / (s[hi].at_mm - s[hi - 1].at_mm);
    return s[hi - 1].gap_mm + part * (s[hi].gap_mm - s[hi - 1].gap_mm);
}

typedef struct tally {
    sums gap, mean, angle, straight, length;
    double total, have;
    score *out;
} tally;

static void score_stations(const seam_truth *t, const sw_seam *seam, const sw_station *s, size_t n, tally *y)
{
    sums mine = {0};
    double clean = 0, places = 0;
    size_t j = 0;
    for (size_t i = 0; i < t->count; i++) {
        if (!usable(t, i))
            continue;
        clean += t->clean[i];
        places++;
        while (j + 1 < n && fabs(s[j + 1].at_mm - t->at[i]) <= fabs(s[j].at_mm - t->at[i]))
            j++;
        if (n == 0 || fabs(s[j].at_mm - t->at[i]) > 1.01)
            continue;
        double error = gap_at(s, n, t->at[i]) - t->gap[i];
        y->have++;
        add(&y->gap, error, s[j].u95_mm);
        add(&mine, error, NAN);
    }
    if (mine.n > 0 && fabs(mine.sum / mine.n) >= fabs(y->out->worst_seam_mm)) {
        y->out->worst_seam_mm = mine.sum / mine.n;
        memcpy(y->out->worst_seam, seam->name, sizeof y->out->worst_seam);
    }
    if (places > 0 && !isnan(seam->mean_mm))
        add(&y->mean, seam->mean_mm - clean / places, seam->mean_u95_mm + 0.01);
}

static void score_chips(const seam_truth *t, const sw_seam *seam, char *used, score *out)
{
    for (int r = 0; r < t->runs; r++) {
        double from = t->at[t->from[r]], to = t->at[t->to[r]];
        if (from < END_MARGIN_MM || to > t->length - END_MARGIN_MM)
            continue;
        out->chips_true++;
        for (size_t k = 0; k < seam->chip_count; k++)
            if (!used[k] && seam->chips[k].at_mm >= from - 6 && seam->chips[k].at_mm <= to + 6) {
                out->chips_found++;
                used[k] = 1;
                break;
            }
    }
    for (size_t k = 0; k < seam->chip_count; k++) {
        int beside = used[k];
        for (size_t i = 0; i < t->count && !beside; i++)
            beside = is_chippy(t, i) && fabs(seam->chips[k].at_mm - t->at[i]) <= 8;
        out->chips_false += !beside;
    }
}

/* The widest gap without chips decides, away from the crossings. */
static int verdict_is_wrong(const seam_truth *t, const sw_seam *seam, double tolerance_mm)
{
    double worst = 0;
    for (size_t i = 0; i < t->count; i++)
        if (t->at[i] >= END_MARGIN_MM && t->at[i] <= t->length - END_MARGIN_MM)
            worst = fmax(worst, t->clean[i]);
    return (seam->verdict == SW_WITHIN && worst > tolerance_mm + VERDICT_MARGIN_MM) ||
           (seam->verdict == SW_OVER && worst < tolerance_mm - VERDICT_MARGIN_MM);
}

static const sw_seam *seam_called(const sw_inspection *ins, const char *name)
{
    for (size_t i = 0; i < ins->seam_count; i++)
        if (strcmp(ins->seams[i].name, name) == 0)
            return &ins->seams[i];
    return NULL;
}

static int score_seam(const sw_inspection *ins, const char *name, const json_t *json, tally *y)
{
    seam_truth t;
    const sw_seam *seam = seam_called(ins, name);
    int status = load_seam(json, &t);
    sw_station *good = malloc(((seam ? seam->station_count : 0) + 1) * sizeof *good);
    char *used = calloc((seam ? seam->chip_count : 0) + 1, 1);
    if (!good || !used)
        status = -1;
    for (size_t i = 0; !status && i < t.count; i++)
        y->total += usable(&t, i);
    if (!status && seam) {
        score_stations(&t, seam, good, good_stations(seam, good), y);
        score_chips(&t, seam, used, y->out);
        y->out->wrong_verdicts += verdict_is_wrong(&t, seam, ins->tolerance_mm);
    }
    free(good);
    free(used);
    free(t.at);
    free(t.near);
    return status;
}

/* Inside angles in degrees from the edges' slopes (outward deviation per mm along, x for north and south, y for the
 * others). */
static void score_tile(const sw_tile *tile, const json_t *edges, tally *y)
{
    static const char *const names[4] = {"N", "E", "S", "W"};
    double slope[4];
    for (int s = 0; s < 4; s++)
        slope[s] = json_number_value(json_object_get(json_object_get(edges, names[s]), "slope")) / DEGREE;
    const double angle[4] = {90 + slope[SW_NORTH] - slope[SW_WEST], 90 - slope[SW_NORTH] - slope[SW_EAST],
                             90 + slope[SW_EAST] - slope[SW_SOUTH], 90 + slope[SW_SOUTH] + slope[SW_WEST]};
    for (int c = 0; c < 4; c++)
        if (!isnan(tile->corners[c].angle_deg))
            add(&y->angle, tile->corners[c].angle_deg - angle[c], tile->corners[c].u95_deg);
    for (int s = 0; s < 4; s++) {
        const json_t *edge = json_object_get(edges, names[s]);
        const sw_edge *e = &tile->edges[s];
        if (!isnan(e->straightness_mm))
            add(&y->straight, e->straightness_mm - json_number_value(json_object_get(edge, "straightness")),
                e->straightness_u95_mm);
        if (!isnan(e->length_mm))
            add(&y->length, e->length_mm - json_number_value(json_object_get(edge, "length")), e->length_u95_mm);
    }
}

/* What no photo tells is left out: how high the whole table stands. */
static void score_heights(const sw_inspection *ins, const json_t *heights, score *out)
{
    sums sums_of = {0};
    double found = 0, truth = 0, n = 0;
    for (int round = 0; round < 2; round++)
        for (size_t i = 0; i < ins->tile_count; i++) {
            const sw_tile *tile = &ins->tiles[i];
            const json_t *height = json_object_get(heights, tile->name);
            if (!height || isnan(tile->height_mm))
                continue;
            if (round) {
                add(&sums_of, tile->height_mm - found / n - (json_number_value(height) - truth / n),
                    tile->height_u95_mm);
                continue;
            }
            found += tile->height_mm;
            truth += json_number_value(height);
            n++;
        }
    out->height_mm = close(&sums_of);
}

int score_inspection(const sw_inspection *ins, const char *truth_path, score *out)
{
    json_t *truth = json_load_file(truth_path, 0, NULL), *part;
    tally y = {.out = out};
    const char *name;
    int status = truth ? 0 : -1;
    memset(out, 0, sizeof *out);
    json_object_foreach(json_object_get(truth, "seams"), name, part)
    {
        if (!status)
            status = score_seam(ins, name, part, &y);
    }
    json_object_foreach(json_object_get(truth, "tiles"), name, part)
    {
        for (size_t i = 0; i < ins->tile_count; i++)
            if (strcmp(ins->tiles[i].name, name) == 0)
                score_tile(&ins->tiles[i], json_object_get(part, "edges"), &y);
    }
    score_heights(ins, json_object_get(truth, "heights"), out);
    json_decref(truth);
    if (y.total < 1)
        return -1;
    out->gap = close(&y.gap);
    out->gap_mean = close(&y.mean);
    out->angle_deg = close(&y.angle);
    out->straightness_mm = close(&y.straight);
    out->length_mm = close(&y.length);
    out->measured = y.have / y.total;
    return status;
}
