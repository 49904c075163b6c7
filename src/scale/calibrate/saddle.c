/* saddle.c - a crossing, to a hundredth of a pixel, as the point about which half a turn maps the picture onto itself:
 * Gauss-Newton on the pairs of half the window (README.md). */
#include "scale/calibrate/saddle.h"

#include <math.h>
#include <stdbool.h>

#include "maths/lsq.h"

/* Converged: steps shrink fivefold and more, so what is left is below 1e-4 px, a hundredth of what good photos give. */
static const double STILL_PX = 3e-4;
enum { MAX_ROUNDS = 40 };
/* A sharp edge pulls only from as far as it is blurred. With large squares and strong perspective a guess is off by
 * more: so the first rounds look at light spread over this share of a step, down to a spread that the fine look has by
 * itself. */
static const double COARSE = 0.12, COARSE_LEAST_PX = 2;
/* A crossing is never farther from its guess than this share of a step: beyond lies the next black corner's pull. */
static const double STRAY = 0.35;
/* Fewest pairs worth fitting four numbers to; a window of 5 x 5 px holds 12. */
enum { PAIRS_LEAST = 12 };
/* The window is sampled on a lattice along the board's axes, not on the pixels: then the samples stand at all phases of
 * the pixel grid, and the place found is not drawn to where interpolation smooths most (0.014 px RMS on the grid, 0.010
 * off it). NODES_A_PX is no ratio of small numbers for the same reason. The last look takes more of them than the
 * first, where only speed counts. */
static const double NODES_A_PX = 1.13;
enum { NODES_LEAST = 5, NODES_MOST_FIRST = 24, NODES_MOST_LAST = 44 };
/* Pixels next to an axis of the board are mixed; the squares' own levels are read beyond this share of a step. */
static const double LEVEL_FROM = 0.12;
/* Neighbouring pixels' noise is not independent (colour mosaic, sharpening, JPEG): an effective one in this many. */
static const double PIXELS_PER_SAMPLE = 4.0;

typedef struct sample {
    double value, dx, dy;
} sample;

/* Keys' cubic (a = -1/2) and its derivative at the four nodes round a place a share f behind the second. */
static inline void cubic(double f, double weight[4], double slope[4])
{
    double g = 1 - f;
    weight[0] = -0.5 * f * g * g;
    weight[1] = 1 + f * f * (1.5 * f - 2.5);
    weight[2] = 1 + g * g * (1.5 * g - 2.5);
    weight[3] = -0.5 * g * f * f;
    slope[0] = -0.5 * g * (g - 2 * f);
    slope[1] = f * (4.5 * f - 5);
    slope[2] = -g * (4.5 * g - 5);
    slope[3] = -0.5 * f * (2 * g - f);
}

static inline void take_four(const sw_photo *photo, int x, int y, float light[4])
{
    size_t at = (size_t)y * (size_t)photo->width_px + (size_t)x;
    if (photo->bits == 8)
        for (int i = 0; i < 4; i++)
            light[i] = photo->linear[photo->luma8[at + (size_t)i]];
    else
        for (int i = 0; i < 4; i++)
            light[i] = photo->linear[photo->luma16[at + (size_t)i]];
}

/* Linear light and its slope at a place; 0 when the place is too near the frame's rim or outside. */
static bool take_sample(const sw_photo *photo, sw_point p, sample *s)
{
    if (!(p.x >= 1 && p.y >= 1 && p.x < photo->width_px - 2 && p.y < photo->height_px - 2))
        return false;
    int x = (int)p.x, y = (int)p.y;
    double wx[4], wy[4], sx[4], sy[4];
    cubic(p.x - x, wx, sx);
    cubic(p.y - y, wy, sy);
    *s = (sample){0};
    for (int j = 0; j < 4; j++) {
        float light[4];
        take_four(photo, x - 1, y + j - 1, light);
        double row = wx[0] * light[0] + wx[1] * light[1] + wx[2] * light[2] + wx[3] * light[3];
        s->dx += wy[j] * (sx[0] * light[0] + sx[1] * light[1] + sx[2] * light[2] + sx[3] * light[3]);
        s->value += wy[j] * row;
        s->dy += sy[j] * row;
    }
    return true;
}

