/* grid.c - the table: strokes are turned upright, made into maps of line evidence, and a block of cells is grown in
 * them; then the checks against what the user said. */
#include "table/grid.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "photo/corners.h"
#include "scale/frame.h"
#include "table/block.h"
#include "table/cut.h"
#include "table/pointed.h"
#include "table/strokes.h"
#include "table/told.h"
#include "table/turn.h"

/* |cos| between a stroke's gradient and the line's normal: within 8 degrees. */
static const double NEARLY = 0.99;
/* A table of which this share of the ideal worth shows is the table; below it other directions are tried too. */
static const double WHOLE = 0.6;
/* And one of which less than this shows is none. */
static const double HALF_THERE = 0.3;
/* A table found turned by less than this, radians, is straight enough: 0.6 mm along a tile. */
static const double LEFTOVER_RAD = 0.002, LEFTOVER_MM = 8;

/* What is looked for, and where. */
typedef struct asked {
    const sw_photo *photo;
    const sw_table *table;      /* as said */
    const sw_point *corners_px; /* where somebody pointed; NULL: anywhere round the squares */
} asked;

/* Turns the (unturned) scale, and the strokes, which stand turned by `turned` already, so that the tiles' sides, at
 * `angle`, run along the axes and north is up as the photo is shown. Returns the strokes' turn. */
static double put_upright(const sw_photo *photo, double angle, double turned, sw_scale *scale, sw_strokes *strokes)
{
    double best_angle = angle, best_up = -INFINITY;
    for (int quarter = 0; quarter < 4; quarter++) {
        double a = angle + quarter * M_PI / 2;
        sw_point from = sw_photo_show(photo, sw_scale_to_px(scale, (sw_point){0, 0}));
        sw_point to = sw_photo_show(photo, sw_scale_to_px(scale, (sw_point){-50 * sin(a), 50 * cos(a)}));
        double up = (from.y - to.y) / hypot(to.x - from.x, to.y - from.y);
        if (up > best_up) {
            best_up = up;
            best_angle = a;
        }
    }
    sw_scale_turn(scale, (sw_point){0, 0}, best_angle);
    float c = (float)cos(best_angle - turned), n = (float)sin(best_angle - turned);
    for (size_t i = 0; i < strokes->count; i++) {
        sw_stroke *p = &strokes->items[i];
        *p = (sw_stroke){c * p->x + n * p->y, -n * p->x + c * p->y, c * p->gx + n * p->gy, -n * p->gx + c * p->gy,
                         p->weight};
    }
    return best_angle;
}

static sw_status collect(const sw_strokes *strokes, sw_search *s)
{
    double x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY, y1 = -INFINITY, bin = fmax(1, strokes->bin_mm);
    for (size_t i = 0; i < strokes->count; i++) {
        x0 = fmin(x0, strokes->items[i].x);
        x1 = fmax(x1, strokes->items[i].x);
        y0 = fmin(y0, strokes->items[i].y);
        y1 = fmax(y1, strokes->items[i].y);
    }
    if (!(x1 > x0) || (x1 - x0) / bin > 40000 || (y1 - y0) / bin > 40000)
        return SW_NO_MEMORY;
    if (sw_evidence_make(&s->upright, x0, x1, y0, y1, bin) || sw_evidence_make(&s->level, y0, y1, x0, x1, bin))
        return SW_NO_MEMORY;
    for (size_t i = 0; i < strokes->count; i++) {
        const sw_stroke *p = &strokes->items[i];
        if (fabsf(p->gx) > NEARLY)
            sw_evidence_vote(&s->upright, p->x, p->y, p->weight);
        else if (fabsf(p->gy) > NEARLY)
            sw_evidence_vote(&s->level, p->y, p->x, p->weight);
    }
    return sw_evidence_close(&s->upright) || sw_evidence_close(&s->level) ? SW_NO_MEMORY : SW_OK;
}

