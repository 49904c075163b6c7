#include "support/tops_scene.h"

#include <stdlib.h>
#include <string.h>

#include "scale/plane.h"
#include "support/maths_check.h"

static const double DEGREE = 3.14159265358979323846 / 180;
static const double TILE_MM = 300, GAP_MM = 2, THICKNESS_MM = 0.2, CARD_SIZE_U = 1e-4;
static const double OUTER_MM = 100, INNER_MM = 60;
/* Outlines cut by hand. */
static const double OUT_MM = 0.5, RIM_SLOPE = 0.004;
/* Where knots lie: six even pieces between 12 mm from either end (view.h). */
static const double END_MM = 12, KNOT_WANDER_MM = 3;
static const double FOCAL_PX = 3300, FOCAL_U_GUESSED = 0.02;

sw_point scene_middle(const scene *s, int tile)
{
    return (sw_point){(tile % s->kind.columns + 0.5) * s->tile_mm, -(tile / s->kind.columns + 0.5) * s->tile_mm};
}

double scene_rise(const scene *s, int tile, sw_point at)
{
    const scene_tile *t = &s->tiles[tile];
    sw_point m = scene_middle(s, tile);
    return t->rise_mm + t->east * (at.x - m.x) + t->north * (at.y - m.y);
}

static void make_tiles(scene *s)
{
    for (int t = 0; t < s->kind.columns * s->kind.rows; t++) {
        scene_tile *tile = &s->tiles[t];
        tile->rise_mm = between(&s->seed, 0, s->kind.heights_mm) + s->kind.scatter_mm * normal(&s->seed);
        tile->east = s->kind.slant * normal(&s->seed);
        tile->north = s->kind.slant * normal(&s->seed);
        for (int side = 0; side < 4; side++) {
            tile->out_mm[side] = OUT_MM * normal(&s->seed);
            tile->slope[side] = RIM_SLOPE * normal(&s->seed);
        }
    }
}

static void make_cards(scene *s)
{
    int columns = s->kind.columns, rows = s->kind.rows;
    s->card_count = 0;
    for (int t = 0; t < columns * rows; t++) {
        bool corner = (t % columns == 0 || t % columns == columns - 1) && (t / columns == 0 || t / columns == rows - 1);
        if (corner || s->kind.card_on_every_tile)
            s->cards[s->card_count++] = (scene_card){.tile = t,
                                                     .at_mm = {between(&s->seed, -40, 40), between(&s->seed, -40, 40)},
                                                     .turn_rad = between(&s->seed, -0.3, 0.3),
                                                     .size = 1 + CARD_SIZE_U * normal(&s->seed)};
    }
}

/* A profile as eight photos of a checkerboard leave it, and a camera that it may belong to; or a guess. */
static void make_lens(scene *s)
{
    static const double U[SW_LENS_NUMBERS] = {2, 2, 1.5, 1.5, 0.002, 0.004, 1e-4, 1e-4, 0};
    sw_lens *k = &s->known, *t;
    *k = (sw_lens){.source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 3000};
    k->fx = k->fy = FOCAL_PX;
    k->cx = 2003, k->cy = 1496;
    k->k1 = 0.04, k->k2 = -0.06, k->p1 = 2e-4, k->p2 = -3e-4;
    s->true_lens = *k;
    t = &s->true_lens;
    if (s->kind.without_profile) {
        double longer = 1 + FOCAL_U_GUESSED * normal(&s->seed);
        k->source = SW_LENS_ESTIMATED;
        s->focal_u_rel = FOCAL_U_GUESSED;
        t->fx *= longer, t->fy *= longer;
        t->k1 += 0.01 * normal(&s->seed), t->k2 += 0.02 * normal(&s->seed);
        return;
    }
    for (int i = 0; i < SW_LENS_NUMBERS; i++)
        k->covariance[i][i] = U[i] * U[i];
    s->focal_u_rel = U[0] / FOCAL_PX;
    t->fx += U[0] * normal(&s->seed), t->fy += U[1] * normal(&s->seed);
    t->cx += U[2] * normal(&s->seed), t->cy += U[3] * normal(&s->seed);
    t->k1 += U[4] * normal(&s->seed), t->k2 += U[5] * normal(&s->seed);
    t->p1 += U[6] * normal(&s->seed), t->p2 += U[7] * normal(&s->seed);
}

