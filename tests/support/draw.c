#include "support/draw.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double ABOVE_MM = 1250;

void *draw_room(size_t count, size_t size)
{
    void *p = calloc(count, size);
    if (!p) {
        fputs("draw: not enough memory\n", stderr);
        exit(99);
    }
    return p;
}

static void fill_view(draw_view *v, const double right[3], const double down[3], const double ahead[3])
{
    const double cx = (v->width_px - 1) / 2.0, cy = (v->height_px - 1) / 2.0, *c = v->camera_mm;
    for (int k = 0; k < 3; k++) {
        double r = k < 2 ? right[k] : -(right[0] * c[0] + right[1] * c[1] + right[2] * c[2]);
        double d = k < 2 ? down[k] : -(down[0] * c[0] + down[1] * c[1] + down[2] * c[2]);
        double a = k < 2 ? ahead[k] : -(ahead[0] * c[0] + ahead[1] * c[1] + ahead[2] * c[2]);
        v->h[0][k] = v->f_px * r + cx * a;
        v->h[1][k] = v->f_px * d + cy * a;
        v->h[2][k] = a;
    }
}

draw_view draw_above(int width_px, int height_px, double px_per_mm, double turn_rad)
{
    draw_view v = {
        .width_px = width_px, .height_px = height_px, .f_px = px_per_mm * ABOVE_MM, .camera_mm = {0, 0, ABOVE_MM}};
    double c = cos(turn_rad), s = sin(turn_rad);
    fill_view(&v, (double[]){c, -s, 0}, (double[]){-s, -c, 0}, (double[]){0, 0, -1});
    return v;
}

static void cross(const double a[3], const double b[3], double out[3])
{
    double v[3] = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
    double l = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    for (int k = 0; k < 3; k++)
        out[k] = v[k] / l;
}

draw_view draw_from(int width_px, int height_px, double f_px, const double camera_mm[3], sw_point look_mm)
{
    draw_view v = {.width_px = width_px, .height_px = height_px, .f_px = f_px};
    const double north[3] = {0, 1, 0};
    double ahead[3] = {look_mm.x - camera_mm[0], look_mm.y - camera_mm[1], -camera_mm[2]}, right[3], down[3];
    double l = sqrt(ahead[0] * ahead[0] + ahead[1] * ahead[1] + ahead[2] * ahead[2]);
    for (int k = 0; k < 3; k++) {
        ahead[k] /= l;
        v.camera_mm[k] = camera_mm[k];
    }
    cross(ahead, north, right);
    cross(ahead, right, down);
    fill_view(&v, right, down, ahead);
    return v;
}

sw_point draw_px(const draw_view *v, sw_point p)
{
    double w = v->h[2][0] * p.x + v->h[2][1] * p.y + v->h[2][2];
    return (sw_point){(v->h[0][0] * p.x + v->h[0][1] * p.y + v->h[0][2]) / w,
                      (v->h[1][0] * p.x + v->h[1][1] * p.y + v->h[1][2]) / w};
}

sw_lens draw_lens(const draw_view *v)
{
    return (sw_lens){.source = SW_LENS_PROFILE,
                     .width_px = v->width_px,
                     .height_px = v->height_px,
                     .fx = v->f_px,
                     .fy = v->f_px,
                     .cx = (v->width_px - 1) / 2.0,
                     .cy = (v->height_px - 1) / 2.0};
}

drawing draw_start(const draw_view *view, double light)
{
    return (drawing){.view = *view, .light = light};
}

void draw_free(drawing *d)
{
    if (!d)
        return;
    for (int i = 0; i < d->count; i++)
        free(d->pieces[i].px);
    free(d->pieces);
    d->pieces = NULL;
    d->count = 0;
}

