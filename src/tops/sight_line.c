#include "tops/sight_line.h"

#include <string.h>

#include "scale/lens.h"
#include "tops/camera.h"

static sw_lens lens_of(const sw_fitting *f, int view, const double z[SW_LENS_NUMBERS])
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

static const double LENS_STEP = 0.05; /* standard deviations, for derivatives by differences */

/* A view's lens as it is, and a little along each of its independent directions. */
typedef struct lens_set {
    sw_lens now, moved[SW_LENS_NUMBERS];
} lens_set;

static void make_lenses(const sw_fitting *f, int view, lens_set *set)
{
    double z[SW_LENS_NUMBERS];
    set->now = lens_of(f, view, f->lens_z);
    for (int j = 0; j < f->lens_numbers; j++) {
        memcpy(z, f->lens_z, sizeof z);
        z[j] += LENS_STEP;
        set->moved[j] = lens_of(f, view, z);
    }
}

static sw_sight_line look(const sw_fitting *f, const lens_set *set, int view, sw_point px)
{
    sw_sight_line l = {.view = view, .normal = sw_lens_undistort(&set->now, px)};
    for (int j = 0; j < f->lens_numbers; j++) {
        sw_point m = sw_lens_undistort(&set->moved[j], px);
        l.by[j] = (sw_point){(m.x - l.normal.x) / LENS_STEP, (m.y - l.normal.y) / LENS_STEP};
    }
    return l;
}

void sw_sight_lines_make(sw_fitting *f)
{
    const sw_sights *s = f->s;
    lens_set set;
    memcpy(f->line_z, f->lens_z, sizeof f->line_z);
    for (int v = 0; v < s->views; v++) {
        make_lenses(f, v, &set);
        for (size_t i = 0; i < s->rim_count; i++)
            if (s->rims[i].view == v)
                f->lines[i] = look(f, &set, v, s->rims[i].px);
        for (size_t i = 0; i < s->card_count; i++)
            for (int k = 0; s->cards[i].view == v && k < 4 * s->cards[i].rims; k++)
                f->lines[s->rim_count + SW_CARD_CORNERS * i + (size_t)k] =
                    look(f, &set, v, s->cards[i].corners_px[k / 4][k % 4]);
    }
}

sw_sight_line sw_sight_line_now(const sw_fitting *f, size_t line)
{
    sw_sight_line l = f->lines[line];
    for (int j = 0; j < f->lens_numbers; j++) {
        l.normal.x += l.by[j].x * (f->lens_z[j] - f->line_z[j]);
        l.normal.y += l.by[j].y * (f->lens_z[j] - f->line_z[j]);
    }
    return l;
}

static const double STEP_MM = 0.01, STEP_TURN = 1e-5;

static sw_point by_step(sw_point moved, sw_point at, double step)
{
    return (sw_point){(moved.x - at.x) / step, (moved.y - at.y) / step};
}

void sw_meet_all(const sw_fitting *f, const sw_sight_line *l, int tile, double over_mm, sw_met *m)
{
    const sw_tops_camera *v = &f->cameras[l->view];
    const sw_tops_block *b = &f->blocks[tile];
    const double top[SW_TOP_NUMBERS] = {b->value[0] + over_mm, b->value[1], b->value[2]};
    m->at = sw_tops_meet(v, l->normal, top, b->middle);
    for (int i = 0; i < SW_TOP_NUMBERS; i++) {
        double z[SW_TOP_NUMBERS], step = i ? STEP_TURN : STEP_MM;
        memcpy(z, top, sizeof z);
        z[i] += step;
        m->own[i] = by_step(sw_tops_meet(v, l->normal, z, b->middle), m->at, step);
    }
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++) {
        double by[SW_CAMERA_NUMBERS] = {0}, step = i < 3 ? STEP_TURN : STEP_MM;
        sw_tops_camera moved = *v;
        by[i] = step;
        sw_tops_camera_move(&moved, by);
        m->camera[i] = by_step(sw_tops_meet(&moved, l->normal, top, b->middle), m->at, step);
    }
    for (int j = 0; j < f->lens_numbers; j++) {
        sw_point n = {l->normal.x + l->by[j].x * LENS_STEP, l->normal.y + l->by[j].y * LENS_STEP};
        m->lens[j] = by_step(sw_tops_meet(v, n, top, b->middle), m->at, LENS_STEP);
    }
}

sw_observation sw_along(const sw_fitting *f, const sw_met *m, sw_point way, int tile, int view)
{
    sw_observation o = {.tile = tile, .view = view, .rest = way.x * m->at.x + way.y * m->at.y};
    for (int i = 0; i < SW_TOP_NUMBERS; i++)
        o.own[i] = way.x * m->own[i].x + way.y * m->own[i].y;
    for (int i = 0; i < SW_CAMERA_NUMBERS; i++)
        o.camera[i] = way.x * m->camera[i].x + way.y * m->camera[i].y;
    for (int j = 0; j < f->lens_numbers; j++)
        o.lens[j] = way.x * m->lens[j].x + way.y * m->lens[j].y;
    return o;
}