static void fill_grid(const sw_search *s, const sw_block *b, sw_grid *grid)
{
    memset(grid, 0, sizeof *grid);
    grid->columns = b->columns;
    grid->rows = b->rows;
    grid->tile_mm = s->pitch;
    for (int i = 0; i <= b->columns; i++)
        for (int r = 0; r < b->rows; r++) {
            double slip = i == 0 || i == b->columns ? SW_OUTER_SLIP_MM : sw_search_slip(s);
            sw_fitted f = sw_fit_turned(&s->upright, b->x[i], slip, b->y[r + 1], b->y[r]);
            grid->upright[i][r] = (sw_grid_side){{f.at1, b->y[r]}, {f.at0, b->y[r + 1]}, f.share};
        }
    for (int r = 0; r <= b->rows; r++)
        for (int i = 0; i < b->columns; i++) {
            double slip = r == 0 || r == b->rows ? SW_OUTER_SLIP_MM : sw_search_slip(s);
            sw_fitted f = sw_fit_turned(&s->level, b->y[r], slip, b->x[i], b->x[i + 1]);
            grid->level[i][r] = (sw_grid_side){{b->x[i], f.at0}, {b->x[i + 1], f.at1}, f.share};
        }
}

static void move_origin(sw_scale *scale, sw_grid *grid)
{
    sw_point o = {grid->upright[0][0].from.x, grid->level[0][0].from.y};
    sw_scale_turn(scale, o, 0);
    for (int i = 0; i <= SW_GRID_MOST; i++)
        for (int j = 0; j < SW_GRID_MOST; j++) {
            sw_grid_side *sides[2] = {&grid->upright[i][j], &grid->level[j][i]};
            for (int k = 0; k < 2; k++) {
                sides[k]->from = (sw_point){sides[k]->from.x - o.x, sides[k]->from.y - o.y};
                sides[k]->to = (sw_point){sides[k]->to.x - o.x, sides[k]->to.y - o.y};
            }
        }
}

static sw_status no_tiles(const asked *a, sw_error *err)
{
    if (a->corners_px)
        return sw_fail(err, SW_NOT_FOUND,
                       "%s: the card is there, but between the corners given with --corners no seams of %ssquare "
                       "tiles show; point at the table's four outer corners, to within %d mm%s",
                       a->photo->file, a->table->columns > 0 || a->table->tile_mm > 0 ? "these " : "",
                       SW_POINTED_OFF_MM,
                       a->table->columns > 0   ? ", or leave --table out"
                       : a->table->tile_mm > 0 ? ", or leave --tile out"
                                               : "");
    return sw_fail(err, SW_NOT_FOUND,
                   "%s: the reference square is there, but no square tiles were found round it; does the card lie on "
                   "the tiles, and is the whole table in the picture? If so, say where its four outer corners are, in "
                   "pixels: --corners x,y,x,y,x,y,x,y",
                   a->photo->file);
}

static bool shows(const sw_search *s, const sw_block *b)
{
    return b->columns && b->worth >= HALF_THERE * sw_block_ideal(b, s->pitch);
}

/* What the photo shows against the size of tile that the user told. */
static sw_status check_size(const asked *a, const sw_scale *scale, const sw_search *s, const sw_block *b, sw_error *err)
{
    const sw_photo *photo = a->photo;
    double told_mm = a->table->tile_mm;
    sw_shown shown;
    if (fabs(s->pitch / told_mm - 1) > SW_GIVEN_SLACK)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the tiles measure about %.0f mm, not %g mm; is the reference square really %g mm wide "
                       "(--reference), and the tile size right (--tile)?",
                       photo->file, s->pitch, told_mm, scale->reference.outer_x_mm);
    if (a->corners_px)
        return SW_OK; /* pointed.c has weighed the lines */
    switch (sw_told_judge(photo, scale, s, b, &shown)) {
    case SW_TOLD_TOO_SMALL:
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the picture shows %d x %d tiles (across x down) of about %.0f mm, and no line where tiles "
                       "of %g mm would meet; leave --tile out, or tell their right size",
                       photo->file, shown.columns, shown.rows, shown.tile_mm, told_mm);
    case SW_TOLD_TOO_LARGE:
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: lines like seams run through the tiles of %g mm: the picture shows %d x %d tiles (across x "
                       "down) of about %.0f mm; leave --tile out, or tell their right size",
                       photo->file, told_mm, shown.columns, shown.rows, shown.tile_mm);
    case SW_TOLD_NO_SEAM:
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: no line shows where tiles of %g mm would meet: this is one tile of about %.0f mm (then "
                       "tell its size and --table 1x1), or seams too tight for this photo, which it cannot measure: go "
                       "nearer, in light from one side",
                       photo->file, told_mm, shown.tile_mm);
    default:
        return SW_OK;
    }
}