/* Linear light at the nearest pixel; 0 light outside, with *inside cleared. */
static double light_near(const sw_photo *photo, double x, double y, int *inside)
{
    int column = (int)lround(x), row = (int)lround(y);
    if (column < 0 || row < 0 || column >= photo->width_px || row >= photo->height_px) {
        *inside = 0;
        return 0;
    }
    return photo->linear[sw_photo_at(photo, column, row)];
}

/* The same as take_sample from five places `spread` px apart: a blurred look, whose slope points home from farther off.
 */
static int take_coarse(const sw_photo *photo, sw_point p, double spread, sample *s)
{
    int inside = 1;
    double here = light_near(photo, p.x, p.y, &inside);
    double west = light_near(photo, p.x - spread, p.y, &inside), east = light_near(photo, p.x + spread, p.y, &inside);
    double north = light_near(photo, p.x, p.y - spread, &inside), south = light_near(photo, p.x, p.y + spread, &inside);
    *s = (sample){(here + west + east + north + south) / 5, (east - west) / (2 * spread),
                  (south - north) / (2 * spread)};
    return inside;
}

/* The window, and where it stands now: centre in pixels or, with a lens, on the normal plane times fx ("flat" pixels).
 */
typedef struct window {
    const sw_photo *photo;
    const sw_lens *lens;
    sw_point centre;
    sw_point across, down;
    double reach;
    int across_nodes, down_nodes; /* of the lattice, from the centre to each side */
    double spread_px;             /* of the coarse look; 0 when it is over */
} window;

static sw_point place(const window *w, double x, double y)
{
    if (!w->lens)
        return (sw_point){w->centre.x + x, w->centre.y + y};
    return sw_lens_distort(w->lens, (sw_point){(w->centre.x + x) / w->lens->fx, (w->centre.y + y) / w->lens->fx});
}

static int look(const window *w, double x, double y, sample *s)
{
    sw_point p = place(w, x, y);
    return w->spread_px > 0 ? take_coarse(w->photo, p, w->spread_px, s) : take_sample(w->photo, p, s);
}

/* What one round gathers: normal equations of (cx, cy, gx, gy), and the levels of the two pairs of squares. */
typedef struct gathered {
    double normal[4][4], right[4];
    double squares; /* sum e^2 */
    double same, other;
    int pairs, same_pairs, other_pairs;
} gathered;

static void add_pair(const window *w, double s, double t, gathered *g)
{
    double x = s * w->across.x + t * w->down.x, y = s * w->across.y + t * w->down.y;
    sample a, b;
    if (!look(w, x, y, &a) || !look(w, -x, -y, &b))
        return;
    double e = a.value - b.value, mean = a.value + b.value;
    double row[4] = {a.dx - b.dx, a.dy - b.dy, x * mean, y * mean};
    for (int i = 0; i < 4; i++) {
        for (int k = 0; k < 4; k++)
            g->normal[i][k] += row[i] * row[k];
        g->right[i] -= row[i] * e;
    }
    g->squares += e * e;
    g->pairs++;
    if (fabs(s) < LEVEL_FROM || fabs(t) < LEVEL_FROM)
        return;
    int same = s * t > 0;
    *(same ? &g->same : &g->other) += mean / 2;
    *(same ? &g->same_pairs : &g->other_pairs) += 1;
}