void scene_make(const scene_kind *kind, unsigned seed, scene *s)
{
    memset(s, 0, sizeof *s);
    s->kind = *kind;
    s->tile_mm = TILE_MM;
    s->card_thickness_mm = THICKNESS_MM;
    s->seed = 1 + seed * 104729;
    for (int i = 0; i < 8; i++) /* neighbouring seeds begin alike */
        chance(&s->seed);
    make_tiles(s);
    make_cards(s);
    make_lens(s);
}

/* A camera: rows of `axes` are its right, down and forward in the world. */
typedef struct camera {
    double axes[3][3], place[3];
} camera;

static void cross(const double a[3], const double b[3], double out[3])
{
    for (int i = 0; i < 3; i++)
        out[i] = a[(i + 1) % 3] * b[(i + 2) % 3] - a[(i + 2) % 3] * b[(i + 1) % 3];
}

static void scale_to_one(double v[3])
{
    double l = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    for (int i = 0; i < 3; i++)
        v[i] /= l;
}

/* Looks from a place at a target; its right lies `roll` off east. */
static camera look_at(const double from[3], const double to[3], double roll)
{
    camera c;
    const double east[3] = {cos(roll), sin(roll), 0};
    for (int i = 0; i < 3; i++) {
        c.place[i] = from[i];
        c.axes[2][i] = to[i] - from[i];
    }
    scale_to_one(c.axes[2]);
    cross(c.axes[2], east, c.axes[1]);
    scale_to_one(c.axes[1]);
    cross(c.axes[1], c.axes[2], c.axes[0]);
    return c;
}

/* Where it shows a point: along the straight line to the pinhole, then bent and in pixels. */
static sw_point shown(const camera *c, const sw_lens *l, const double world[3])
{
    double v[3];
    for (int i = 0; i < 3; i++)
        v[i] = c->axes[i][0] * (world[0] - c->place[0]) + c->axes[i][1] * (world[1] - c->place[1]) +
               c->axes[i][2] * (world[2] - c->place[2]);
    double x = v[0] / v[2], y = v[1] / v[2], r2 = x * x + y * y, g = 1 + r2 * (l->k1 + r2 * (l->k2 + r2 * l->k3));
    return (sw_point){l->fx * (x * g + 2 * l->p1 * x * y + l->p2 * (r2 + 2 * x * x)) + l->cx,
                      l->fy * (y * g + l->p1 * (r2 + 2 * y * y) + 2 * l->p2 * x * y) + l->cy};
}

/* A place of the photo's own frame in the world, and the way there: world = (c x - s y + east, s x + c y + north). */
typedef struct frame {
    double c, s, east, north;
} frame;

/* The table laid as in the world by quarter turns counter-clockwise; each brings its width, then to the north, back below y = 0. */
static frame frame_of(const scene *s, int quarter_turns)
{
    frame f = {1, 0, 0, 0};
    double width = (quarter_turns % 2 ? s->kind.rows : s->kind.columns) * s->tile_mm,
           depth = (quarter_turns % 2 ? s->kind.columns : s->kind.rows) * s->tile_mm;
    for (int q = 0; q < quarter_turns; q++) {
        const frame was = f;
        double height = width;
        f = (frame){-was.s, was.c, -was.north, was.east - height};
        width = depth;
        depth = height;
    }
    return f;
}

static sw_point turned_back(const frame *f, sw_point way)
{
    return (sw_point){f->c * way.x + f->s * way.y, -f->s * way.x + f->c * way.y};
}

