#include "support/edges_scene.h"

#include <stdlib.h>
#include <string.h>

#include "scale/bundle.h"
#include "support/maths_check.h"

static void unit_cross(const double a[3], const double b[3], double out[3])
{
    double v[3] = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
    double l = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    for (int k = 0; k < 3; k++)
        out[k] = v[k] / l;
}

edges_camera edges_camera_make(double k1)
{
    edges_camera c = {.at = {380, -620, 1300}};
    const double look[3] = {450, -450, 0}, north[3] = {0.02, 1, 0};
    double l = 0;
    c.lens = (sw_lens){.source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 3000, .fx = 2880, .fy = 2880};
    c.lens.cx = 1999.5;
    c.lens.cy = 1499.5;
    c.lens.k1 = k1;
    for (int k = 0; k < 3; k++) {
        c.ahead[k] = look[k] - c.at[k];
        l += c.ahead[k] * c.ahead[k];
    }
    for (int k = 0; k < 3; k++)
        c.ahead[k] /= sqrt(l);
    unit_cross(c.ahead, north, c.right);
    unit_cross(c.ahead, c.right, c.down);
    return c;
}

sw_point edges_shoot(const edges_camera *c, sw_point mm)
{
    const double d[3] = {mm.x - c->at[0], mm.y - c->at[1], -c->at[2]};
    double x = 0, y = 0, z = 0;
    for (int k = 0; k < 3; k++) {
        x += d[k] * c->right[k];
        y += d[k] * c->down[k];
        z += d[k] * c->ahead[k];
    }
    return sw_lens_distort(&c->lens, (sw_point){x / z, y / z});
}

/* A frame card as it would be read: points along the four sides of both its rims, 0.01 px uncertain. */
static void sight(const edges_camera *c, sw_point centre, double turn, uint32_t *seed, sw_sighting *s)
{
    static const double sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    memset(s, 0, sizeof *s);
    s->rim_count = 2;
    for (int rim = 0; rim < 2; rim++) {
        double half = rim ? 30 : 50;
        sw_point corner[4];
        for (int k = 0; k < 4; k++) {
            double u = sx[k] * half, v = sy[k] * half;
            corner[k] = (sw_point){centre.x + cos(turn) * u - sin(turn) * v, centre.y + sin(turn) * u + cos(turn) * v};
            if (rim == 0)
                s->quad.corners[k] = edges_shoot(c, corner[k]);
        }
        s->rims[rim].scatter_px = 0.03;
        for (int k = 0; k < 4; k++)
            for (int i = 0; i < SW_SIDE_POINTS; i++) {
                double part = 0.1 + 0.8 * i / (SW_SIDE_POINTS - 1);
                sw_point a = corner[k], b = corner[(k + 1) % 4];
                sw_point px = edges_shoot(c, (sw_point){a.x + part * (b.x - a.x), a.y + part * (b.y - a.y)});
                px.x += 0.01 * normal(seed);
                px.y += 0.01 * normal(seed);
                s->rims[rim].points[k][s->rims[rim].counts[k]++] = (sw_side_point){px, 9};
            }
    }
    for (int k = 0; k < 4; k++)
        s->quad.size_px += hypot(s->quad.corners[k].x - s->quad.corners[(k + 1) % 4].x,
                                 s->quad.corners[k].y - s->quad.corners[(k + 1) % 4].y) /
                           4;
}

/* A rim: straight from a to b but for its bow (mm, to the left of the way). */
typedef struct rim {
    sw_point a, b;
    double bow;
} rim;

static sw_point on_rim(const rim *r, double part)
{
    double dx = r->b.x - r->a.x, dy = r->b.y - r->a.y, l = hypot(dx, dy), off = r->bow * 4 * part * (1 - part);
    return (sw_point){r->a.x + part * dx - off * dy / l, r->a.y + part * dy + off * dx / l};
}

/* Where a rim crosses a pixel row (along_row) or column: by halving. */
static double crossing(const edges_camera *c, const rim *r, int along_row, double line)
{
    double low = -0.05, high = 1.05;
    sw_point p = {0, 0}, from = edges_shoot(c, on_rim(r, low)), to = edges_shoot(c, on_rim(r, high));
    int grows = along_row ? to.y > from.y : to.x > from.x;
    for (int i = 0; i < 50; i++) {
        double part = (low + high) / 2;
        p = edges_shoot(c, on_rim(r, part));
        if (((along_row ? p.y : p.x) < line) == grows)
            low = part;
        else
            high = part;
    }
    return along_row ? p.x : p.y;
}

