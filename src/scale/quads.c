/* quads.c - quadrilaterals in the reduced picture: what is darker than its neighbourhood, or lighter than one of many
 * levels, joined into pieces, and of these the ones whose convex hull is a quadrilateral of about equal sides. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/hull.h"
#include "photo/corners.h"
#include "scale/squares.h"

/* Darker than this share of the neighbourhood's mean stored value counts as dark. Black print on white is near 0.25,
 * printed grey shadows near 0.8. */
static const double DARK_SHARE = 0.66;
/* Smallest side, reduced pixels: below it a frame's white middle no longer stands apart. */
static const double LEAST_SIDE = 9;
/* A quadrilateral fills its own hull to within the rounding of its corners. */
static const double LEAST_FILL = 0.88;
/* Longest over shortest side; perspective at 30 degrees makes about 1.2. */
static const double MOST_UNEQUAL = 1.6;
/* Levels that light squares are looked for at, share of the range: a white card is 0.05 to 0.3 over its tile. */
static const double LEVEL_LEAST = 0.12, LEVEL_MOST = 0.98;
enum { LEVELS = 44 };
/* A light square is light all over, but for specks. */
static const double LIGHT_FILL = 0.93;
/* The same square at two levels: middles and sides differ by less than this share of the side. */
static const double SAME_SHARE = 0.12;

typedef struct pixel_run {
    int y, from, to; /* from <= x < to */
    int parent;      /* index of a run of the same piece, root: itself */
} pixel_run;

typedef struct runs {
    pixel_run *items;
    int count, room;
} runs;

static int root_of(pixel_run *items, int i)
{
    while (items[i].parent != i) {
        items[i].parent = items[items[i].parent].parent;
        i = items[i].parent;
    }
    return i;
}

static sw_status add_run(runs *all, pixel_run item)
{
    if (all->count == all->room) {
        int room = all->room ? all->room * 2 : 4096;
        pixel_run *items = realloc(all->items, (size_t)room * sizeof *items);
        if (!items)
            return SW_NO_MEMORY;
        all->items = items;
        all->room = room;
    }
    item.parent = all->count;
    all->items[all->count++] = item;
    return SW_OK;
}

/* Joins the runs from `first` on (one row) with those of the row above (from `above` on), which overlap them. */
static void join_rows(runs *all, int above, int first)
{
    int i = above;
    for (int j = first; j < all->count; j++) {
        while (i < first && all->items[i].to < all->items[j].from)
            i++;
        for (int k = i; k < first && all->items[k].from <= all->items[j].to; k++) {
            int a = root_of(all->items, k), b = root_of(all->items, j);
            if (a != b)
                all->items[a > b ? a : b].parent = a > b ? b : a;
        }
    }
}

/* Sum over columns x - window .. x + window of one row of column sums; cut at the picture's sides. */
static void window_means(const double *columns, int width, int window, int rows, double *means)
{
    double sum = 0;
    for (int x = 0; x < window && x < width; x++)
        sum += columns[x];
    for (int x = 0; x < width; x++) {
        if (x + window < width)
            sum += columns[x + window];
        if (x - window - 1 >= 0)
            sum -= columns[x - window - 1];
        int from = x - window < 0 ? 0 : x - window, to = x + window >= width ? width - 1 : x + window;
        means[x] = sum / ((double)(to - from + 1) * rows);
    }
}

/* All runs of dark pixels, joined into pieces. */
static sw_status dark_runs(const sw_small *small, int window, runs *all)
{
    int w = small->width, h = small->height, above = 0, rows = 0;
    sw_status status = SW_NO_MEMORY;
    double *columns = calloc((size_t)w * 2, sizeof *columns), *means = columns ? columns + w : NULL;
    if (!columns)
        return SW_NO_MEMORY;
    for (int y = -window; y < h; y++) {
        int in = y + window, out = y - window - 1;
        for (int x = 0; in < h && x < w; x++)
            columns[x] += small->values[(size_t)in * (size_t)w + (size_t)x];
        for (int x = 0; out >= 0 && x < w; x++)
            columns[x] -= small->values[(size_t)out * (size_t)w + (size_t)x];
        rows += (in < h) - (out >= 0);
        if (y < 0)
            continue;
        window_means(columns, w, window, rows, means);
        int first = all->count;
        const uint16_t *row = small->values + (size_t)y * (size_t)w;
        for (int x = 0; x < w; x++) {
            int from = x;
            while (x < w && row[x] < DARK_SHARE * means[x])
                x++;
            if (x > from && add_run(all, (pixel_run){.y = y, .from = from, .to = x}))
                goto done;
        }
        join_rows(all, above, first);
        above = first;
    }
    status = SW_OK;
done:
    free(columns);
    return status;
}