static sw_point in_frame(const frame *f, sw_point world)
{
    return turned_back(f, (sw_point){world.x - f->east, world.y - f->north});
}

/* The level plane z = 0 of the photo's frame as a camera with this focal length, over the true one's, sees it. */
static void homography(const camera *c, const frame *f, double focal, sw_scale *scale)
{
    double h[3][3];
    for (int i = 0; i < 3; i++) {
        const double *a = c->axes[i], k = i < 2 ? focal : 1;
        h[i][0] = k * (a[0] * f->c + a[1] * f->s);
        h[i][1] = k * (-a[0] * f->s + a[1] * f->c);
        h[i][2] = k * (a[0] * (f->east - c->place[0]) + a[1] * (f->north - c->place[1]) - a[2] * c->place[2]);
    }
    for (int i = 0; i < 9; i++)
        scale->to_plane[i / 3][i % 3] = h[i / 3][i % 3] / h[2][2];
    assert_int_equal(sw_invert3(scale->to_plane, scale->to_mm), SW_OK);
}

/* Which tile, edge and knot a rim is in the photo's frame. */
static void name_rim(const scene *s, const frame *f, int columns, int tile, sw_point world, sw_point way,
                     sw_rim_sight *sight)
{
    sw_point m = in_frame(f, scene_middle(s, tile)), p = in_frame(f, world), w = turned_back(f, way);
    double dx = p.x - m.x, dy = p.y - m.y, along;
    sight->tile = (int)floor(-m.y / s->tile_mm) * columns + (int)floor(m.x / s->tile_mm);
    if (fabs(w.x) > fabs(w.y)) {
        sight->side = dy > 0 ? SW_NORTH : SW_SOUTH;
        sight->slope = w.y / w.x;
        along = dx;
    } else {
        sight->side = dx > 0 ? SW_EAST : SW_WEST;
        sight->slope = w.x / w.y;
        along = dy;
    }
    double half = s->tile_mm / 2 - END_MM;
    sight->knot = (int)floor((along + half) / (2 * half) * SW_RIM_KNOTS);
}

static void add_rim(scene *s, const camera *c, const frame *f, const scene_photo *photo, int tile, int side,
                    sw_view *view)
{
    static const sw_point OUT[4] = {{0, 1}, {1, 0}, {0, -1}, {-1, 0}}, ALONG[4] = {{1, 0}, {0, 1}, {1, 0}, {0, 1}};
    const scene_tile *t = &s->tiles[tile];
    const sw_point out = OUT[side], along = ALONG[side], m = scene_middle(s, tile);
    double piece = (s->tile_mm - 2 * END_MM) / SW_RIM_KNOTS, alike = normal(&s->seed) / sqrt(SW_RIM_KNOTS);
    for (int knot = 0; knot < SW_RIM_KNOTS; knot++) {
        double a = (knot + 0.5 - SW_RIM_KNOTS / 2.0) * piece + KNOT_WANDER_MM * normal(&s->seed) / 3,
               across = (s->tile_mm - GAP_MM) / 2 + t->out_mm[side] + t->slope[side] * a;
        sw_point at = {m.x + along.x * a + out.x * across, m.y + along.y * a + out.y * across};
        bool dark = out.x * (at.x - c->place[0]) + out.y * (at.y - c->place[1]) > 0;
        sw_rim_sight sight = {.u_mm = dark ? photo->near_u_mm : photo->far_u_mm};
        double each = normal(&s->seed), off = sight.u_mm * (photo->all_along ? alike : each);
        sw_point way = {along.x + out.x * t->slope[side], along.y + out.y * t->slope[side]};
        sw_point seen = {at.x + out.x * off, at.y + out.y * off};
        name_rim(s, f, view->columns, tile, at, way, &sight);
        sight.px = shown(c, &s->true_lens, (double[]){seen.x, seen.y, scene_rise(s, tile, seen)});
        view->rims[view->rim_count++] = sight;
    }
}

