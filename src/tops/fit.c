/* fit.c - cameras, tops and cards together, by Gauss-Newton. README.md derives it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"
#include "scale/lens.h"
#include "scale/plane.h"
#include "tops/fit.h"
#include "tops/tops.h"

const sw_tops_prior SW_TOPS_PRIOR = {.height_mm = 20, .slope = 0.0015, .side_mm = 1, .learn = true};

/* One print run makes cards of one size to this, relative (0.01 %: 0.1 mm of depth at 1.1 m); common practice, no source. */
static const double CARD_SIZE_U = 1e-4;
/* Cards lie where they lie: no prior worth the name on their places, mm and radians. */
static const double CARD_PLACE_MM = 1e3, CARD_TURN = 10;
/* How far a camera may be off where the level fit put it, mm and radians: uneven cards tilt it. */
static const double CAMERA_PLACE_MM = 300, CAMERA_TURN = 0.3;
/* What fixes the frame: the first camera's place across and its turn about the vertical stay. */
static const double FIXED = 1e-7;
/* Rims farther off than this, mm, are other lines (Cauchy); found in ever narrower rounds, as at first nothing is where it belongs. */
static const double RIM_OUTLIER_MM[] = {8, 3, 1, 0.4, 0.2};
enum { OUTLIER_STEPS = sizeof RIM_OUTLIER_MM / sizeof *RIM_OUTLIER_MM, ROUNDS_EACH = 4, LEARNING_ROUNDS = 4 };
/* Spreads that are learnt stay between these: what a flat workbench and a straight foam slab have at least, and what is still a table. */
static const double SLOPE_LEAST = 1.5e-4, SLOPE_MOST = 0.01, HEIGHT_LEAST_MM = 0.02, HEIGHT_MOST_MM = 30;

/* ---- geometry ---- */

/* Where the sight line of a camera through a point of its normal plane meets a top. */
static sw_point meet(const sw_tops_camera *v, sw_point n, const double z[SW_TOP_NUMBERS], sw_point middle)
{
    double d[3];
    for (int i = 0; i < 3; i++)
        d[i] = v->turn[0][i] * n.x + v->turn[1][i] * n.y + v->turn[2][i];
    double over = v->place[2] - z[0] - z[1] * (v->place[0] - middle.x) - z[2] * (v->place[1] - middle.y);
    double s = over / (z[1] * d[0] + z[2] * d[1] - d[2]);
    return (sw_point){v->place[0] + s * d[0], v->place[1] + s * d[1]};
}

/* Small turns about the world's axes, then a shift. */
static void move_camera(sw_tops_camera *v, const double by[SW_CAMERA_NUMBERS])
{
    double angle = sqrt(by[0] * by[0] + by[1] * by[1] + by[2] * by[2]), k[3] = {0, 0, 1}, r[3][3], out[3][3];
    for (int i = 0; angle > 0 && i < 3; i++)
        k[i] = by[i] / angle;
    double c = cos(angle), s = sin(angle);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            r[i][j] = (i == j ? c : 0) + (1 - c) * k[i] * k[j];
    r[0][1] -= s * k[2], r[1][0] += s * k[2];
    r[0][2] += s * k[1], r[2][0] -= s * k[1];
    r[1][2] -= s * k[0], r[2][1] += s * k[0];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out[i][j] = v->turn[i][0] * r[j][0] + v->turn[i][1] * r[j][1] + v->turn[i][2] * r[j][2]; /* turn r' */
    memcpy(v->turn, out, sizeof out);
    for (int i = 0; i < 3; i++)
        v->place[i] += by[3 + i];
}

/* A camera from its homography mm -> normal plane: columns are the world's axes as the camera sees them, z up. */
static sw_status camera_of(const sw_scale *scale, sw_tops_camera *v)
{
    double n1 = 0, n2 = 0, dot = 0, t[3];
    const double(*h)[3] = scale->to_plane;
    for (int i = 0; i < 3; i++) {
        n1 += h[i][0] * h[i][0];
        n2 += h[i][1] * h[i][1];
    }
    n1 = sqrt(n1), n2 = sqrt(n2);
    for (int i = 0; i < 3; i++) {
        v->turn[i][0] = h[i][0] / n1;
        dot += h[i][0] / n1 * h[i][1] / n2;
        t[i] = h[i][2] / sqrt(n1 * n2);
    }
    double rest = sqrt(fmax(1e-12, 1 - dot * dot));
    for (int i = 0; i < 3; i++)
        v->turn[i][1] = (h[i][1] / n2 - dot * v->turn[i][0]) / rest;
    for (int i = 0; i < 3; i++) {
        int a = (i + 1) % 3, b = (i + 2) % 3;
        v->turn[i][2] = v->turn[a][0] * v->turn[b][1] - v->turn[b][0] * v->turn[a][1];
    }
    for (int i = 0; i < 3; i++)
        v->place[i] = -(v->turn[0][i] * t[0] + v->turn[1][i] * t[1] + v->turn[2][i] * t[2]);
    return isfinite(v->place[2]) && v->place[2] > 1 ? SW_OK : SW_NOT_FOUND;
}

