#include "seam/top_light.h"

#include <math.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"
#include "photo/crossing.h"

/* Patches a side of the tile, and how near to its edges the outermost lie, share of half its side. */
enum { PATCHES = 18, ROUNDS = 12 };
static const double OUTERMOST = 0.92;
/* Side of a patch, mm. */
static const double PATCH_MM = 5;
/* White about a card and its shadow, mm. */
static const double CARD_CLEAR_MM = 14;
/* Patches farther off than this many spreads count little (Cauchy's weights; common practice). */
static const double FAR_SPREADS = 2.4;
/* The least spread, logarithm of light: stored values are whole numbers. */
static const double SPREAD_LEAST = 0.004;
/* A place is as light as the floor within this, and a tile is not beyond that, logarithm of light. */
static const double LIKE_FLOOR = 0.22, UNLIKE_FLOOR = 0.3;
/* Grain of wood or cloth makes a place so many times as uneven as tops are; these differ by 1.5 or so. */
static const double GRAINS = 3;
/* Patches of tops with print or coarse grain spread by more than this, those of plain ones by up to 0.013. Where so large a share of the tops has print all
 * count as printed: patches can fall between stripes. */
static const double PRINTED = 0.02, PRINTED_SHARE = 0.33;
/* Light below this is as good as none. */
static const double DARKEST = 1e-4;

typedef struct patch {
    double u, v, light, weight;
} patch;

/* Mean light of a square patch of so many pixels about a place; NaN outside the photo. */
static double patch_light(const sw_photo *photo, sw_point px, int half)
{
    int x0 = (int)lround(px.x), y0 = (int)lround(px.y), step = half / 3 > 1 ? half / 3 : 1;
    double sum = 0, n = 0;
    if (!(px.x - half >= 0 && px.y - half >= 0 && px.x + half < photo->width_px - 1 &&
          px.y + half < photo->height_px - 1))
        return NAN;
    for (int y = -half; y <= half; y += step)
        for (int x = -half; x <= half; x += step) {
            sum += photo->linear[sw_photo_at(photo, x0 + x, y0 + y)];
            n++;
        }
    return sum / n;
}

static void terms(double u, double v, double t[SW_TOP_LIGHT_NUMBERS])
{
    const double all[SW_TOP_LIGHT_NUMBERS] = {1, u, v, u * u, u * v, v * v};
    memcpy(t, all, sizeof all);
}

static double value_at(const double *c, double u, double v)
{
    double t[SW_TOP_LIGHT_NUMBERS], sum = 0;
    terms(u, v, t);
    for (int i = 0; i < SW_TOP_LIGHT_NUMBERS; i++)
        sum += c[i] * t[i];
    return sum;
}

static int read_patches(const sw_photo *photo, const sw_scale *scale, const sw_top_light *top, patch *patches)
{
    int n = 0, half = (int)fmax(1, PATCH_MM / 2 * scale->px_per_mm);
    for (int i = 0; i < PATCHES; i++)
        for (int j = 0; j < PATCHES; j++) {
            double u = OUTERMOST * (2.0 * i / (PATCHES - 1) - 1), v = OUTERMOST * (2.0 * j / (PATCHES - 1) - 1);
            sw_point mm = {top->middle.x + u * top->half_mm, top->middle.y + v * top->half_mm};
            if (sw_scale_covers(scale, mm, CARD_CLEAR_MM))
                continue;
            double light = patch_light(photo, sw_scale_to_px(scale, mm), half);
            if (light > DARKEST)
                patches[n++] = (patch){u, v, log(light), 1};
        }
    return n;
}

static bool fit_once(const patch *p, int n, double c[SW_TOP_LIGHT_NUMBERS])
{
    enum { N = SW_TOP_LIGHT_NUMBERS };
    double a[N * N] = {0}, side[N] = {0}, t[N];
    for (int k = 0; k < n; k++) {
        terms(p[k].u, p[k].v, t);
        for (int i = 0; i < N; i++) {
            for (int j = 0; j < N; j++)
                a[i * N + j] += p[k].weight * t[i] * t[j];
            side[i] += p[k].weight * t[i] * p[k].light;
        }
    }
    if (sw_cholesky_solve(a, side, N))
        return false;
    memcpy(c, side, sizeof side);
    return true;
}