/* A card's corner, clockwise from what was its north-west one before it was turned. */
static sw_point corner_at(const scene *s, const scene_card *card, double side_mm, int k)
{
    static const double X[4] = {-0.5, 0.5, 0.5, -0.5}, Y[4] = {0.5, 0.5, -0.5, -0.5};
    sw_point m = scene_middle(s, card->tile);
    double u = X[k] * side_mm * card->size, v = Y[k] * side_mm * card->size, c = cos(card->turn_rad),
           n = sin(card->turn_rad);
    return (sw_point){m.x + card->at_mm.x + c * u - n * v, m.y + card->at_mm.y + n * u + c * v};
}

static void add_card(scene *s, const camera *c, const frame *f, const scene_photo *photo, const scene_card *card,
                     sw_square *square)
{
    sw_point from = in_frame(f, corner_at(s, card, OUTER_MM, 0)), to = in_frame(f, corner_at(s, card, OUTER_MM, 1));
    int first = (int)lround(atan2(to.y - from.y, to.x - from.x) / (90 * DEGREE)) & 3;
    for (int k = 0; k < 4; k++)
        for (int inner = 0; inner < 2; inner++) {
            sw_point at = corner_at(s, card, inner ? INNER_MM : OUTER_MM, (k + first) & 3);
            sw_point px =
                shown(c, &s->true_lens, (double[]){at.x, at.y, scene_rise(s, card->tile, at) + s->card_thickness_mm});
            px.x += photo->corner_u_px * normal(&s->seed);
            px.y += photo->corner_u_px * normal(&s->seed);
            *(inner ? &square->inner_px[k] : &square->corners_px[k]) = px;
            if (!inner)
                square->corners_mm[k] = in_frame(f, at);
        }
}

/* The camera as a level fit may have it. */
static camera missed(scene *s, const camera *c, const double target[3], double roll, double start_off)
{
    double from[3], to[3];
    for (int i = 0; i < 3; i++) {
        from[i] = c->place[i] + 10 * start_off * normal(&s->seed);
        to[i] = target[i] + 6 * start_off * normal(&s->seed);
    }
    return look_at(from, to, roll);
}

void scene_view(scene *s, const scene_photo *photo, sw_view *view)
{
    int columns = s->kind.columns, rows = s->kind.rows, tiles = columns * rows;
    bool odd = photo->quarter_turns % 2;
    const double target[3] = {columns * s->tile_mm / 2 + between(&s->seed, -30, 30),
                              -rows * s->tile_mm / 2 + between(&s->seed, -30, 30), 0};
    frame f = frame_of(s, photo->quarter_turns);
    double roll = atan2(f.s, f.c) + between(&s->seed, -0.05, 0.05);
    camera c = look_at(photo->place_mm, target, roll), start = missed(s, &c, target, roll, photo->start_off);
    *view = (sw_view){.columns = odd ? rows : columns, .rows = odd ? columns : rows, .tile_mm = s->tile_mm};
    view->rims = calloc((size_t)tiles * 4 * SW_RIM_KNOTS, sizeof *view->rims);
    assert_non_null(view->rims);
    view->scale.lens = s->known;
    view->scale.reference = (sw_reference){OUTER_MM, OUTER_MM, INNER_MM, INNER_MM};
    view->scale.px_per_mm = FOCAL_PX / photo->place_mm[2];
    view->scale.thickness_mm = s->card_thickness_mm;
    view->scale.thickness_u_mm = 0.02;
    view->scale.focal_u_rel = s->focal_u_rel;
    homography(&start, &f, s->true_lens.fx / s->known.fx, &view->scale);
    for (int t = 0; t < tiles; t++)
        for (int side = 0; side < 4; side++)
            add_rim(s, &c, &f, photo, t, side, view);
    for (int i = 0; i < s->card_count; i++)
        add_card(s, &c, &f, photo, &s->cards[i], &view->scale.squares[view->scale.square_count++]);
}