/* ---- what is fitted ---- */

typedef struct fit {
    const sw_sights *s;
    sw_tops_prior prior;
    int tiles, lens_numbers, common;
    bool one_lens;
    double lens_mean[SW_LENS_NUMBERS], lens_root[SW_LENS_NUMBERS][SW_LENS_NUMBERS], lens_z[SW_LENS_NUMBERS];
    sw_tops_camera *cameras;
    sw_tops_block *blocks; /* a tile each */
    int *card_at;          /* of each card: where its numbers begin in its tile's block */
    int *card_tile;
    double *all;              /* common x common, then the side of it */
    double *side, *row_sum;   /* common + the largest block */
    double cost, count, outlier_mm;
    void *room;
} fit;

static double *value_of(const fit *f, int tile)
{
    return f->blocks[tile].value;
}

static sw_lens lens_of(const fit *f, int view, const double z[SW_LENS_NUMBERS])
{
    sw_lens lens = f->s->scales[view].lens;
    double n[SW_LENS_NUMBERS];
    if (!f->one_lens)
        return lens;
    for (int i = 0; i < SW_LENS_NUMBERS; i++) {
        n[i] = f->lens_mean[i];
        for (int j = 0; j < f->lens_numbers; j++)
            n[i] += f->lens_root[i][j] * z[j];
    }
    sw_lens_take_numbers(n, &lens);
    return lens;
}

/* A sight line: its point of the normal plane, and how that moves with the lens's numbers. */
typedef struct sight_line {
    int view;
    sw_point normal, by[SW_LENS_NUMBERS];
} sight_line;

static const double LENS_STEP = 0.05; /* standard deviations, for derivatives by differences */

typedef struct lens_set {
    sw_lens now, moved[SW_LENS_NUMBERS];
} lens_set;

static void make_lenses(const fit *f, int view, lens_set *set)
{
    double z[SW_LENS_NUMBERS];
    set->now = lens_of(f, view, f->lens_z);
    for (int j = 0; j < f->lens_numbers; j++) {
        memcpy(z, f->lens_z, sizeof z);
        z[j] += LENS_STEP;
        set->moved[j] = lens_of(f, view, z);
    }
}

static sight_line look(const fit *f, const lens_set *set, int view, sw_point px)
{
    sight_line l = {.view = view, .normal = sw_lens_undistort(&set->now, px)};
    for (int j = 0; j < f->lens_numbers; j++) {
        sw_point m = sw_lens_undistort(&set->moved[j], px);
        l.by[j] = (sw_point){(m.x - l.normal.x) / LENS_STEP, (m.y - l.normal.y) / LENS_STEP};
    }
    return l;
}

/* A linearised observation: one number, what it depends on. own: of the tile's block, SW_TOP_NUMBERS and from card_at on
 * SW_CARD_NUMBERS more. */
typedef struct observation {
    int tile, view, card_at; /* 0: no card */
    double own[SW_TOP_NUMBERS], card[SW_CARD_NUMBERS], camera[SW_CAMERA_NUMBERS], lens[SW_LENS_NUMBERS];
    double rest, weight;
} observation;

/* A sight line's place on its top, and its derivatives: columns x and y. */
typedef struct met {
    sw_point at, own[SW_TOP_NUMBERS], camera[SW_CAMERA_NUMBERS], lens[SW_LENS_NUMBERS];
} met;

static const double STEP_MM = 0.01, STEP_TURN = 1e-5;

static sw_point by_step(sw_point moved, sw_point at, double step)
{
    return (sw_point){(moved.x - at.x) / step, (moved.y - at.y) / step};
}

