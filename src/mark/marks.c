/* marks.c - which stroke is a tile's half-way mark, how far it is off, and how sure that is. */
#include "mark/marks.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "mark/tick.h"
#include "scale/frame.h"

/* The pixel's own area blurs like a Gaussian of this standard deviation, px (1 / root 12). */
static const double PIXEL_BLUR_PX = 0.29;
/* Blur of a photo whose cards did not tell, px. */
static const double BLUR_PX = 0.7;
/* What light in the slots does to a rim moves a corner along the edge by about this, px, standard uncertainty, the two
 * ends of an edge independently (found on 60 generated tables: with it, 95 % of their marks' distances are held). */
static const double CORNER_LIGHT_PX = 0.18;
/* Tiles differ by this share in length; an edge that is longer or shorter by more, and by more than its own
 * uncertainty, has a corner that was not seen for what it is (dark tiles on a dark floor), and its half may be off by
 * half of that. */
static const double LENGTH_SPREAD = 0.01;

typedef struct looking {
    const sw_photo *photo;
    const sw_inspection *ins;
    sw_scale scale; /* lifted to the tile's level */
    double blur_mm;
} looking;

/* How far the mark's place against the half moves with the scale: root sum of squares over its alternatives. */
static double scale_u(const sw_scale *scale, const sw_band_frame *f, double at)
{
    sw_point px[3];
    double sum = 0;
    for (int k = 0; k < 3; k++)
        px[k] = sw_scale_to_px(scale, k < 2 ? (sw_point){f->half.x + (k - 0.5) * f->length_mm * f->u.x,
                                                         f->half.y + (k - 0.5) * f->length_mm * f->u.y}
                                            : sw_band_place(f, at, 0));
    for (int i = 0; i < scale->alternative_count; i++) {
        sw_scale other;
        sw_point p[3];
        sw_scale_take_alternative(scale, i, &other);
        for (int k = 0; k < 3; k++)
            p[k] = sw_scale_to_mm(&other, px[k]);
        double ux = p[1].x - p[0].x, uy = p[1].y - p[0].y, l = hypot(ux, uy);
        double moved = ((p[2].x - p[0].x) * ux + (p[2].y - p[0].y) * uy) / l - l / 2 - at;
        sum += moved * moved;
    }
    return sqrt(sum);
}

static void fill(const looking *l, const sw_band_frame *f, const sw_edge *edge, const sw_tick *stroke, sw_mark *mark)
{
    const sw_scale *scale = &l->scale;
    double half = edge->length_u_random_mm / 2; /* of two corners' mean: root 2 times less than of one */
    double light = CORNER_LIGHT_PX / scale->px_per_mm / M_SQRT2, hand = stroke->turn * stroke->start_mm;
    double nominal = l->ins->table.tile_mm,
           odd = fabs(f->length_mm - nominal) - LENGTH_SPREAD * nominal - edge->length_u95_mm;
    double own = hypot(stroke->u_mm, hand), shared = hypot(scale_u(scale, f, stroke->at_mm), light);
    if (odd > 0)
        shared = hypot(shared, odd / 2);
    mark->from_half_mm = stroke->at_mm;
    mark->at_mm = f->length_mm / 2 + stroke->at_mm;
    mark->mm = sw_band_place(f, stroke->at_mm, 0);
    mark->u_random_mm = hypot(stroke->u_mm, half);
    mark->u95_mm = 2 * hypot(hypot(own, half), hypot(shared, scale->reference_u_rel * stroke->at_mm));
    mark->step_u95_mm = 2 * own; /* for sw_marks_pair */
    mark->step_u_random_mm = stroke->u_mm;
}

/* Looks for one edge's mark. *found says whether it has one. */
static sw_status look(const looking *l, int tile, sw_side side, double rise_mm, sw_mark *mark, bool *found,
                      sw_error *err)
{
    const sw_tile *t = &l->ins->tiles[tile];
    sw_band_frame frame;
    sw_band band;
    sw_tick strokes[SW_TICKS_MOST];
    *found = false;
    if (sw_band_frame_of(t, side, rise_mm, &frame))
        return SW_OK;
    sw_status status = sw_band_read(l->photo, &l->scale, &frame, &t->edges[side], &band, err);
    if (status)
        return status;
    int count, best = 0;
    status = sw_ticks_find(&band, frame.reach_mm, l->blur_mm, strokes, &count);
    sw_band_free(&band);
    if (status)
        return sw_fail(err, status, "%s: not enough memory for the half-way marks", l->photo->file);
    for (int k = 1; k < count; k++)
        if (fabs(strokes[k].at_mm) < fabs(strokes[best].at_mm))
            best = k;
    if (count > 0) {
        *mark = (sw_mark){.tile = tile, .side = side};
        fill(l, &frame, &t->edges[side], &strokes[best], mark);
        *found = true;
    }
    return SW_OK;
}

void sw_marks_pair(sw_inspection *ins)
{
    for (size_t i = 0; i < ins->mark_count; i++) {
        sw_mark *a = &ins->marks[i], *b = i + 1 < ins->mark_count ? a + 1 : NULL;
        if (b && b->seam == a->seam) {
            const sw_seam *s = &ins->seams[a->seam];
            double ux = s->end_mm.x - s->start_mm.x, uy = s->end_mm.y - s->start_mm.y, l = hypot(ux, uy);
            double step = ((b->mm.x - a->mm.x) * ux + (b->mm.y - a->mm.y) * uy) / l;
            a->step_mm = b->step_mm = step;
            a->step_u95_mm = b->step_u95_mm = hypot(a->step_u95_mm, b->step_u95_mm);
            a->step_u_random_mm = b->step_u_random_mm = hypot(a->step_u_random_mm, b->step_u_random_mm);
            i++;
        } else {
            a->step_mm = a->step_u95_mm = a->step_u_random_mm = NAN;
        }
    }
}

sw_status sw_marks_make(const sw_photo *photo, const sw_grid *grid, sw_inspection *ins, sw_error *err)
{
    looking l = {.photo = photo, .ins = ins};
    double blur_px = ins->scale.blur_px > 0 ? ins->scale.blur_px : BLUR_PX;
    ins->marks = calloc(2 * ins->seam_count + 1, sizeof *ins->marks);
    if (!ins->marks)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the half-way marks", photo->file);
    l.blur_mm = hypot(blur_px, PIXEL_BLUR_PX) / ins->scale.px_per_mm;
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        for (int k = 0; k < 2; k++) {
            int tile = k ? s->second : s->first;
            bool found;
            sw_side side = s->upright ? (k ? SW_WEST : SW_EAST) : (k ? SW_NORTH : SW_SOUTH);
            const sw_top *top = &grid->tops.top[ins->tiles[tile].column][ins->tiles[tile].row];
            double rise = sw_top_rise(top, sw_between(s->start_mm, s->end_mm, 0.5));
            if (sw_scale_lift(&ins->scale, top, &l.scale))
                continue;
            sw_status status = look(&l, tile, side, rise, &ins->marks[ins->mark_count], &found, err);
            if (status)
                return status;
            if (found)
                ins->marks[ins->mark_count++].seam = (int)i;
        }
    }
    sw_marks_pair(ins);
    return SW_OK;
}