/* Nobody told a size: lines that hardly show may still be seams. */
static sw_status check_faint(const asked *a, const sw_scale *scale, const sw_search *s, const sw_block *b,
                             sw_error *err)
{
    sw_shown shown;
    if (a->table->columns > 0 || a->corners_px || !sw_told_faint(a->photo, scale, s, b, &shown))
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: faint lines run through what looks like %d x %d tiles (across x down) of about %.0f mm: are "
                   "they %d x %d, of about %.0f mm? Tell the tiles' size (--tile)",
                   a->photo->file, b->columns, b->rows, s->pitch, shown.columns, shown.rows, shown.tile_mm);
}

/* The table that was found against the one that the user told. */
static sw_status check_table(const asked *a, const sw_search *s, const sw_block *b, sw_error *err)
{
    const sw_photo *photo = a->photo;
    const sw_table *table = a->table;
    bool told = table->columns > 0, one = b->columns * b->rows == 1;
    if (told && (table->columns != b->columns || table->rows != b->rows)) {
        bool within = table->columns % b->columns == 0 && table->rows % b->rows == 0;
        return sw_fail(
            err, SW_BAD_INPUT,
            "%s: the picture shows %d x %d tiles (across x down), not %d x %d; leave --table out, clear away "
            "what hides the others, or say where the table's outer corners are, in pixels: --corners "
            "x,y,x,y,x,y,x,y%s",
            photo->file, b->columns, b->rows, table->columns, table->rows,
            within ? "; if their seams hardly show, tell the tiles' size (--tile)" : "");
    }
    if (one && !told && !a->corners_px)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: only one tile was found, of about %.0f mm; if the picture really shows a single one, tell "
                       "--table 1x1; else print, dirt or poor light hides the seams: tell the tiles' size (--tile), or "
                       "photograph again in soft light",
                       photo->file, s->pitch);
    return SW_OK;
}

static sw_status check(const asked *a, const sw_scale *scale, const sw_search *s, const sw_block *b, sw_error *err)
{
    double told_mm = a->table->tile_mm;
    bool found = a->corners_px ? b->columns > 0 : b->split || shows(s, b);
    if (!found)
        return no_tiles(a, err);
    sw_status status = told_mm > 0 ? check_size(a, scale, s, b, err) : check_faint(a, scale, s, b, err);
    if (status)
        return status;
    int cut = a->corners_px ? -1 : sw_cut_side(a->photo, scale, s, b);
    if (cut >= 0)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the table is cut off at the %s of the picture; step back so that all tiles and some floor "
                       "round them are in it. If they are, say where the table's outer corners are, in pixels: "
                       "--corners x,y,x,y,x,y,x,y",
                       a->photo->file, sw_cut_side_name(cut));
    return check_table(a, s, b, err);
}

static sw_block block_of(const asked *a, sw_search *s, const sw_scale *scale)
{
    double tile_mm = a->table->tile_mm;
    if (a->corners_px)
        return sw_pointed_block(s, scale, a->corners_px, a->table);
    sw_block b = sw_block_find(s, scale, tile_mm);
    if (tile_mm > 0 && (!b.columns || b.worth < WHOLE * sw_block_ideal(&b, s->pitch))) {
        b = sw_block_find(s, scale, 0);
        if (shows(s, &b))
            b = sw_block_split(s, b, tile_mm);
    }
    return b;
}