static void meet_all(const fit *f, const sight_line *l, int tile, met *m)
{
    const sw_tops_camera *v = &f->cameras[l->view];
    const sw_tops_block *b = &f->blocks[tile];
    m->at = meet(v, l->normal, b->value, b->middle);
    for (int i = 0; i < SW_TOP_NUMBERS; i++) {
        double z[SW_TOP_NUMBERS], step = i ? STEP_TURN : STEP_MM;
        memcpy(z, b->value, sizeof z);
        z[i] += step;
        m->own[i] = by_step(meet(v, l->normal, z, b->middle), m->at, step);
    }
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++) {
        double by[SW_CAMERA_NUMBERS] = {0}, step = i < 3 ? STEP_TURN : STEP_MM;
        sw_tops_camera moved = *v;
        by[i] = step;
        move_camera(&moved, by);
        m->camera[i] = by_step(meet(&moved, l->normal, b->value, b->middle), m->at, step);
    }
    for (int j = 0; j < f->lens_numbers; j++) {
        sw_point n = {l->normal.x + l->by[j].x * LENS_STEP, l->normal.y + l->by[j].y * LENS_STEP};
        m->lens[j] = by_step(meet(v, n, b->value, b->middle), m->at, LENS_STEP);
    }
}

/* The part of a met place along a direction. */
static observation along(const fit *f, const met *m, sw_point way, int tile, int view)
{
    observation o = {.tile = tile, .view = view, .rest = way.x * m->at.x + way.y * m->at.y};
    for (int i = 0; i < SW_TOP_NUMBERS; i++)
        o.own[i] = way.x * m->own[i].x + way.y * m->own[i].y;
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++)
        o.camera[i] = way.x * m->camera[i].x + way.y * m->camera[i].y;
    for (int j = 0; j < f->lens_numbers; j++)
        o.lens[j] = way.x * m->lens[j].x + way.y * m->lens[j].y;
    return o;
}

/* ---- normal equations ---- */

static void clear_equations(fit *f)
{
    size_t c = (size_t)f->common;
    memset(f->all, 0, c * c * sizeof *f->all);
    memset(f->side, 0, c * sizeof *f->side);
    f->cost = f->count = 0;
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        size_t n = (size_t)b->numbers;
        memset(b->own, 0, n * n * sizeof *b->own);
        memset(b->side, 0, n * sizeof *b->side);
        memset(b->cross, 0, n * c * sizeof *b->cross);
    }
}

/* The numbers an observation depends on: indices into its block, then into the common ones. */
typedef struct row {
    int own_count, common_count, own_at[SW_TOP_NUMBERS + SW_CARD_NUMBERS],
        common_at[SW_LENS_NUMBERS + SW_CAMERA_NUMBERS];
    double own[SW_TOP_NUMBERS + SW_CARD_NUMBERS], common[SW_LENS_NUMBERS + SW_CAMERA_NUMBERS];
} row;

static row row_of(const fit *f, const observation *o)
{
    row r = {0};
    for (int i = 0; i < SW_TOP_NUMBERS; i++) {
        r.own_at[r.own_count] = i;
        r.own[r.own_count++] = o->own[i];
    }
    for (int i = 0; o->card_at && i < SW_CARD_NUMBERS; i++) {
        r.own_at[r.own_count] = o->card_at + i;
        r.own[r.own_count++] = o->card[i];
    }
    for (int j = 0; j < f->lens_numbers; j++) {
        r.common_at[r.common_count] = j;
        r.common[r.common_count++] = o->lens[j];
    }
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++) {
        r.common_at[r.common_count] = f->lens_numbers + o->view * SW_CAMERA_NUMBERS + i;
        r.common[r.common_count++] = o->camera[i];
    }
    return r;
}

static void add(fit *f, const observation *o)
{
    sw_tops_block *b = &f->blocks[o->tile];
    row r = row_of(f, o);
    for (int i = 0; i < r.own_count; i++) {
        double w = o->weight * r.own[i];
        b->side[r.own_at[i]] += w * o->rest;
        for (int j = 0; j < r.own_count; j++)
            b->own[r.own_at[i] * b->numbers + r.own_at[j]] += w * r.own[j];
        for (int j = 0; j < r.common_count; j++)
            b->cross[r.own_at[i] * f->common + r.common_at[j]] += w * r.common[j];
    }
    for (int i = 0; i < r.common_count; i++) {
        double w = o->weight * r.common[i];
        f->side[r.common_at[i]] += w * o->rest;
        for (int j = 0; j < r.common_count; j++)
            f->all[r.common_at[i] * f->common + r.common_at[j]] += w * r.common[j];
    }
    f->cost += o->weight * o->rest * o->rest;
    f->count++;
}