/* Traces the two rims of a grid side, or the one of the table's own rim. */
static void lay(const edges_camera *c, const rim *first, const rim *second, int upright, sw_trace *t, uint32_t *seed)
{
    const rim *any = first ? first : second;
    sw_point from = edges_shoot(c, any->a), to = edges_shoot(c, any->b);
    double l0 = upright ? from.y : from.x, l1 = upright ? to.y : to.x;
    t->along_row = upright;
    t->kind = first && second ? SW_TRACE_SEAM : first ? SW_TRACE_LOW_TILE : SW_TRACE_HIGH_TILE;
    t->slope = upright ? (to.x - from.x) / (to.y - from.y) : (to.y - from.y) / (to.x - from.x);
    t->stretch = 1 / sqrt(1 + t->slope * t->slope);
    t->px_per_mm = 2.2;
    t->count = EDGES_STATIONS;
    t->places = calloc(EDGES_STATIONS, sizeof *t->places);
    assert_non_null(t->places);
    for (int i = 0; i < EDGES_STATIONS; i++) {
        sw_trace_place *p = &t->places[i];
        p->line = l0 + (l1 - l0) * (i + 0.5) / EDGES_STATIONS;
        p->rim_low_px = first ? crossing(c, first, upright, p->line) + 0.02 * normal(seed) : NAN;
        p->rim_high_px = second ? crossing(c, second, upright, p->line) + 0.02 * normal(seed) : NAN;
        p->path_px = first && second ? (p->rim_low_px + p->rim_high_px) / 2 : first ? p->rim_low_px : p->rim_high_px;
        p->seen = 1;
    }
}

sw_point edges_corner(int column, int row)
{
    return (sw_point){column * (EDGES_TILE_MM + EDGES_GAP_MM), -row * (EDGES_TILE_MM + EDGES_GAP_MM)};
}

edges_table edges_table_lay(const edges_camera *c, double bow_sd, uint32_t *seed)
{
    edges_table t = {.traces = {.columns = EDGES_TILES, .rows = EDGES_TILES}, .grid = calloc(1, sizeof *t.grid)};
    t.traces.count = 2 * (EDGES_TILES + 1) * EDGES_TILES;
    t.traces.upright = calloc((size_t)t.traces.count, sizeof *t.traces.upright);
    assert_true(t.grid && t.traces.upright);
    t.traces.level = t.traces.upright + (EDGES_TILES + 1) * EDGES_TILES;
    t.grid->columns = t.grid->rows = EDGES_TILES;
    t.grid->tile_mm = EDGES_TILE_MM + EDGES_GAP_MM;
    for (int line = 0; line <= EDGES_TILES; line++)
        for (int k = 0; k < EDGES_TILES; k++) {
            /* Upright: the tile west of the line ends a gap before it, the tile east of it begins there. */
            sw_point at = edges_corner(line, k);
            rim west = {{at.x - EDGES_GAP_MM, at.y},
                        {at.x - EDGES_GAP_MM, at.y - EDGES_TILE_MM},
                        bow_sd * normal(seed)},
                east = {at, {at.x, at.y - EDGES_TILE_MM}, bow_sd * normal(seed)};
            lay(c, line > 0 ? &west : NULL, line < EDGES_TILES ? &east : NULL, 1,
                &t.traces.upright[line * EDGES_TILES + k], seed);
            t.grid->upright[line][k] = (sw_grid_side){at, {at.x, at.y - EDGES_TILE_MM}, 1};
            at = edges_corner(k, line);
            rim north = {{at.x, at.y + EDGES_GAP_MM},
                         {at.x + EDGES_TILE_MM, at.y + EDGES_GAP_MM},
                         bow_sd * normal(seed)},
                south = {at, {at.x + EDGES_TILE_MM, at.y}, bow_sd * normal(seed)};
            lay(c, line > 0 ? &north : NULL, line < EDGES_TILES ? &south : NULL, 0,
                &t.traces.level[k * (EDGES_TILES + 1) + line], seed);
            t.grid->level[k][line] = (sw_grid_side){at, {at.x + EDGES_TILE_MM, at.y}, 1};
        }
    return t;
}

void edges_scale(const edges_camera *c, int cards, const sw_lens *lens, uint32_t *seed, sw_scale *scale)
{
    static const sw_point places[] = {{450, -430}, {90, -100}, {810, -90}, {100, -820}, {800, -800}};
    sw_sighting s[4];
    sw_error err = {""};
    int count = cards == 1 ? 1 : 4;
    for (int i = 0; i < count; i++)
        sight(c, places[cards == 1 ? 0 : i + 1], 0.1 * i - 0.1, seed, &s[i]);
    memset(scale, 0, sizeof *scale);
    scale->reference = (sw_reference){100, 100, 60, 60};
    scale->lens = *lens;
    if (sw_bundle_fit(s, count, scale, &err))
        fail_msg("%s", err.text);
    scale->reference_u_rel = 0.0003;
}

sw_lens edges_lens_unknown(const edges_camera *c)
{
    sw_lens lens = c->lens;
    lens.source = SW_LENS_ESTIMATED;
    lens.k1 = 0;
    return lens;
}

void edges_into_frame(const edges_camera *c, const sw_scale *scale, sw_grid *grid)
{
    for (int i = 0; i <= EDGES_TILES; i++)
        for (int k = 0; k < EDGES_TILES; k++) {
            sw_grid_side *sides[2] = {&grid->upright[i][k], &grid->level[k][i]};
            for (int n = 0; n < 2; n++) {
                sides[n]->from = sw_scale_to_mm(scale, edges_shoot(c, sides[n]->from));
                sides[n]->to = sw_scale_to_mm(scale, edges_shoot(c, sides[n]->to));
            }
        }
}

void edges_table_free(edges_table *t)
{
    sw_traces_free(&t->traces);
    free(t->grid);
}