/* Once the table is found, its own sides say how it is turned, better than the strokes near the squares did. */
static sw_status straighten_up(const asked *a, const sw_scale *original, double angle, double turned, sw_scale *scale,
                               sw_strokes *strokes, sw_search *s, sw_block *b, sw_error *err)
{
    enum { ROUNDS = 3 };
    for (int round = 0; round < ROUNDS; round++) {
        *scale = *original;
        turned = put_upright(a->photo, angle, turned, scale, strokes);
        double more = sw_leftover_turn(strokes, b, LEFTOVER_MM);
        if (fabs(more) < LEFTOVER_RAD)
            return SW_OK;
        sw_search next = {0};
        *scale = *original;
        angle = turned + more;
        turned = put_upright(a->photo, angle, turned, scale, strokes);
        if (collect(strokes, &next)) {
            sw_search_free(&next);
            return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to look for the tiles", a->photo->file);
        }
        sw_block better = a->corners_px ? block_of(a, &next, scale) : sw_block_find(&next, scale, s->pitch);
        if (!better.columns || better.worth < b->worth) {
            sw_search_free(&next);
            *scale = *original;
            put_upright(a->photo, angle - more, turned, scale, strokes);
            return SW_OK;
        }
        sw_search_free(s);
        *s = next;
        *b = better;
    }
    return SW_OK;
}

/* Tries the directions in turn until one gives a table most of whose sides show; leaves scale, search and block at the
 * best. */
static sw_status try_directions(const asked *a, sw_scale *scale, sw_strokes *strokes, sw_search *best, sw_block *found,
                                sw_error *err)
{
    double angles[SW_DIRECTIONS], turned = 0, best_angle = 0;
    int count = sw_strokes_directions(strokes, scale, angles);
    if (a->corners_px)
        count = sw_pointed_directions(scale, a->corners_px, angles, count);
    sw_scale original = *scale, best_scale = *scale;
    for (int i = 0; i < count; i++) {
        sw_search s = {0};
        *scale = original;
        turned = put_upright(a->photo, angles[i], turned, scale, strokes);
        if (collect(strokes, &s)) {
            sw_search_free(&s);
            return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to look for the tiles", a->photo->file);
        }
        sw_block b = block_of(a, &s, scale);
        if (b.columns && b.worth > found->worth) {
            sw_search_free(best);
            *best = s;
            *found = b;
            best_scale = *scale;
            best_angle = angles[i];
        } else
            sw_search_free(&s);
        if (found->columns && found->worth > WHOLE * sw_block_ideal(found, best->pitch))
            break;
    }
    *scale = best_scale;
    return found->columns ? straighten_up(a, &original, best_angle, turned, scale, strokes, best, found, err) : SW_OK;
}

sw_status sw_grid_find(const sw_photo *photo, const sw_small *small, const sw_corners *told, sw_scale *scale,
                       sw_table *table, sw_grid *grid, sw_error *err)
{
    sw_point corners_px[4];
    const asked a = {photo, table, told ? corners_px : NULL};
    sw_strokes strokes = {0};
    sw_search s = {0};
    sw_block b = {0};
    memset(grid, 0, sizeof *grid);
    sw_status status = SW_OK;
    if (told) {
        sw_corners_take(photo, told, corners_px);
        status = sw_pointed_check(photo, scale, corners_px, err);
    }
    if (!status)
        status = sw_strokes_find(small, scale, &strokes, err);
    if (!status && told)
        sw_pointed_clear(scale, corners_px, &strokes);
    if (!status)
        status = try_directions(&a, scale, &strokes, &s, &b, err);
    if (!status && b.columns)
        sw_block_trim(&s, &b);
    if (!status)
        status = check(&a, scale, &s, &b, err);
    if (!status) {
        fill_grid(&s, &b, grid);
        for (int side = 0; side < SW_GRID_SIDES; side++)
            grid->touches[side] = sw_cut_touches(photo, scale, &b, side);
        move_origin(scale, grid);
        table->columns = b.columns;
        table->rows = b.rows;
        table->tile_given = table->tile_mm > 0;
        if (!table->tile_given)
            table->tile_mm = round(s.pitch);
    }
    sw_strokes_free(&strokes);
    sw_search_free(&s);
    return status;
}