/* The rim at a knot lies somewhere: what the photos say of it counts only as far as they differ. Eliminating its place takes the
 * weighted mean row, `sum` over the weights, away from the equations. */
static void take_mean(fit *f, int tile, const double *sum, double weight, double rest)
{
    sw_tops_block *b = &f->blocks[tile];
    const double *common = sum + SW_TOP_NUMBERS;
    for (int i = 0; i < SW_TOP_NUMBERS; i++) {
        b->side[i] -= sum[i] * rest / weight;
        for (int j = 0; j < SW_TOP_NUMBERS; j++)
            b->own[i * b->numbers + j] -= sum[i] * sum[j] / weight;
        for (int j = 0; j < f->common; j++)
            b->cross[i * f->common + j] -= sum[i] * common[j] / weight;
    }
    for (int i = 0; i < f->common; i++) {
        f->side[i] -= common[i] * rest / weight;
        for (int j = 0; j < f->common && common[i] != 0; j++)
            f->all[i * f->common + j] -= common[i] * common[j] / weight;
    }
    f->cost -= rest * rest / weight;
    f->count--;
}

static void sum_row(const fit *f, const observation *o, double *sum)
{
    row r = row_of(f, o);
    for (int i = 0; i < r.own_count; i++)
        sum[r.own_at[i]] += o->weight * r.own[i];
    for (int j = 0; j < r.common_count; j++)
        sum[SW_TOP_NUMBERS + r.common_at[j]] += o->weight * r.common[j];
}

/* All views of one rim at one knot: sights first to first + count - 1. */
static void add_knot(fit *f, const lens_set *lenses, const sw_rim_sight *first, int count)
{
    enum { MOST = SW_TABLE_PHOTOS_MOST };
    observation seen[MOST];
    double slope = 0, weight = 0, rest = 0, worst = 0;
    bool level = first->side == SW_NORTH || first->side == SW_SOUTH;
    if (count < 2)
        return;
    for (int i = 0; i < count; i++)
        slope += first[i].slope / count;
    double l = hypot(1, slope);
    sw_point way = level ? (sw_point){-slope / l, 1 / l} : (sw_point){1 / l, -slope / l};
    for (int i = 0; i < count; i++) {
        sight_line line = look(f, &lenses[first[i].view], first[i].view, first[i].px);
        met m;
        meet_all(f, &line, first->tile, &m);
        seen[i] = along(f, &m, way, first->tile, first[i].view);
        seen[i].weight = 1 / (first[i].u_mm * first[i].u_mm);
        weight += seen[i].weight;
        rest += seen[i].weight * seen[i].rest;
    }
    double mean = rest / weight;
    for (int i = 0; i < count; i++)
        worst = fmax(worst, fabs(seen[i].rest - mean));
    double share = 1 / (1 + pow(worst / f->outlier_mm, 2));
    memset(f->row_sum, 0, (size_t)(f->common + SW_TOP_NUMBERS) * sizeof *f->row_sum);
    rest = 0;
    for (int i = 0; i < count; i++) {
        seen[i].weight *= share;
        seen[i].rest -= mean; /* of the rest only what differs */
        rest += seen[i].weight * seen[i].rest;
        add(f, &seen[i]);
        sum_row(f, &seen[i], f->row_sum);
    }
    take_mean(f, first->tile, f->row_sum, weight * share, rest);
}

static void add_card(fit *f, const lens_set *lenses, const sw_card_sight *c)
{
    const sw_scale *scale = &f->s->scales[c->view];
    const sw_reference *r = &scale->reference;
    const double *value = value_of(f, c->tile) + f->card_at[c->card];
    const double sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    double cosine = cos(value[2]), sine = sin(value[2]), spread_mm = scale->edge_spread_px / scale->px_per_mm;
    for (int rim = 0; rim < c->rims; rim++)
        for (int k = 0; k < 4; k++) {
            double ink = rim ? spread_mm : -spread_mm, size = exp(value[3]);
            double u = sx[k] * ((rim ? r->inner_x_mm : r->outer_x_mm) / 2 * size + ink),
                   v = sy[k] * ((rim ? r->inner_y_mm : r->outer_y_mm) / 2 * size + ink);
            sw_point place = {value[0] + cosine * u - sine * v, value[1] + sine * u + cosine * v};
            sight_line line = look(f, &lenses[c->view], c->view, c->corners_px[rim][k]);
            met m;
            meet_all(f, &line, c->tile, &m);
            for (int axis = 0; axis < 2; axis++) {
                observation o = along(f, &m, axis ? (sw_point){0, 1} : (sw_point){1, 0}, c->tile, c->view);
                double turned = axis ? cosine * u - sine * v : -sine * u - cosine * v,
                       sized = axis ? sine * u + cosine * v : cosine * u - sine * v, u_mm = c->u_px / scale->px_per_mm;
                o.card_at = f->card_at[c->card];
                o.rest -= axis ? place.y : place.x;
                o.card[axis] = -1;
                o.card[2] = -turned;
                o.card[3] = -sized;
                o.weight = 1 / (u_mm * u_mm);
                add(f, &o);
            }
        }
}

