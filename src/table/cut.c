/* cut.c - a row of which only a strip lies in the photo looks like the table's own surroundings, but for three things: its light is that
 * of the tiles, seams run into it, and it reaches to the photo's rim. */
#include "table/cut.h"

#include <math.h>
#include <stdbool.h>

#include "maths/stats.h"
#include "table/darkness.h"

/* A side whose surroundings show for less than this, mm, is looked at: wider strips are told by the lines that run on in them. */
static const double NARROW_MM = 40;
/* Nearer to the photo's rim than this a tile's rim is not surely seen, mm: rims lie off an even grid by half a gap and a slip. */
static const double TOUCHES_MM = SW_OUTER_SLIP_MM;
/* Light is taken on both sides of the rim, from here to there, mm: beyond the widest gap, and before a shadow ends. */
static const double LIGHT_FROM_MM = 2.5, LIGHT_TO_MM = 10;
/* Places along a side, and samples at each. */
enum { PLACES = 25, SAMPLES = 9 };
/* What lies beyond is no tile where its light differs by this share; lamps make less of it over 20 mm. */
static const double OTHER_LIGHT = 0.12;
/* What looks like tiles does so along this share of the side at least: a corner of a table that stands turned says little. */
static const double ALIKE_LEAST = 0.25;
/* Lines that go on in a strip are darker than what lies beside them by this share of the light; grain is 0.05 to 0.1. */
static const double LINE_DARK = 0.2;

static bool inside_photo(const sw_photo *photo, const sw_scale *scale, sw_point mm)
{
    sw_point px = sw_scale_to_px(scale, mm);
    return px.x >= 2 && px.y >= 2 && px.x <= photo->width_px - 3 && px.y <= photo->height_px - 3;
}

const char *sw_cut_side_name(int side)
{
    static const char *const names[] = {"left", "right", "top", "bottom"};
    return names[side];
}

/* One side of the table: west, east, north, south. */
typedef struct brink {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_block *b;
    bool upright;    /* the side runs north to south */
    double rim, out; /* its place, and the direction away from the table, 1 or -1 */
    double from, to; /* where it begins and ends */
} brink;

static brink brink_of(const sw_photo *photo, const sw_scale *scale, const sw_block *b, int side)
{
    brink k = {.photo = photo, .scale = scale, .b = b, .upright = side < 2};
    bool far = side % 2;
    k.rim = k.upright ? b->x[far ? b->columns : 0] : b->y[far ? b->rows : 0];
    k.out = side == 1 || side == 2 ? 1 : -1;
    k.from = k.upright ? b->y[b->rows] : b->x[0];
    k.to = k.upright ? b->y[0] : b->x[b->columns];
    return k;
}

/* A place `along` the side, `beyond` mm out. */
static sw_point place(const brink *k, double along, double beyond)
{
    double across = k->rim + k->out * beyond;
    return k->upright ? (sw_point){across, along} : (sw_point){along, across};
}

static double along_of(const brink *k, int i)
{
    return k->from + (double)i / (PLACES - 1) * (k->to - k->from);
}

/* How far the photo reaches beyond the rim, mm, up to `most`; negative where the rim lies outside. */
static double room_beyond(const brink *k, double along, double most)
{
    double room = -most;
    while (room < most && inside_photo(k->photo, k->scale, place(k, along, room + 1)))
        room += 1;
    return room;
}

static double light_of(const brink *k, double along, double from, double to)
{
    double light[SAMPLES];
    size_t n = 0;
    for (int i = 0; i < SAMPLES; i++) {
        sw_point mm = place(k, along, from + (to - from) * i / (SAMPLES - 1));
        sw_point px = sw_scale_to_px(k->scale, mm);
        if (inside_photo(k->photo, k->scale, mm) && !sw_scale_covers(k->scale, mm, 0))
            light[n++] = k->photo->linear[sw_photo_at(k->photo, (int)lround(px.x), (int)lround(px.y))];
    }
    return sw_median(light, n);
}

/* Whether tiles may go on beyond the rim: what lies there is as light as the tile inside or its neighbours. */
static bool like_tiles(const brink *k, double along, double room)
{
    double beyond = light_of(k, along, LIGHT_FROM_MM, fmin(room, LIGHT_TO_MM));
    double tile = (k->to - k->from) / (k->upright ? k->b->rows : k->b->columns);
    for (int neighbour = -1; neighbour <= 1; neighbour++) {
        double at = along + neighbour * tile;
        double inside = at > k->from && at < k->to ? light_of(k, at, -LIGHT_TO_MM, -LIGHT_FROM_MM) : NAN;
        if (fabs(beyond / inside - 1) < OTHER_LIGHT)
            return true;
    }
    return false;
}

/* What lies beyond a side. */
typedef struct beyond {
    double outside, touching; /* share of its length that lies outside the photo, or so near to its rim that it may */
    double narrow, alike;     /* share beyond which a narrow strip shows, and one that looks like tiles */
} beyond;

