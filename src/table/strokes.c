#include "table/strokes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scale/frame.h"

/* A step counts from this share of the local brightness on (stored values; a 0.1 mm slit in a reduced pixel of 1.4 mm
 * makes about 0.04), and weighs fully from STEP_FULL on. */
static const double STEP_LEAST = 0.012, STEP_FULL = 0.05;
/* A step must also stand out from its cell's mean: 2.4 times the mean is 3 sigma of noise (Rayleigh), and a line that
 * fills an eighth of a cell still passes, since it lifts the mean by only an eighth of itself. */
static const double STEP_OVER_MEAN = 2.4;
/* Keeps the share from growing without bound in the dark; 0 to 65535. */
#define DARK_FLOOR 2000.0f
/* White margin around a card, mm, plus its own edge on the tile. */
static const double CARD_MARGIN_MM = 20;
/* Lattice on which the map from pixels to mm is worked out, reduced pixels; between its nodes it is interpolated (the
 * map bends by under 0.05 mm over this distance). */
enum { LATTICE = 16 };

typedef struct lattice {
    int columns, rows;
    sw_point *mm;
} lattice;

static sw_status lattice_make(const sw_small *small, const sw_scale *scale, lattice *l)
{
    l->columns = small->width / LATTICE + 2;
    l->rows = small->height / LATTICE + 2;
    l->mm = malloc((size_t)l->columns * (size_t)l->rows * sizeof *l->mm);
    if (!l->mm)
        return SW_NO_MEMORY;
    for (int j = 0; j < l->rows; j++)
        for (int i = 0; i < l->columns; i++) {
            sw_point at = {i * LATTICE, j * LATTICE};
            l->mm[j * l->columns + i] = sw_scale_to_mm(scale, sw_small_to_photo(small, at));
        }
    return SW_OK;
}

static inline sw_point lattice_at(const lattice *l, int x, int y, double map[4])
{
    int i = x / LATTICE, j = y / LATTICE;
    double u = (x - i * LATTICE) / (double)LATTICE, v = (y - j * LATTICE) / (double)LATTICE;
    const sw_point *a = &l->mm[j * l->columns + i], *b = a + 1, *c = a + l->columns, *d = c + 1;
    map[0] = (1 - v) * (b->x - a->x) + v * (d->x - c->x);
    map[1] = (1 - u) * (c->x - a->x) + u * (d->x - b->x);
    map[2] = (1 - v) * (b->y - a->y) + v * (d->y - c->y);
    map[3] = (1 - u) * (c->y - a->y) + u * (d->y - b->y);
    return (sw_point){(1 - v) * ((1 - u) * a->x + u * b->x) + v * ((1 - u) * c->x + u * d->x),
                      (1 - v) * ((1 - u) * a->y + u * b->y) + v * ((1 - u) * c->y + u * d->y)};
}

static sw_status add(sw_strokes *s, size_t *room, sw_stroke item)
{
    if (s->count == *room) {
        size_t more = *room ? *room * 2 : 32768;
        sw_stroke *items = realloc(s->items, more * sizeof *items);
        if (!items)
            return SW_NO_MEMORY;
        s->items = items;
        *room = more;
    }
    s->items[s->count++] = item;
    return SW_OK;
}

/* Square of the step at a pixel, as a share of its brightness. */
static inline float step_squared(const uint16_t *at, int width, int *dx, int *dy)
{
    *dx = at[1] - at[-1];
    *dy = at[width] - at[-width];
    float level = (float)at[0] + DARK_FLOOR, fx = (float)*dx, fy = (float)*dy;
    return (fx * fx + fy * fy) / (level * level);
}

/* The gradient at a pixel, with the neighbouring rows and columns taken in (Sobel's weights 1 2 1): plain differences
 * make of a sharp edge that runs at 30 degrees one at 40. */
static void gradient(const uint16_t *at, int width, int *dx, int *dy)
{
    const uint16_t *up = at - width, *low = at + width;
    *dx = up[1] - up[-1] + 2 * (at[1] - at[-1]) + low[1] - low[-1];
    *dy = low[-1] - up[-1] + 2 * (low[0] - up[0]) + low[1] - up[1];
}

/* One place as a stroke, unless it lies on a card. */
static sw_status take(const sw_small *small, const sw_scale *scale, const lattice *l, int x, int y, double step,
                      sw_strokes *s, size_t *room)
{
    int dx, dy;
    gradient(small->values + (size_t)y * (size_t)small->width + (size_t)x, small->width, &dx, &dy);
    double map[4];
    sw_point mm = lattice_at(l, x, y, map);
    /* Brightness as a function of mm: gradient_px = map^T gradient_mm. */
    double det = map[0] * map[3] - map[1] * map[2];
    double gx = (map[3] * dx - map[2] * dy) / det, gy = (-map[1] * dx + map[0] * dy) / det, g = hypot(gx, gy);
    if (!(g > 0) || sw_scale_covers(scale, mm, CARD_MARGIN_MM))
        return SW_OK;
    sw_stroke item = {(float)mm.x, (float)mm.y, (float)(gx / g), (float)(gy / g), (float)fmin(1, step / STEP_FULL)};
    return add(s, room, item);
}