static void add_prior(double value, double sd, double *own, double *side, double *cost)
{
    *own += 1 / (sd * sd);
    *side += value / (sd * sd);
    *cost += value * value / (sd * sd);
}

static void add_priors(fit *f)
{
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        for (int i = 0; i < SW_TOP_NUMBERS; i++)
            add_prior(b->value[i], i ? f->prior.slope : f->prior.height_mm, &b->own[i * b->numbers + i], &b->side[i],
                      &f->cost);
        for (int i = SW_TOP_NUMBERS; i < b->numbers; i++) {
            int k = (i - SW_TOP_NUMBERS) % SW_CARD_NUMBERS;
            add_prior(k == 3 ? b->value[i] : 0, k == 3 ? CARD_SIZE_U : k == 2 ? CARD_TURN : CARD_PLACE_MM,
                      &b->own[i * b->numbers + i], &b->side[i], &f->cost);
        }
    }
    for (int j = 0; j < f->lens_numbers; j++)
        add_prior(f->lens_z[j], 1, &f->all[j * f->common + j], &f->side[j], &f->cost);
    for (int i = f->lens_numbers; i < f->common; i++) {
        int k = (i - f->lens_numbers) % SW_CAMERA_NUMBERS, view = (i - f->lens_numbers) / SW_CAMERA_NUMBERS;
        double sd = k < 3 ? CAMERA_TURN : CAMERA_PLACE_MM;
        if (view == 0 && (k == 2 || k == 3 || k == 4))
            sd = FIXED;
        add_prior(0, sd, &f->all[i * f->common + i], &f->side[i], &f->cost);
    }
}

/* ---- one round ---- */

static void collect(fit *f, lens_set *lenses)
{
    const sw_sights *s = f->s;
    clear_equations(f);
    for (int v = 0; v < s->views; v++)
        make_lenses(f, v, &lenses[v]);
    for (size_t i = 0, j; i < s->rim_count; i = j) {
        for (j = i + 1; j < s->rim_count && s->rims[j].tile == s->rims[i].tile && s->rims[j].side == s->rims[i].side &&
                        s->rims[j].knot == s->rims[i].knot;
             j++)
            ;
        add_knot(f, lenses, &s->rims[i], (int)(j - i));
    }
    for (size_t i = 0; i < s->card_count; i++)
        add_card(f, lenses, &s->cards[i]);
    add_priors(f);
}

/* Takes the tiles' own numbers out of the common equations. */
static sw_status eliminate(fit *f)
{
    int c = f->common;
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        int n = b->numbers;
        memcpy(b->inverse, b->own, (size_t)n * (size_t)n * sizeof *b->own);
        if (sw_cholesky_invert(b->inverse, (size_t)n))
            return SW_NOT_FOUND;
        for (int i = 0; i < n; i++)
            for (int j = 0; j < c; j++) {
                double sum = 0;
                for (int k = 0; k < n; k++)
                    sum += b->inverse[i * n + k] * b->cross[k * c + j];
                b->ratio[i * c + j] = sum;
            }
        for (int i = 0; i < n; i++) {
            double solved = 0;
            for (int k = 0; k < n; k++)
                solved += b->inverse[i * n + k] * b->side[k];
            for (int j = 0; j < c; j++) {
                double cross = b->cross[i * c + j];
                if (cross == 0)
                    continue;
                f->side[j] -= cross * solved;
                for (int k = 0; k < c; k++)
                    f->all[j * c + k] -= cross * b->ratio[i * c + k];
            }
        }
    }
    return sw_cholesky_invert(f->all, (size_t)c); /* now the common numbers' covariance */
}