void draw_polygon(drawing *d, const sw_point *mm, int count, double light)
{
    draw_piece *pieces = realloc(d->pieces, ((size_t)d->count + 1) * sizeof *pieces),
               *p = pieces ? pieces + d->count : NULL;
    if (!p || count > DRAW_CORNERS_MOST) {
        fputs("draw: not enough memory, or too many corners\n", stderr);
        exit(99);
    }
    d->pieces = pieces;
    d->count++;
    *p = (draw_piece){draw_room((size_t)count, sizeof *p->px), count, light};
    for (int i = 0; i < count; i++)
        p->px[i] = draw_px(&d->view, mm[i]);
}

static void corners_of(sw_point centre, double half_x, double half_y, double turn, sw_point out[4])
{
    const double sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    double c = cos(turn), s = sin(turn);
    for (int i = 0; i < 4; i++) {
        double u = sx[i] * half_x, v = sy[i] * half_y;
        out[i] = (sw_point){centre.x + c * u - s * v, centre.y + s * u + c * v};
    }
}

void draw_box(drawing *d, sw_point centre, double width_mm, double height_mm, double turn_rad, double light)
{
    sw_point corner[4];
    corners_of(centre, width_mm / 2, height_mm / 2, turn_rad, corner);
    draw_polygon(d, corner, 4, light);
}

void draw_put_card(drawing *d, const draw_card *card)
{
    double white = card->outer_mm + 2 * card->margin_mm, black = card->outer_mm + 2 * card->ink_mm,
           inner = card->inner_mm - 2 * card->ink_mm;
    draw_box(d, card->centre, white, white, card->turn_rad, DRAW_WHITE);
    draw_box(d, card->centre, black, black, card->turn_rad, DRAW_BLACK);
    if (card->inner_mm > 0)
        draw_box(d, card->centre, inner, inner, card->turn_rad, DRAW_WHITE);
}

void draw_card_corners(const draw_view *view, const draw_card *card, sw_point corners_px[4])
{
    corners_of(card->centre, card->outer_mm / 2, card->outer_mm / 2, card->turn_rad, corners_px);
    for (int i = 0; i < 4; i++)
        corners_px[i] = draw_px(view, corners_px[i]);
}

draw_table draw_even_table(int columns, int rows, double tile_mm, double gap_mm)
{
    draw_table t = {.columns = columns, .rows = rows, .tile_mm = tile_mm};
    for (int i = 0; i < DRAW_TILES_MOST; i++)
        t.upright_mm[i] = t.level_mm[i] = gap_mm;
    return t;
}

/* Length of n tiles and the gaps behind the first `gaps` of them. */
static double run(const draw_table *t, const double *gap_mm, int n, int gaps)
{
    double sum = n * t->tile_mm;
    for (int i = 0; i < gaps; i++)
        sum += gap_mm[i];
    return sum;
}

sw_point draw_on_tile(const draw_table *t, int column, int row, double x_mm, double y_mm)
{
    double width = run(t, t->upright_mm, t->columns, t->columns - 1),
           height = run(t, t->level_mm, t->rows, t->rows - 1);
    return (sw_point){run(t, t->upright_mm, column, column) + x_mm - width / 2,
                      height / 2 - run(t, t->level_mm, row, row) - y_mm};
}

/* One piece for all tiles, the gaps laid on top: so a gap narrower than a pixel keeps its exact width. */
void draw_put_table(drawing *d, const draw_table *t)
{
    double width = run(t, t->upright_mm, t->columns, t->columns - 1),
           height = run(t, t->level_mm, t->rows, t->rows - 1);
    draw_box(d, (sw_point){0, 0}, width, height, 0, DRAW_TOP);
    for (int i = 0; i + 1 < t->columns; i++)
        draw_box(d, (sw_point){draw_on_tile(t, i, 0, t->tile_mm + t->upright_mm[i] / 2, 0).x, 0}, t->upright_mm[i],
                 height, 0, t->slot);
    for (int i = 0; i + 1 < t->rows; i++)
        draw_box(d, (sw_point){0, draw_on_tile(t, 0, i, 0, t->tile_mm + t->level_mm[i] / 2).y}, width, t->level_mm[i],
                 0, t->slot);
}

void draw_blur(drawing *d, double sigma_px)
{
    d->blur_px = sigma_px;
}