static double area_of(const sw_point *p, size_t n)
{
    double twice = 0;
    for (size_t i = 0; i < n; i++) {
        const sw_point *a = &p[i], *b = &p[(i + 1) % n];
        twice += a->x * b->y - a->y * b->x;
    }
    return fabs(twice) / 2;
}

/* The corners of a hull that is nearly a quadrilateral: the two points farthest apart, and the farthest on either side.
 */
static void four_corners(const sw_point *hull, size_t n, sw_point *corner)
{
    size_t a = 0, b = 0;
    double most = -1;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            double d = hypot(hull[i].x - hull[j].x, hull[i].y - hull[j].y);
            if (d > most) {
                most = d;
                a = i;
                b = j;
            }
        }
    double high = 0, low = 0;
    corner[0] = hull[a];
    corner[2] = hull[b];
    corner[1] = corner[3] = hull[a];
    for (size_t i = 0; i < n; i++) {
        double side =
            (hull[b].x - hull[a].x) * (hull[i].y - hull[a].y) - (hull[b].y - hull[a].y) * (hull[i].x - hull[a].x);
        if (side > high) {
            high = side;
            corner[1] = hull[i];
        } else if (side < low) {
            low = side;
            corner[3] = hull[i];
        }
    }
}

/* Makes a quad of one piece. points are the ends of its runs. False when it is none. */
static bool quad_of(const sw_photo *photo, const sw_small *small, sw_point *points, size_t count, double dark,
                    sw_quad *quad)
{
    size_t n = sw_hull(points, count, points);
    if (n < 4)
        return false;
    sw_point corner[4];
    four_corners(points, n, corner);
    double area = area_of(corner, 4), shortest = INFINITY, longest = 0, sum = 0;
    for (int i = 0; i < 4; i++) {
        double side = hypot(corner[i].x - corner[(i + 1) % 4].x, corner[i].y - corner[(i + 1) % 4].y);
        shortest = fmin(shortest, side);
        longest = fmax(longest, side);
        sum += side;
    }
    if (shortest < LEAST_SIDE || longest > MOST_UNEQUAL * shortest || area < LEAST_FILL * area_of(points, n))
        return false;
    quad->dark_share = dark / area;
    quad->size_px = sum / 4 * small->factor;
    for (int i = 0; i < 4; i++)
        quad->corners[i] = sw_small_to_photo(small, corner[i]);
    sw_corners_order(photo, quad->corners);
    return true;
}

typedef struct piece {
    int root, runs, at; /* at: where its points start */
    double dark;
} piece;

/* Largest first; when full, the smallest gives way. */
static void keep_largest(sw_quad *out, int *found, sw_quad quad)
{
    if (*found == SW_SQUARES_MAX) {
        if (out[SW_SQUARES_MAX - 1].size_px >= quad.size_px)
            return;
        (*found)--;
    }
    int at = (*found)++;
    for (; at > 0 && out[at - 1].size_px < quad.size_px; at--)
        out[at] = out[at - 1];
    out[at] = quad;
}

