/* start.c - where a fit begins. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "scale/bundle.h"
#include "scale/lens.h"
#include "tops/camera.h"
#include "tops/sight_line.h"

/* Spreads of heights, mm, and of slopes (standard deviations) to begin with: anything from level to a landscape; a straight foam slab. */
static const double HEIGHT_MM = 20, SLOPE = 0.0004;

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

/* Of an unknown phone lens, the focal length being as uncertain as the scale says. */
static void unknown_lens(const sw_scale *scale, double root[SW_LENS_NUMBERS][SW_LENS_NUMBERS])
{
    root[SW_LENS_FX][0] = scale->focal_u_rel * scale->lens.fx;
    root[SW_LENS_FY][0] = scale->focal_u_rel * scale->lens.fy;
    for (int i = 0; i < SW_LENS_PRIORS; i++)
        root[SW_LENS_K1 + i][1 + i] = SW_LENS_PRIOR[i];
}

static void start_lens(sw_fitting *f)
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
    f->lens_numbers = 1 + SW_LENS_PRIORS;
    const double now[SW_LENS_PRIORS] = {first->lens.k1, first->lens.k2, first->lens.p1, first->lens.p2};
    for (int i = 0; i < SW_LENS_PRIORS; i++) { /* the prior is about none, the start where one photo found it */
        f->lens_mean[SW_LENS_K1 + i] = 0;
        f->lens_z[1 + i] = now[i] / f->lens_root[SW_LENS_K1 + i][1 + i];
    }
}

static void start_card(sw_fitting *f, const sw_card_sight *c)
{
    const sw_scale *scale = &f->s->scales[c->view];
    double *value = f->blocks[c->tile].value + f->card_at[c->card];
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
static void lay_out(sw_fitting *f)
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

static sw_status take_room(sw_fitting *f)
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

sw_status sw_fitting_start(const sw_sights *s, sw_fitting *f)
{
    *f = (sw_fitting){.s = s, .prior = {.height_mm = HEIGHT_MM, .slope = SLOPE}, .tiles = s->columns * s->rows};
    start_lens(f);
    f->common = sw_at_camera(f, s->views);
    f->thickness_mm = s->scales[0].thickness_mm;
    f->cameras = calloc((size_t)s->views, sizeof *f->cameras);
    f->blocks = calloc((size_t)f->tiles, sizeof *f->blocks);
    f->card_at = calloc((size_t)s->card_numbers + 1, sizeof *f->card_at);
    f->lines = calloc(s->rim_count + SW_CARD_CORNERS * s->card_count + 1, sizeof *f->lines);
    if (!f->cameras || !f->blocks || !f->card_at || !f->lines)
        return SW_NO_MEMORY;
    lay_out(f);
    if (take_room(f))
        return SW_NO_MEMORY;
    for (size_t i = s->card_count; i-- > 0;) /* the first view that shows it has the last word */
        start_card(f, &s->cards[i]);
    for (int v = 0; v < s->views; v++)
        if (sw_tops_camera_of(&s->scales[v], &f->cameras[v]))
            return SW_NOT_FOUND;
    return SW_OK;
}

void sw_fitting_end(sw_fitting *f)
{
    free(f->cameras);
    free(f->blocks);
    free(f->card_at);
    free(f->lines);
    free(f->room);
}