/* Moves everything; how far, in units of what would matter (0.01 mm of a top, its like of slopes). */
static double move(fit *f)
{
    int c = f->common;
    double *step = f->row_sum, most = 0;
    for (int i = 0; i < c; i++) {
        step[i] = 0;
        for (int j = 0; j < c; j++)
            step[i] -= f->all[i * c + j] * f->side[j];
    }
    for (int j = 0; j < f->lens_numbers; j++)
        f->lens_z[j] += step[j];
    for (int v = 0; v < f->s->views; v++)
        move_camera(&f->cameras[v], step + f->lens_numbers + v * SW_CAMERA_NUMBERS);
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        for (int i = 0; i < b->numbers; i++) {
            double by = 0;
            for (int k = 0; k < b->numbers; k++)
                by -= b->inverse[i * b->numbers + k] * b->side[k];
            for (int j = 0; j < c; j++)
                by -= b->ratio[i * c + j] * step[j];
            b->value[i] += by;
            if (i < SW_TOP_NUMBERS)
                most = fmax(most, fabs(by) / (i ? 1e-4 : 0.01));
        }
    }
    return most;
}

/* ---- start ---- */

static bool same_lens(const sw_sights *s)
{
    const sw_lens *a = &s->scales[0].lens;
    for (int v = 1; v < s->views; v++) {
        const sw_lens *b = &s->scales[v].lens;
        if (a->source != b->source || a->width_px != b->width_px || a->height_px != b->height_px)
            return false;
    }
    return true;
}

/* Of an unknown phone lens: k1, k2, p1, p2 (bundle.c), the focal length as uncertain as the scale says. */
static void unknown_lens(const sw_scale *scale, double root[SW_LENS_NUMBERS][SW_LENS_NUMBERS])
{
    static const double PRIOR[] = {0.08, 0.12, 0.0006, 0.0006};
    root[SW_LENS_FX][0] = scale->focal_u_rel * scale->lens.fx;
    root[SW_LENS_FY][0] = scale->focal_u_rel * scale->lens.fy;
    for (int i = 0; i < 4; i++)
        root[SW_LENS_K1 + i][1 + i] = PRIOR[i];
}

static void start_lens(fit *f)
{
    const sw_scale *first = &f->s->scales[0];
    f->one_lens = same_lens(f->s);
    sw_lens_numbers(&first->lens, f->lens_mean);
    if (!f->one_lens)
        return;
    f->lens_numbers = SW_LENS_NUMBERS;
    if (first->lens.source == SW_LENS_PROFILE) {
        memcpy(f->lens_root, first->lens.covariance, sizeof f->lens_root);
        sw_covariance_root(&f->lens_root[0][0], SW_LENS_NUMBERS);
        return;
    }
    unknown_lens(first, f->lens_root);
    f->lens_numbers = 5;
    const double now[4] = {first->lens.k1, first->lens.k2, first->lens.p1, first->lens.p2};
    for (int i = 0; i < 4; i++) { /* the prior is about none, the start where one photo found it */
        f->lens_mean[SW_LENS_K1 + i] = 0;
        f->lens_z[1 + i] = now[i] / f->lens_root[SW_LENS_K1 + i][1 + i];
    }
}

static void start_card(fit *f, const sw_card_sight *c)
{
    const sw_scale *scale = &f->s->scales[c->view];
    double *value = value_of(f, c->tile) + f->card_at[c->card];
    sw_point mm[4];
    value[0] = value[1] = value[3] = 0;
    for (int k = 0; k < 4; k++) {
        mm[k] = sw_scale_to_mm(scale, c->corners_px[0][k]);
        value[0] += mm[k].x / 4;
        value[1] += mm[k].y / 4;
    }
    value[2] = atan2(mm[1].y - mm[0].y + mm[2].y - mm[3].y, mm[1].x - mm[0].x + mm[2].x - mm[3].x);
}

/* Numbers of each tile's block, cards after the top. */
static void lay_out(fit *f)
{
    const sw_sights *s = f->s;
    for (int t = 0; t < f->tiles; t++) {
        f->blocks[t].numbers = SW_TOP_NUMBERS;
        f->blocks[t].middle = (sw_point){(t % s->columns + 0.5) * s->tile_mm, -(t / s->columns + 0.5) * s->tile_mm};
    }
    for (size_t i = 0; i < s->card_count; i++) {
        const sw_card_sight *c = &s->cards[i];
        if (f->card_at[c->card])
            continue;
        f->card_at[c->card] = f->blocks[c->tile].numbers;
        f->blocks[c->tile].numbers += SW_CARD_NUMBERS;
    }
}