/* The places of one cell of the lattice whose step stands out from the cell's own. */
static sw_status take_cell(const sw_small *small, const sw_scale *scale, const lattice *l, int x0, int y0,
                           sw_strokes *s, size_t *room)
{
    float steps[LATTICE * LATTICE], sum = 0;
    int x1 = x0 + LATTICE < small->width - 1 ? x0 + LATTICE : small->width - 1, n = 0, dx, dy;
    int y1 = y0 + LATTICE < small->height - 1 ? y0 + LATTICE : small->height - 1;
    x0 = x0 < 1 ? 1 : x0;
    y0 = y0 < 1 ? 1 : y0;
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            steps[n] = sqrtf(
                step_squared(small->values + (size_t)y * (size_t)small->width + (size_t)x, small->width, &dx, &dy));
            sum += steps[n++];
        }
    float least = n ? fmaxf((float)STEP_LEAST, (float)STEP_OVER_MEAN * sum / (float)n) : 0;
    for (int y = y0, i = 0; y < y1; y++)
        for (int x = x0; x < x1; x++, i++)
            if (steps[i] >= least && take(small, scale, l, x, y, steps[i], s, room))
                return SW_NO_MEMORY;
    return SW_OK;
}

sw_status sw_strokes_find(const sw_small *small, const sw_scale *scale, sw_strokes *strokes, sw_error *err)
{
    lattice l = {0};
    size_t room = 0;
    sw_status status = SW_NO_MEMORY;
    memset(strokes, 0, sizeof *strokes);
    if (lattice_make(small, scale, &l))
        goto done;
    strokes->bin_mm = small->factor / scale->px_per_mm;
    for (int y = 0; y < small->height; y += LATTICE)
        for (int x = 0; x < small->width; x += LATTICE)
            if (take_cell(small, scale, &l, x, y, strokes, &room))
                goto done;
    status = SW_OK;
done:
    free(l.mm);
    if (status) {
        sw_strokes_free(strokes);
        return sw_fail(err, status, "not enough memory to look for the tiles");
    }
    return SW_OK;
}

void sw_strokes_free(sw_strokes *strokes)
{
    if (!strokes)
        return;
    free(strokes->items);
    memset(strokes, 0, sizeof *strokes);
}

/* Strokes near the squares, as plain arrays: away from them lies what is not the table. */
typedef struct nearby {
    float *x, *y, *gx, *gy, *weight;
    size_t count;
    double reach; /* farthest |x| or |y| */
} nearby;

/* Takes the strokes within radius_mm of a square's middle, at most MOST of them, evenly. */
static sw_status gather(const sw_strokes *s, const sw_scale *scale, double radius_mm, nearby *n)
{
    enum { MOST = 12000 };
    size_t every = s->count / (4 * MOST) + 1;
    memset(n, 0, sizeof *n);
    n->x = malloc((s->count / every + 1) * 5 * sizeof *n->x);
    if (!n->x)
        return SW_NO_MEMORY;
    size_t room = s->count / every + 1;
    n->y = n->x + room;
    n->gx = n->y + room;
    n->gy = n->gx + room;
    n->weight = n->gy + room;
    for (size_t i = 0; i < s->count; i += every) {
        const sw_stroke *p = &s->items[i];
        for (int k = 0; k < scale->square_count; k++) {
            if (sw_distance((sw_point){p->x, p->y}, sw_square_middle(&scale->squares[k])) > radius_mm)
                continue;
            size_t at = n->count++;
            n->x[at] = p->x;
            n->y[at] = p->y;
            n->gx[at] = p->gx;
            n->gy[at] = p->gy;
            n->weight[at] = p->weight;
            n->reach = fmax(n->reach, fmax(fabsf(p->x), fabsf(p->y)));
            break;
        }
    }
    return SW_OK;
}

/* How sharply the strokes gather in lines when the tiles' sides run at angle a: sum over bins of the square of what
 * stands out from the neighbouring bins, for the strokes whose gradient is nearly along or across. bins holds 2 * most.
 */
static double gathering(const nearby *s, double a, double bin_mm, double *bins, int most)
{
    float c = (float)cos(a), n = (float)sin(a), per = (float)(1 / bin_mm);
    double sum = 0;
    memset(bins, 0, (size_t)most * 2 * sizeof *bins);
    for (size_t i = 0; i < s->count; i++) {
        float gu = c * s->gx[i] + n * s->gy[i], gv = -n * s->gx[i] + c * s->gy[i];
        bool upright = fabsf(gv) < 0.12f;
        if (!upright && fabsf(gu) >= 0.12f)
            continue;
        float at = upright ? c * s->x[i] + n * s->y[i] : -n * s->x[i] + c * s->y[i];
        int bin = (int)(at * per) + most / 2;
        if (bin >= 0 && bin < most)
            bins[(upright ? 0 : most) + bin] += s->weight[i];
    }
    for (int i = 6; i < 2 * most - 6; i++) {
        double out = bins[i] - (bins[i - 6] + bins[i - 5] + bins[i + 5] + bins[i + 6]) / 4;
        sum += out > 0 ? out * out : 0;
    }
    return sum;
}