static void fit(patch *p, int n, sw_top_light *top)
{
    double rest[PATCHES * PATCHES];
    for (int k = 0; k < n; k++)
        rest[k] = p[k].light;
    top->c[0] = sw_median(rest, (size_t)n); /* first as if it were even: most of the tile is seen */
    for (int round = 0; round < ROUNDS; round++) {
        for (int k = 0; k < n; k++)
            rest[k] = p[k].light - value_at(top->c, p[k].u, p[k].v);
        top->spread = fmax(SPREAD_LEAST, sw_mad_sigma(rest, (size_t)n, 0));
        for (int k = 0; k < n; k++) {
            double z = (p[k].light - value_at(top->c, p[k].u, p[k].v)) / (FAR_SPREADS * top->spread);
            p[k].weight = 1 / (1 + z * z);
        }
        if (!fit_once(p, n, top->c))
            return;
    }
}

void sw_top_light_read(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, int column, int row,
                       sw_top_light *top)
{
    patch patches[PATCHES * PATCHES];
    const sw_grid_side *west = &grid->upright[column][row], *east = &grid->upright[column + 1][row];
    *top = (sw_top_light){.spread = NAN, .half_mm = grid->tile_mm / 2};
    top->middle.x = (west->from.x + west->to.x + east->from.x + east->to.x) / 4;
    top->middle.y = (west->from.y + west->to.y + east->from.y + east->to.y) / 4;
    sw_top_tint_read(photo, scale, top->middle, top->half_mm, &top->tint);
    int n = read_patches(photo, scale, top, patches);
    if (n > 2 * SW_TOP_LIGHT_NUMBERS)
        fit(patches, n, top);
}

void sw_top_light_find_printed(sw_top_light *tops, int count)
{
    int printed = 0;
    for (int i = 0; i < count; i++)
        printed += tops[i].spread > PRINTED;
    for (int i = 0; i < count; i++)
        tops[i].printed = tops[i].spread > PRINTED || printed > PRINTED_SHARE * count;
}

double sw_top_light_at(const sw_top_light *top, sw_point mm)
{
    if (isnan(top->spread))
        return NAN;
    return value_at(top->c, (mm.x - top->middle.x) / top->half_mm, (mm.y - top->middle.y) / top->half_mm);
}

/* The middle one of what the tops have in common. */
static double usual(const sw_top_light *tops, int count, double (*of)(const sw_top_light *))
{
    double v[SW_GRID_MOST * SW_GRID_MOST];
    for (int i = 0; i < count; i++)
        v[i] = of(&tops[i]);
    return sw_median(v, (size_t)count);
}

static double light_of(const sw_top_light *top)
{
    return top->c[0];
}

static double spread_of(const sw_top_light *top)
{
    return top->spread;
}

/* How far a place is lighter or darker than the floor is anywhere about the table; NaN where the floor is not known. */
static double off_floor(const sw_top_light *top, const sw_floor_light *floor)
{
    const double own = top->c[0];
    return isnan(floor->mean) ? NAN : fmax(0, fmax(floor->least - own, own - floor->most));
}

/* A place as grained and as light as the floor, while a smooth top is unlike it: also where most tiles are missing, so that what is usual
 * is the floor. */
static bool is_floor_among_tops(const sw_top_light *tops, int count, int tile, const sw_floor_light *floor)
{
    double least = INFINITY;
    bool top = false;
    for (int i = 0; i < count; i++)
        least = fmin(least, tops[i].spread);
    for (int i = 0; i < count; i++)
        top |= tops[i].spread <= GRAINS * least && off_floor(&tops[i], floor) > UNLIKE_FLOOR;
    return top && tops[tile].spread > GRAINS * least && off_floor(&tops[tile], floor) < LIKE_FLOOR;
}

bool sw_top_light_missing(const sw_top_light *tops, int count, int tile, const sw_floor_light *floor)
{
    const double own = tops[tile].c[0], off = fabs(own - usual(tops, count, light_of));
    bool grained = tops[tile].spread > GRAINS * usual(tops, count, spread_of);
    int like = 0;
    if (is_floor_among_tops(tops, count, tile, floor))
        return true;
    if (grained && off > UNLIKE_FLOOR)
        return off_floor(&tops[tile], floor) < fmin(UNLIKE_FLOOR, off);
    for (int i = 0; i < count; i++)
        like += !(fabs(tops[i].c[0] - floor->mean) > UNLIKE_FLOOR);
    return 2 * like < count && fabs(own - floor->mean) < LIKE_FLOOR;
}