static sw_status take_room(fit *f)
{
    size_t c = (size_t)f->common, need = c * c + c + (c + SW_TOP_NUMBERS);
    for (int t = 0; t < f->tiles; t++) {
        size_t n = (size_t)f->blocks[t].numbers;
        need += 2 * n + 2 * n * n + 2 * n * c;
    }
    double *at = f->room = calloc(need, sizeof *at);
    if (!at)
        return SW_NO_MEMORY;
    f->all = at, at += c * c;
    f->side = at, at += c;
    f->row_sum = at, at += c + SW_TOP_NUMBERS;
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        size_t n = (size_t)b->numbers;
        b->value = at, at += n;
        b->side = at, at += n;
        b->own = at, at += n * n;
        b->inverse = at, at += n * n;
        b->cross = at, at += n * c;
        b->ratio = at, at += n * c;
    }
    return SW_OK;
}

static sw_status start(const sw_sights *s, const sw_tops_prior *prior, fit *f)
{
    *f = (fit){.s = s, .prior = *prior, .tiles = s->columns * s->rows};
    start_lens(f);
    f->common = f->lens_numbers + SW_CAMERA_NUMBERS * s->views;
    f->cameras = calloc((size_t)s->views, sizeof *f->cameras);
    f->blocks = calloc((size_t)f->tiles, sizeof *f->blocks);
    f->card_at = calloc((size_t)s->card_numbers + 1, sizeof *f->card_at);
    if (!f->cameras || !f->blocks || !f->card_at)
        return SW_NO_MEMORY;
    lay_out(f);
    if (take_room(f))
        return SW_NO_MEMORY;
    for (size_t i = s->card_count; i-- > 0;) /* the first view that shows it has the last word */
        start_card(f, &s->cards[i]);
    for (int v = 0; v < s->views; v++)
        if (camera_of(&s->scales[v], &f->cameras[v]))
            return SW_NOT_FOUND;
    return SW_OK;
}

static void end(fit *f)
{
    free(f->cameras);
    free(f->blocks);
    free(f->card_at);
    free(f->room);
}

/* ---- what comes of it ---- */

/* Covariance of two linear figures, each of one tile's own numbers: a of tile s, b of tile t. Through the common numbers, and, of the
 * same tile, directly. */
static double covariance(const fit *f, int s, const double a[SW_TOP_NUMBERS], int t, const double b[SW_TOP_NUMBERS])
{
    int c = f->common;
    const sw_tops_block *p = &f->blocks[s], *q = &f->blocks[t];
    double sum = 0;
    for (int i = 0; i < c; i++) {
        double left = 0, across = 0;
        for (int k = 0; k < SW_TOP_NUMBERS; k++)
            left += a[k] * p->ratio[k * c + i];
        for (int j = 0; j < c && left != 0; j++) {
            double right = 0;
            for (int k = 0; k < SW_TOP_NUMBERS; k++)
                right += b[k] * q->ratio[k * c + j];
            across += f->all[i * c + j] * right;
        }
        sum += left * across;
    }
    for (int k = 0; s == t && k < SW_TOP_NUMBERS; k++)
        for (int l = 0; l < SW_TOP_NUMBERS; l++)
            sum += a[k] * p->inverse[k * p->numbers + l] * b[l];
    return sum;
}

static double variance(const fit *f, int tile, int number)
{
    double a[SW_TOP_NUMBERS] = {0};
    a[number] = 1;
    return covariance(f, tile, a, tile, a);
}

/* The spreads that make the tops as they came out likeliest: one step of expectation and maximisation (Dempster, Laird, Rubin 1977). */
static void learn(fit *f)
{
    double slopes = 0, heights = 0, mean = 0;
    for (int t = 0; t < f->tiles; t++) {
        const double *z = value_of(f, t);
        mean += z[0] / f->tiles;
        slopes += (z[1] * z[1] + variance(f, t, 1) + z[2] * z[2] + variance(f, t, 2)) / (2 * f->tiles);
    }
    for (int t = 0; t < f->tiles; t++)
        heights += (pow(value_of(f, t)[0] - mean, 2) + variance(f, t, 0)) / f->tiles;
    f->prior.slope = fmin(SLOPE_MOST, fmax(SLOPE_LEAST, sqrt(slopes)));
    if (f->s->rim_count == 0)
        f->prior.height_mm = fmin(HEIGHT_MOST_MM, fmax(HEIGHT_LEAST_MM, sqrt(heights)));
}

static sw_status rounds(fit *f, lens_set *lenses, int most)
{
    for (int round = 0; round < most; round++) {
        collect(f, lenses);
        if (eliminate(f))
            return SW_NOT_FOUND;
        if (move(f) < 1)
            break;
    }
    return SW_OK;
}