/* Calls take with every piece of the runs that is a quadrilateral. */
static sw_status quads_of(const sw_photo *photo, const sw_small *small, const runs *joined,
                          void (*take)(sw_quad *out, int *found, sw_quad quad), sw_quad *out, int *found)
{
    const runs all = *joined;
    sw_status status = SW_NO_MEMORY;
    piece *pieces = calloc((size_t)all.count + 1, sizeof *pieces);
    sw_point *points = malloc(((size_t)all.count + 1) * 4 * sizeof *points);
    if (!pieces || !points)
        goto done;
    for (int i = 0; i < all.count; i++) {
        piece *p = &pieces[root_of(all.items, i)];
        p->runs++;
        p->dark += all.items[i].to - all.items[i].from;
    }
    for (int i = 0, at = 0; i < all.count; i++) {
        pieces[i].at = at;
        at += pieces[i].runs * 4;
        pieces[i].runs = 0;
    }
    for (int i = 0; i < all.count; i++) {
        piece *p = &pieces[root_of(all.items, i)];
        const pixel_run *r = &all.items[i];
        sw_point *to = points + p->at + 4 * p->runs++;
        to[0] = (sw_point){r->from - 0.5, r->y - 0.5};
        to[1] = (sw_point){r->from - 0.5, r->y + 0.5};
        to[2] = (sw_point){r->to - 0.5, r->y - 0.5};
        to[3] = (sw_point){r->to - 0.5, r->y + 0.5};
    }
    for (int i = 0; i < all.count; i++) {
        sw_quad quad;
        if (pieces[i].runs >= LEAST_SIDE &&
            quad_of(photo, small, points + pieces[i].at, (size_t)pieces[i].runs * 4, pieces[i].dark, &quad))
            take(out, found, quad);
    }
    status = SW_OK;
done:
    free(points);
    free(pieces);
    return status;
}

sw_status sw_quads_find(const sw_photo *photo, const sw_small *small, int window_px, sw_quad *out, int *count)
{
    runs all = {0};
    *count = 0;
    sw_status status = dark_runs(small, window_px, &all);
    if (!status)
        status = quads_of(photo, small, &all, keep_largest, out, count);
    free(all.items);
    return status;
}

static sw_point middle_of(const sw_quad *q)
{
    return (sw_point){(q->corners[0].x + q->corners[1].x + q->corners[2].x + q->corners[3].x) / 4,
                      (q->corners[0].y + q->corners[1].y + q->corners[2].y + q->corners[3].y) / 4};
}

/* A square seen at several levels counts once: as it was when it was filled best. */
static void keep_filled(sw_quad *out, int *found, sw_quad quad)
{
    if (quad.dark_share < LIGHT_FILL)
        return;
    sw_point at = middle_of(&quad);
    for (int i = 0; i < *found; i++) {
        sw_point other = middle_of(&out[i]);
        double apart = SAME_SHARE * quad.size_px;
        if (hypot(at.x - other.x, at.y - other.y) > apart || fabs(out[i].size_px - quad.size_px) > apart)
            continue;
        if (out[i].dark_share >= quad.dark_share)
            return;
        memmove(&out[i], &out[i + 1], (size_t)(*found - i - 1) * sizeof *out);
        (*found)--;
        break;
    }
    keep_largest(out, found, quad);
}

static sw_status light_runs(const sw_small *small, unsigned level, runs *all)
{
    int w = small->width, above = 0;
    all->count = 0;
    for (int y = 0; y < small->height; y++) {
        int first = all->count;
        const uint16_t *row = small->values + (size_t)y * (size_t)w;
        for (int x = 0; x < w; x++) {
            int from = x;
            while (x < w && row[x] >= level)
                x++;
            if (x > from && add_run(all, (pixel_run){.y = y, .from = from, .to = x}))
                return SW_NO_MEMORY;
        }
        join_rows(all, above, first);
        above = first;
    }
    return SW_OK;
}

sw_status sw_quads_lighter(const sw_photo *photo, const sw_small *small, sw_quad *out, int *count)
{
    runs all = {0};
    sw_status status = SW_OK;
    *count = 0;
    for (int k = 0; k < LEVELS && !status; k++) {
        double level = LEVEL_MOST + (LEVEL_LEAST - LEVEL_MOST) * k / (LEVELS - 1);
        status = light_runs(small, (unsigned)(65535 * level), &all);
        if (!status)
            status = quads_of(photo, small, &all, keep_filled, out, count);
    }
    free(all.items);
    return status;
}