typedef struct candidate {
    double angle, score;
} candidate;

/* Puts a candidate among the best, which are kept at least six degrees apart (a quarter turn is the same direction). */
static void keep(candidate *kept, int *count, int most, candidate c)
{
    enum { SAME = 6 };
    for (int i = 0; i < *count; i++) {
        double apart = fabs(remainder(c.angle - kept[i].angle, M_PI / 2)) * 180 / M_PI;
        if (apart > SAME)
            continue;
        if (c.score <= kept[i].score)
            return;
        for (int k = i; k + 1 < *count; k++)
            kept[k] = kept[k + 1];
        (*count)--;
        i--;
    }
    int at = *count < most ? (*count)++ : most - 1;
    if (at == most - 1 && *count == most && kept[at].score > c.score && at > 0 && kept[at].score > 0)
        return;
    for (; at > 0 && kept[at - 1].score < c.score; at--)
        kept[at] = kept[at - 1];
    kept[at] = c;
}

/* How far bin i of a circular histogram, with its two neighbours, stands out from the four degrees on either side: wood
 * grain makes broad hills, straight sides make sharp peaks. */
static double stand_out(const double *histogram, int bins, int i)
{
    double near = 0, wide = 0;
    for (int k = -8; k <= 8; k++) {
        double v = histogram[(i + k + bins) % bins];
        near += abs(k) <= 1 ? v / 3 : 0;
        wide += abs(k) > 2 ? v / 12 : 0;
    }
    return fmax(0, near - wide);
}

/* Around each of a histogram's TRIES highest peaks, the angle at which the strokes gather best. */
static int best_angles(const nearby *n, double bin, double *bins, int most, candidate *kept, int room)
{
    enum { HISTOGRAM = 180, TRIES = 9, APART = 6 }; /* bins of half a degree over a quarter turn */
    double histogram[HISTOGRAM] = {0}, smooth[HISTOGRAM];
    int count = 0;
    for (size_t i = 0; i < n->count; i++) {
        double a = atan2f(n->gy[i], n->gx[i]) * (HISTOGRAM / (M_PI / 2));
        int k = (int)floor(a) % HISTOGRAM;
        histogram[k < 0 ? k + HISTOGRAM : k] += n->weight[i];
    }
    for (int i = 0; i < HISTOGRAM; i++)
        smooth[i] = stand_out(histogram, HISTOGRAM, i);
    for (int t = 0; t < TRIES; t++) {
        int peak = 0;
        for (int i = 1; i < HISTOGRAM; i++)
            if (smooth[i] > smooth[peak])
                peak = i;
        for (int k = -6; k <= 6; k++) {
            double a = (peak + 0.5 + k * 0.7) * (M_PI / 2) / HISTOGRAM;
            keep(kept, &count, room, (candidate){a, gathering(n, a, bin, bins, most)});
        }
        for (int k = -APART; k <= APART; k++)
            smooth[(peak + k + HISTOGRAM) % HISTOGRAM] = -1;
    }
    const double step = 0.1 * M_PI / 180;
    for (int i = 0; i < count; i++) {
        double from = kept[i].angle;
        for (int k = -3; k <= 3; k++) {
            double score = gathering(n, from + k * step, bin, bins, most);
            if (score > kept[i].score)
                kept[i] = (candidate){from + k * step, score};
        }
    }
    return count;
}

int sw_strokes_directions(const sw_strokes *s, const sw_scale *scale, double *angles)
{
    enum { ENOUGH = 400 };               /* strokes that show a direction */
    const double radii[] = {2.6, 5, 20}; /* of a square's side: its own tile's sides, then wider */
    double side = scale->reference.outer_x_mm, bin = fmax(1, s->bin_mm * 0.8);
    candidate kept[SW_DIRECTIONS];
    int count = 0;
    nearby n = {0};
    for (int i = 0; i < 3; i++) {
        free(n.x);
        if (gather(s, scale, radii[i] * side, &n))
            return 0;
        if (n.count >= ENOUGH)
            break;
    }
    int most = 2 * (int)(1.5 * n.reach / bin + 12);
    double *bins = malloc((size_t)most * 2 * sizeof *bins);
    if (bins && n.count)
        count = best_angles(&n, bin, bins, most, kept, SW_DIRECTIONS);
    for (int i = 0; i < count; i++)
        angles[i] = kept[i].angle;
    free(bins);
    free(n.x);
    return count;
}
