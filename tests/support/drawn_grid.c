#include "support/drawn_grid.h"

#include <stdlib.h>

#include "scale/find.h"
#include "support/maths_check.h"

found look_at_drawing(drawing *d, sw_table said, const sw_corners *told)
{
    found f = {.table = said, .grid = malloc(sizeof *f.grid)};
    sw_photo photo;
    sw_small small;
    sw_lens lens = draw_lens(&d->view);
    const sw_reference frame = {100, 100, 60, 60};
    assert_non_null(f.grid);
    draw_blur(d, 0.8);
    draw_develop(d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    draw_free(d);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    if (sw_scale_find(&photo, &small, &lens, &frame, NAN, &f.scale, &f.err))
        fail_msg("%s", f.err.text);
    f.err.text[0] = 0;
    f.status = sw_grid_find(&photo, &small, told, &f.scale, &f.table, f.grid, &f.err);
    sw_small_free(&small);
    sw_photo_free(&photo);
    return f;
}

void put_cards(drawing *d, const draw_table *t)
{
    for (int i = 0; i < 4; i++) {
        int column = i % 2 ? t->columns - 1 : 0, row = i / 2 ? t->rows - 1 : 0;
        draw_card card = {
            draw_on_tile(t, column, row, 0.47 * t->tile_mm, 0.52 * t->tile_mm), 0.06 * i - 0.1, 100, 60, 12, 0};
        if ((i % 2 == 0 || t->columns > 1) && (i / 2 == 0 || t->rows > 1))
            draw_put_card(d, &card);
    }
}

/* Distance from where a grid's point is seen to where the drawing has it, mm. */
static double off_mm(const found *f, const draw_view *view, sw_point grid_mm, sw_point want_mm)
{
    sw_point at = sw_scale_to_px(&f->scale, grid_mm), want = draw_px(view, want_mm);
    return hypot(at.x - want.x, at.y - want.y) / f->scale.px_per_mm;
}

void expect_sides(const found *f, const draw_view *view, const draw_table *t, double near_mm, double least_seen)
{
    for (int r = 0; r < t->rows; r++)
        for (int i = 0; i <= t->columns; i++) {
            const sw_grid_side *s = &f->grid->upright[i][r];
            int tile = i < t->columns ? i : i - 1;
            double x = i < t->columns ? 0 : t->tile_mm;
            double from = off_mm(f, view, s->from, draw_on_tile(t, tile, r, x, 0)),
                   to = off_mm(f, view, s->to, draw_on_tile(t, tile, r, x, t->tile_mm));
            if (!(from < near_mm && to < near_mm && s->seen >= least_seen && s->seen <= 1))
                fail_msg("west side of column %d in row %d: off by %.1f and %.1f mm, seen %.2f", i, r, from, to,
                         s->seen);
        }
    for (int i = 0; i < t->columns; i++)
        for (int r = 0; r <= t->rows; r++) {
            const sw_grid_side *s = &f->grid->level[i][r];
            int tile = r < t->rows ? r : r - 1;
            double y = r < t->rows ? 0 : t->tile_mm;
            double from = off_mm(f, view, s->from, draw_on_tile(t, i, tile, 0, y)),
                   to = off_mm(f, view, s->to, draw_on_tile(t, i, tile, t->tile_mm, y));
            if (!(from < near_mm && to < near_mm && s->seen >= least_seen && s->seen <= 1))
                fail_msg("north side of row %d in column %d: off by %.1f and %.1f mm, seen %.2f", r, i, from, to,
                         s->seen);
        }
}