static sw_status work(fit *f, lens_set *lenses)
{
    sw_status status = SW_OK;
    for (int k = 0; !status && k < OUTLIER_STEPS; k++) {
        f->outlier_mm = RIM_OUTLIER_MM[k];
        status = rounds(f, lenses, ROUNDS_EACH);
    }
    for (int k = 0; !status && f->prior.learn && k < LEARNING_ROUNDS; k++) {
        learn(f);
        status = rounds(f, lenses, ROUNDS_EACH);
    }
    return status;
}

static double median_height(const fit *f)
{
    double z[SW_TOPS_MOST * SW_TOPS_MOST];
    for (int t = 0; t < f->tiles; t++)
        z[t] = value_of(f, t)[0];
    return sw_median(z, (size_t)f->tiles);
}

/* Uncertainty of the step between two tiles, root mean square of a line's ends and middle. */
static double step_u(const fit *f, int s, int t, sw_point from, sw_point to)
{
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        sw_point at = sw_between(from, to, i / 2.0), m = f->blocks[s].middle, n = f->blocks[t].middle;
        const double a[] = {1, at.x - m.x, at.y - m.y}, b[] = {1, at.x - n.x, at.y - n.y};
        sum += covariance(f, s, a, s, a) + covariance(f, t, b, t, b) - 2 * covariance(f, s, a, t, b);
    }
    return sqrt(fmax(0, sum / 3));
}

static void fill_steps(const fit *f, double wider, sw_tops *tops)
{
    double mm = f->s->tile_mm;
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++) {
            int t = r * tops->columns + c;
            sw_point nw = {c * mm, -r * mm}, ne = {(c + 1) * mm, -r * mm}, sw = {c * mm, -(r + 1) * mm};
            if (c > 0)
                tops->step_u_upright_mm[c][r] = wider * step_u(f, t - 1, t, nw, sw);
            if (r > 0)
                tops->step_u_level_mm[c][r] = wider * step_u(f, t - tops->columns, t, nw, ne);
        }
}

/* Of a top's height against the mean of all. */
static double height_u(const fit *f, int tile, const double *mean_ratio, double mean_inverse)
{
    int c = f->common;
    const sw_tops_block *b = &f->blocks[tile];
    double sum = b->inverse[0] * (1 - 2.0 / f->tiles) + mean_inverse;
    for (int i = 0; i < c; i++)
        for (int j = 0; j < c; j++)
            sum += (b->ratio[i] - mean_ratio[i]) * f->all[i * c + j] * (b->ratio[j] - mean_ratio[j]);
    return sqrt(fmax(0, sum));
}

static void fill(fit *f, double wider, sw_tops *tops)
{
    double level = median_height(f), *mean_ratio = f->row_sum, mean_inverse = 0;
    memset(tops, 0, sizeof *tops);
    tops->source = SW_TOPS_MEASURED;
    tops->columns = f->s->columns;
    tops->rows = f->s->rows;
    for (int j = 0; j < f->common; j++) {
        mean_ratio[j] = 0;
        for (int t = 0; t < f->tiles; t++)
            mean_ratio[j] += f->blocks[t].ratio[j] / f->tiles;
    }
    for (int t = 0; t < f->tiles; t++)
        mean_inverse += f->blocks[t].inverse[0] / f->tiles / f->tiles;
    for (int t = 0; t < f->tiles; t++) {
        int c = t % tops->columns, r = t / tops->columns;
        const sw_tops_block *b = &f->blocks[t];
        tops->top[c][r] = (sw_top){b->value[0] - level, b->value[1], b->value[2], b->middle};
        tops->height_u_mm[c][r] = wider * height_u(f, t, mean_ratio, mean_inverse);
        tops->slope_u[c][r] = wider * sqrt((variance(f, t, 1) + variance(f, t, 2)) / 2);
    }
    fill_steps(f, wider, tops);
}

sw_status sw_tops_fit(const sw_sights *sights, const sw_tops_prior *prior, sw_tops *tops, double *cost)
{
    fit f;
    sw_status status = start(sights, prior, &f);
    lens_set *lenses = calloc((size_t)sights->views, sizeof *lenses);
    if (!status && !lenses)
        status = SW_NO_MEMORY;
    if (!status)
        status = work(&f, lenses);
    if (!status) {
        double misfit = f.cost / fmax(1, f.count - f.common);
        fill(&f, sqrt(fmax(1, misfit)), tops);
        if (cost)
            *cost = misfit;
    }
    free(lenses);
    end(&f);
    return status;
}
