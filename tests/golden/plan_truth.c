#include "golden/plan_truth.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/made/judge_lp.h"

static const double DEGREE = 3.14159265358979323846 / 180;
/* A place belongs to a chip where it is so much wider with chips than without, mm: as in score.c. */
static const double CHIP_WIDER_MM = 0.02;
/* Inspections leave so much out at a seam's ends, mm. */
static const double END_MM = 5;
/* The truth has a station every mm; every so many-th is taken, besides the last. Nothing changes so fast. */
enum { EVERY = 2 };
/* Motions are limited to this, mm; turns count as mm at TURN_MM from a tile's middle. */
static const double REACH_MM = 40, TURN_MM = 100;
/* A try square shows a lean from here on, mm at the base. */
static const double SHOWS_MM = 0.1;
/* Pushed towards a corner: of two seams the one a tile farther off weighs so much of the nearer. */
static const double FALLS = 0.5;
enum { TERMS_MOST = 9, MOTIONS = 3 };
/* See truth_square. */
static const double UNDER_LINE = 4.0 / 3;

void truth_inspect(const char *folder, const char *name, const sw_options *options, sw_inspection *ins)
{
    char path[4096];
    sw_photo photo;
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/%s.jpg", folder, name);
    if (sw_photo_load(path, &photo, &err) || sw_inspect(&photo, options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
}

static json_t *load(const char *folder, const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s.truth.json", folder, name);
    json_t *json = json_load_file(path, 0, NULL);
    if (!json)
        fail_msg("%s: no truth that could be read", path);
    return json;
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("the truth has no number %s", key);
    return json_number_value(value);
}

static double item(const json_t *object, const char *key, size_t i)
{
    const json_t *value = json_array_get(json_object_get(object, key), i);
    if (!json_is_number(value))
        fail_msg("the truth has no number %s %zu", key, i);
    return json_number_value(value);
}

static void read_tile(const json_t *json, int tile, plan_truth *t)
{
    static const char *const names[] = {"N", "E", "S", "W"};
    t->x_mm[tile] = item(json, "pose", 0);
    t->y_mm[tile] = item(json, "pose", 1);
    for (int s = 0; s < 4; s++) {
        const json_t *edge = json_object_get(json_object_get(json, "edges"), names[s]);
        t->slope[tile][s] = number_of(edge, "slope");
        t->offset_mm[tile][s] = number_of(edge, "offset");
        t->straightness_mm[tile][s] = number_of(edge, "straightness");
    }
}

static double lean_of(const json_t *tiles, const char *tile, sw_side side, double height_mm)
{
    static const char *const names[] = {"N", "E", "S", "W"};
    const json_t *lean = json_object_get(json_object_get(tiles, tile), "lean_deg");
    return height_mm * tan(number_of(lean, names[side]) * DEGREE);
}

static void read_seam(const json_t *truth, const sw_inspection *ins, const sw_seam *from, plan_truth *t, truth_seam *s)
{
    const json_t *json = json_object_get(json_object_get(truth, "seams"), from->name),
                 *tiles = json_object_get(truth, "tiles");
    size_t all = json_array_size(json_object_get(json, "at"));
    assert_true(all > 0);
    snprintf(s->name, sizeof s->name, "%s", from->name);
    s->tile[0] = from->first;
    s->tile[1] = from->second;
    s->upright = from->upright;
    s->side[0] = from->upright ? SW_EAST : SW_SOUTH;
    s->side[1] = from->upright ? SW_WEST : SW_NORTH;
    s->lean_mm = 0;
    for (int k = 0; k < 2; k++) {
        s->start[k] = item(json, "start", (size_t)k);
        s->face_mm[k] = lean_of(tiles, ins->tiles[s->tile[k]].name, s->side[k], t->height_mm);
        s->lean_mm += s->face_mm[k];
    }
    s->length_mm = number_of(json, "length");
    s->least_mm = INFINITY;
    s->widest_mm = -INFINITY;
    s->count = 0;
    for (size_t i = 0; i < all; i++) {
        double gap = item(json, "gap_without_chips", i);
        int chip = fabs(item(json, "gap", i) - gap) > CHIP_WIDER_MM;
        s->least_mm = fmin(s->least_mm, gap);
        if (!chip && item(json, "at", i) >= END_MM && item(json, "at", i) <= s->length_mm - END_MM)
            s->widest_mm = fmax(s->widest_mm, gap);
        if (i % EVERY && i + 1 < all)
            continue;
        assert_true(s->count < TRUTH_STATIONS);
        s->at[s->count] = item(json, "at", i);
        s->gap[s->count] = gap;
        s->chip[s->count++] = (unsigned char)chip;
    }
}

void truth_read(const char *folder, const char *name, const sw_inspection *ins, plan_truth *t)
{
    json_t *truth = load(folder, name);
    assert_true(ins->seam_count <= TRUTH_SEAMS && ins->tile_count <= TRUTH_TILES);
    t->seam_count = (int)ins->seam_count;
    t->tile_count = (int)ins->tile_count;
    t->tile_mm = number_of(truth, "tile");
    t->height_mm = number_of(truth, "tile_height");
    for (int i = 0; i < t->tile_count; i++)
        read_tile(json_object_get(json_object_get(truth, "tiles"), ins->tiles[i].name), i, t);
    for (int j = 0; j < t->seam_count; j++)
        read_seam(truth, ins, &ins->seams[j], t, &t->seams[j]);
    json_decref(truth);
}

/* ---- what comes off ---- */

static double removed_at(const sw_edge_plan *edge, double at)
{
    const sw_removal *r = edge->true_up;
    size_t n = edge->true_up_count;
    if (!n)
        return 0;
    if (at <= r[0].at_mm)
        return r[0].remove_mm;
    for (size_t k = 1; k < n; k++)
        if (at <= r[k].at_mm) {
            double part = (at - r[k - 1].at_mm) / (r[k].at_mm - r[k - 1].at_mm);
            return r[k - 1].remove_mm + part * (r[k].remove_mm - r[k - 1].remove_mm);
        }
    return r[n - 1].remove_mm;
}

static const sw_edge_plan *edge_of(const sw_plan *plan, int tile, sw_side side)
{
    for (size_t e = 0; plan && e < plan->edge_count; e++)
        if (plan->edges[e].tile == tile && plan->edges[e].side == side)
            return &plan->edges[e];
    return NULL;
}

/* What a plan takes off both edges of a seam; 0 for plan NULL. */
static double off_at(const sw_plan *plan, const truth_seam *s, double at_mm)
{
    double off = 0;
    for (int k = 0; k < 2; k++) {
        const sw_edge_plan *edge = edge_of(plan, s->tile[k], s->side[k]);
        off += edge ? removed_at(edge, at_mm) : 0;
    }
    return off;
}

static int bevelled(const sw_plan *plan, const truth_seam *s)
{
    for (int k = 0; k < 2; k++) {
        const sw_edge_plan *edge = edge_of(plan, s->tile[k], s->side[k]);
        if (edge && edge->bevel_mm > 0)
            return 1;
    }
    return 0;
}

/* ---- linear programmes ---- */

/* Columns `first` + 3 (tile - 1) ...: motions of all tiles but 0, which stays. Returns how many terms. */
static int motion_terms(const plan_truth *t, const truth_seam *s, double at, int first, int *column, double *factor)
{
    double x = s->start[0] + (s->upright ? 0 : at), y = s->start[1] - (s->upright ? at : 0);
    double nx = s->upright ? 1 : 0, ny = s->upright ? 0 : -1; /* from first to second: east or south */
    int n = 0;
    for (int k = 0; k < 2; k++) {
        int tile = s->tile[k];
        double sign = k ? 1 : -1;
        if (!tile)
            continue;
        const double by[MOTIONS] = {nx, ny, (ny * (x - t->x_mm[tile]) - nx * (y - t->y_mm[tile])) / TURN_MM};
        for (int m = 0; m < MOTIONS; m++) {
            column[n] = first + MOTIONS * (tile - 1) + m;
            factor[n++] = sign * by[m];
        }
    }
    return n;
}

static void row_at_least(judge_lp *lp, int terms, const int *column, const double *factor, double least)
{
    double turned[TERMS_MOST];
    for (int i = 0; i < terms; i++)
        turned[i] = -factor[i];
    judge_lp_row(lp, terms, column, turned, -least);
}

double truth_push(const plan_truth *t, const sw_plan *plan, int bases)
{
    int motions = MOTIONS * (t->tile_count - 1), column[TERMS_MOST];
    double factor[TERMS_MOST], x[MOTIONS * TRUTH_TILES + 1];
    judge_lp *lp = judge_lp_new(motions + 1);
    judge_lp_cost(lp, motions, 1);
    for (int m = 0; m < motions; m++)
        judge_lp_box(lp, m, -REACH_MM, REACH_MM);
    for (int j = 0; j < t->seam_count; j++) {
        const truth_seam *s = &t->seams[j];
        double apart = bases && !bevelled(plan, s) ? fmin(s->lean_mm, s->least_mm) : 0;
        for (int i = 0; i < s->count; i++) {
            double gap = s->gap[i] + off_at(plan, s, s->at[i]);
            int n = motion_terms(t, s, s->at[i], 0, column, factor);
            row_at_least(lp, n, column, factor, apart - gap);
            column[n] = motions;
            factor[n] = -1;
            if (!s->chip[i])
                judge_lp_row(lp, n + 1, column, factor, -gap);
        }
    }
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    judge_lp_free(lp);
    return x[motions];
}

/* How far the bases keep a seam's tops apart once those faces are bevelled that truly lean. */
static double apart_after(const sw_plan *plan, const truth_seam *s)
{
    double apart = fmin(s->lean_mm, s->least_mm);
    for (int k = 0; k < 2; k++) {
        const sw_edge_plan *edge = edge_of(plan, s->tile[k], s->side[k]);
        if (edge && s->face_mm[k] > SHOWS_MM)
            apart -= fmin(edge->bevel_mm, s->face_mm[k]);
    }
    return fmax(0, apart);
}

/* What a seam's mean gap weighs: counted in tiles from the corner that all are pushed to. */
static double weight_of(const plan_truth *t, const truth_seam *s, truth_way way)
{
    double sign = way == TRUTH_NW ? 1 : -1, nearest = INFINITY, here = 0;
    if (way == TRUTH_INWARD)
        return 1;
    for (int i = 0; i < t->tile_count; i++)
        nearest = fmin(nearest, sign * (t->x_mm[i] - t->y_mm[i]));
    for (int k = 0; k < 2; k++)
        here += sign * (t->x_mm[s->tile[k]] - t->y_mm[s->tile[k]]) / 2;
    return pow(FALLS, (here - nearest) / t->tile_mm);
}

void truth_press(const plan_truth *t, const sw_plan *plan, truth_way way, double after_mm[TRUTH_SEAMS])
{
    int motions = MOTIONS * (t->tile_count - 1), column[TERMS_MOST];
    double factor[TERMS_MOST], x[MOTIONS * TRUTH_TILES], cost[MOTIONS * TRUTH_TILES] = {0};
    judge_lp *lp = judge_lp_new(motions);
    for (int j = 0; j < t->seam_count; j++) {
        const truth_seam *s = &t->seams[j];
        double apart = apart_after(plan, s), weight = weight_of(t, s, way) / s->count;
        for (int i = 0; i < s->count; i++) {
            int n = motion_terms(t, s, s->at[i], 0, column, factor);
            row_at_least(lp, n, column, factor, apart - s->gap[i] - off_at(plan, s, s->at[i]));
            for (int k = 0; k < n; k++)
                cost[column[k]] += weight * factor[k];
        }
    }
    for (int m = 0; m < motions; m++) {
        judge_lp_box(lp, m, -REACH_MM, REACH_MM);
        judge_lp_cost(lp, m, cost[m]);
    }
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    judge_lp_free(lp);
    for (int j = 0; j < t->seam_count; j++) {
        const truth_seam *s = &t->seams[j];
        after_mm[j] = 0;
        for (int i = 0; i < s->count; i++) {
            double gap = s->gap[i] + off_at(plan, s, s->at[i]);
            int n = motion_terms(t, s, s->at[i], 0, column, factor);
            for (int k = 0; k < n; k++)
                gap += factor[k] * x[column[k]];
            if (!s->chip[i] && s->at[i] >= END_MM && s->at[i] <= s->length_mm - END_MM)
                after_mm[j] = fmax(after_mm[j], gap);
        }
    }
}

double truth_least(const plan_truth *t, double tolerance_mm, double knot_mm)
{
    int first[TRUTH_SEAMS + 1] = {0}, motions = MOTIONS * (t->tile_count - 1), column[TERMS_MOST];
    double factor[TERMS_MOST], area = 0;
    for (int j = 0; j < t->seam_count; j++)
        first[j + 1] = first[j] + (int)lround(t->seams[j].length_mm / knot_mm) + 1;
    int knots = first[t->seam_count];
    judge_lp *lp = judge_lp_new(knots + motions);
    double *x = calloc((size_t)(knots + motions), sizeof *x), *width = calloc((size_t)knots, sizeof *width);
    assert_non_null(x);
    assert_non_null(width);
    for (int m = 0; m < motions; m++)
        judge_lp_box(lp, knots + m, -REACH_MM, REACH_MM);
    for (int j = 0; j < t->seam_count; j++) {
        const truth_seam *s = &t->seams[j];
        int spans = first[j + 1] - first[j] - 1;
        for (int k = 0; k <= spans; k++) {
            width[first[j] + k] = s->length_mm / spans * (k == 0 || k == spans ? 0.5 : 1);
            judge_lp_cost(lp, first[j] + k, width[first[j] + k]);
            judge_lp_row(lp, 1, &(int){first[j] + k}, &(double){-1}, 0);
        }
        for (int i = 0; i < s->count; i++) {
            double place = s->at[i] / s->length_mm * spans;
            int k = (int)fmin(floor(place), spans - 1);
            int n = motion_terms(t, s, s->at[i], knots, column, factor);
            column[n] = first[j] + k;
            factor[n++] = 1 - (place - k);
            column[n] = first[j] + k + 1;
            factor[n++] = place - k;
            row_at_least(lp, n, column, factor, -s->gap[i]);
            if (!s->chip[i])
                judge_lp_row(lp, n, column, factor, tolerance_mm - s->gap[i]);
        }
    }
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    for (int k = 0; k < knots; k++)
        area += width[k] * x[k];
    free(x);
    free(width);
    judge_lp_free(lp);
    return area;
}

/* A square of side S, shifted by (x, y) and turned by t, lies within the outline when at every place u of every edge
 * S / 2 + n . (x, y) + t' u <= half + q(u), t' being t on the north and west sides and -t on the others.
 *
 * Most: q is straight on the mean the edge's least-squares line, so the mean of this over u is S / 2 + n . (x, y) <=
 * half
 * + offset. Added up for two opposite edges: S <= tile + both offsets.
 * Least: q lies in a zone `straightness` high, so nowhere lies under its least-squares line by more than 4/3 of that
 * (the worst is a q that is high over two thirds of the edge, low over the rest, and jumps down at the very end). A
 * square within the lines lowered by so much lies within the outline; as everything is straight, both ends of every
 * edge tell. */
void truth_square(const plan_truth *t, int tile, double *least_mm, double *most_mm)
{
    static const int ways[4][3] = {
        {0, 1, 1}, {1, 0, -1}, {0, -1, -1}, {-1, 0, 1}}; /* n, and the turn's sign, by sw_side */
    const double *off = t->offset_mm[tile];
    double half = t->tile_mm / 2, x[4];
    judge_lp *lp = judge_lp_new(4);
    judge_lp_cost(lp, 0, -1);
    for (int m = 1; m < 4; m++)
        judge_lp_box(lp, m, -REACH_MM, REACH_MM);
    for (int s = 0; s < 4; s++)
        for (int end = -1; end <= 1; end += 2) {
            double u = end * half;
            const int column[] = {0, 1, 2, 3};
            const double factor[] = {0.5, ways[s][0], ways[s][1], ways[s][2] * u / TURN_MM};
            judge_lp_row(lp, 4, column, factor,
                         half + off[s] + t->slope[tile][s] * u - UNDER_LINE * t->straightness_mm[tile][s]);
        }
    assert_int_equal(judge_lp_solve(lp, x, NULL), JUDGE_SOLVED);
    judge_lp_free(lp);
    *least_mm = x[0];
    *most_mm = t->tile_mm + fmin(off[SW_NORTH] + off[SW_SOUTH], off[SW_EAST] + off[SW_WEST]);
}