static beyond look_beyond(const brink *k)
{
    beyond r = {0};
    for (int i = 0; i < PLACES; i++) {
        double along = along_of(k, i), room = room_beyond(k, along, NARROW_MM);
        r.outside += room < -TOUCHES_MM ? 1.0 / PLACES : 0;
        r.touching += room < TOUCHES_MM ? 1.0 / PLACES : 0;
        if (room >= NARROW_MM || room < 2 * LIGHT_FROM_MM)
            continue;
        r.narrow += 1.0 / PLACES;
        r.alike += like_tiles(k, along, room) ? 1.0 / PLACES : 0;
    }
    return r;
}

/* Share of the places along a side, a whole tile beyond it, that look like tiles as far as the photo reaches. */
static double alike_share(const brink *k)
{
    int alike = 0, n = 0;
    for (int i = 0; i < PLACES; i++) {
        double along = along_of(k, i), room = room_beyond(k, along, LIGHT_TO_MM);
        if (room < 2 * LIGHT_FROM_MM)
            continue;
        n++;
        alike += like_tiles(k, along, room);
    }
    return n ? (double)alike / n : 1;
}

/* Whether the table's lines run on in a narrow strip beyond the side: most of the inner ones are dark there. */
static bool lines_go_on(const brink *k)
{
    const double *lines = k->upright ? k->b->y : k->b->x;
    int count = k->upright ? k->b->rows : k->b->columns, dark = 0, looked = 0;
    for (int i = 1; i < count; i++) {
        double room = room_beyond(k, lines[i], NARROW_MM);
        double from = k->rim + k->out * LIGHT_FROM_MM, to = k->rim + k->out * (room - 1);
        if (room < 2 * LIGHT_FROM_MM)
            continue;
        looked++;
        dark += sw_darkness(k->photo, k->scale, !k->upright, lines[i], from, to) > LINE_DARK;
    }
    return 2 * dark > looked;
}

/* Whether tiles may go on in a narrow strip: most of it looks like them, along a good part of the side. */
static bool may_go_on(const beyond *r)
{
    return r->alike > ALIKE_LEAST && 2 * r->alike > r->narrow;
}

bool sw_cut_touches(const sw_photo *photo, const sw_scale *scale, const sw_block *b, int side)
{
    const brink k = brink_of(photo, scale, b, side);
    const beyond r = look_beyond(&k);
    return r.touching > 0 || may_go_on(&r);
}

/* Whether a seam line that ends at `end` goes on in direction (dx, dy) until the photo's rim: then tiles are cut off
 * there. */
static bool runs_off(const sw_photo *photo, const sw_scale *scale, const sw_evidence *e, bool upright, sw_point end,
                     double d, double pitch)
{
    double length = 0;
    while (length < pitch && inside_photo(photo, scale,
                                          upright ? (sw_point){end.x, end.y + d * (length + 5)}
                                                  : (sw_point){end.x + d * (length + 5), end.y}))
        length += 5;
    if (length >= pitch || length < NARROW_MM)
        return false;
    double from = upright ? end.y : end.x, across = upright ? end.x : end.y, to = from + d * length;
    double low = fmin(from, to), high = fmax(from, to);
    double beside = (sw_fit_side(e, across - 6 * SW_SLIP_MM, SW_SLIP_MM, low, high).share +
                     sw_fit_side(e, across + 6 * SW_SLIP_MM, SW_SLIP_MM, low, high).share) /
                    2;
    return sw_fit_side(e, across, SW_SLIP_MM, low, high).share > 0.6 + 0.5 * beside;
}

/* Counts lines that run off the photo at a side. It is cut off where most of its lines do, or both rims of the table (seams that are
 * nearly closed hardly show), and what they run through looks like tiles: boards of a floor have lines, too. */
static bool lines_run_off(const brink *k, const sw_search *s)
{
    const double *lines = k->upright ? k->b->y : k->b->x;
    int last = k->upright ? k->b->rows : k->b->columns, off = 0, rims = 0;
    for (int i = 0; i <= last; i++) {
        sw_point end = place(k, lines[i], 0);
        int runs =
            runs_off(k->photo, k->scale, k->upright ? &s->level : &s->upright, !k->upright, end, k->out, s->pitch);
        off += runs;
        rims += runs && (i == 0 || i == last);
    }
    return (2 * off > last + 1 || rims == 2) && alike_share(k) > 0.5;
}

int sw_cut_side(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b)
{
    for (int side = 0; side < 4; side++) {
        const brink k = brink_of(photo, scale, b, side);
        const beyond r = look_beyond(&k);
        if (r.outside > 0.5 || lines_run_off(&k, s))
            return side;
        if (may_go_on(&r) && lines_go_on(&k))
            return side;
    }
    return -1;
}