/* Half the window, d and -d being one pair: the half plane t > 0, and the half s > 0 of its border. */
static void gather(const window *w, gathered *g)
{
    *g = (gathered){0};
    for (int j = 0; j <= w->down_nodes; j++) {
        double t = w->reach * j / w->down_nodes;
        for (int i = j ? -w->across_nodes : 1; i <= w->across_nodes; i++) {
            double s = w->reach * i / w->across_nodes;
            add_pair(w, s, t, g);
        }
    }
}

static int nodes_for(double half_px, int most)
{
    int nodes = (int)ceil(half_px * NODES_A_PX);
    return nodes < NODES_LEAST ? NODES_LEAST : nodes > most ? most : nodes;
}

static sw_status set_window(window *w)
{
    double across = hypot(w->across.x, w->across.y), down = hypot(w->down.x, w->down.y);
    if (!(across > 0 && down > 0) || across + down > w->photo->width_px + w->photo->height_px)
        return SW_NOT_FOUND;
    int most = w->lens ? NODES_MOST_LAST : NODES_MOST_FIRST;
    w->across_nodes = nodes_for(w->reach * across, most);
    w->down_nodes = nodes_for(w->reach * down, most);
    return SW_OK;
}

/* One Gauss-Newton step; leaves the inverse of the normal matrix in g. Returns its length, or -1. */
static double move(window *w, gathered *g)
{
    double step[4] = {0};
    if (g->pairs < PAIRS_LEAST || sw_cholesky_invert(&g->normal[0][0], 4))
        return -1;
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 4; k++)
            step[i] += g->normal[i][k] * g->right[k];
    w->centre.x += step[0];
    w->centre.y += step[1];
    for (int i = 0; i < 4; i++)
        g->squares -= step[i] * g->right[i];
    return hypot(step[0], step[1]);
}

static sw_status finish(const window *w, const gathered *g, sw_saddle *saddle)
{
    if (!g->same_pairs || !g->other_pairs)
        return SW_NOT_FOUND;
    double spread = fmax(g->squares, 0) / g->pairs;
    saddle->px = place(w, 0, 0);
    saddle->u_px = sqrt(spread * (g->normal[0][0] + g->normal[1][1]) / 2 * PIXELS_PER_SAMPLE);
    saddle->contrast = g->same / g->same_pairs - g->other / g->other_pairs;
    saddle->misfit = saddle->contrast != 0 ? sqrt(spread) / fabs(saddle->contrast) : INFINITY;
    return SW_OK;
}

/* Halves the coarse look's spread once a step is small against it, and ends it where the fine look sees as far. */
static void narrow(window *w, double length)
{
    if (length < w->spread_px / 4)
        w->spread_px /= 2;
    if (w->spread_px < COARSE_LEAST_PX)
        w->spread_px = 0;
}

sw_status sw_saddle_find(const sw_photo *photo, const sw_lens *lens, const sw_saddle_guess *guess, double reach,
                         sw_saddle *saddle)
{
    window w = {.photo = photo,
                .lens = lens,
                .centre = guess->px,
                .across = guess->across,
                .down = guess->down,
                .reach = reach};
    double steps = fmin(hypot(w.across.x, w.across.y), hypot(w.down.x, w.down.y));
    if (set_window(&w))
        return SW_NOT_FOUND;
    if (lens) {
        sw_point normal = sw_lens_undistort(lens, guess->px);
        w.centre = (sw_point){normal.x * lens->fx, normal.y * lens->fx};
    }
    w.spread_px = lens ? 0 : COARSE * steps;
    narrow(&w, INFINITY);
    sw_point start = w.centre;
    gathered g;
    for (int round = 0; round < MAX_ROUNDS; round++) {
        gather(&w, &g);
        double length = move(&w, &g);
        if (length < 0 || !(hypot(w.centre.x - start.x, w.centre.y - start.y) <= STRAY * steps))
            return SW_NOT_FOUND;
        if (w.spread_px == 0 && length < STILL_PX)
            return finish(&w, &g, saddle);
        narrow(&w, length);
    }
    return SW_NOT_FOUND;
}
