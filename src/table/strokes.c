#include "strokes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "stats.h"

/* A step counts from this share of the local brightness on (stored values; a 0.1 mm slit in a reduced pixel of 1.4 mm makes
 * about 0.04), and weighs fully from STEP_FULL on. */
static const double STEP_LEAST = 0.012, STEP_FULL = 0.05;
/* On a textured table a step must also stand out from the usual ones. */
static const double STEP_OVER_MEDIAN = 2.2;
/* Keeps the share from growing without bound in the dark; 0 to 65535. */
#define DARK_FLOOR 2000.0f
/* White margin around a card, mm, plus its own edge on the tile. */
static const double CARD_MARGIN_MM = 20;
/* Lattice on which the map from pixels to mm is worked out, reduced pixels; between its nodes it is interpolated (the map
 * bends by under 0.05 mm over this distance). */
enum { LATTICE = 16 };

typedef struct lattice {
    int columns, rows;
    sw_point *mm;
} lattice;

static int lattice_make(const sw_small *small, const sw_scale *scale, lattice *l)
{
    l->columns = small->width / LATTICE + 2;
    l->rows = small->height / LATTICE + 2;
    l->mm = malloc((size_t)l->columns * (size_t)l->rows * sizeof *l->mm);
    if (!l->mm)
        return -1;
    for (int j = 0; j < l->rows; j++)
        for (int i = 0; i < l->columns; i++) {
            sw_point at = {i * LATTICE, j * LATTICE};
            l->mm[j * l->columns + i] = sw_scale_to_mm(scale, sw_small_to_photo(small, at));
        }
    return 0;
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

static int on_card(const sw_scale *scale, sw_point mm)
{
    for (int s = 0; s < scale->square_count; s++) {
        const sw_point *c = scale->squares[s].corners_mm;
        double cx = (c[0].x + c[2].x) / 2, cy = (c[0].y + c[2].y) / 2;
        double ex = (c[1].x - c[0].x), ey = (c[1].y - c[0].y), side = hypot(ex, ey);
        double u = ((mm.x - cx) * ex + (mm.y - cy) * ey) / side, v = (-(mm.x - cx) * ey + (mm.y - cy) * ex) / side;
        if (fabs(u) < side / 2 + CARD_MARGIN_MM && fabs(v) < side / 2 + CARD_MARGIN_MM)
            return 1;
    }
    return 0;
}

static int add(sw_strokes *s, size_t *room, sw_stroke item)
{
    if (s->count == *room) {
        size_t more = *room ? *room * 2 : 32768;
        sw_stroke *items = realloc(s->items, more * sizeof *items);
        if (!items)
            return -1;
        s->items = items;
        *room = more;
    }
    s->items[s->count++] = item;
    return 0;
}

/* Square of the step at a pixel, as a share of its brightness. */
static inline float step_squared(const uint16_t *at, int width, int *dx, int *dy)
{
    *dx = at[1] - at[-1];
    *dy = at[width] - at[-width];
    float level = (float)at[0] + DARK_FLOOR, fx = (float)*dx, fy = (float)*dy;
    return (fx * fx + fy * fy) / (level * level);
}

/* The step that noise and texture reach at half of the picture's places: the median over a sparse sample. */
static double median_step(const sw_small *small)
{
    enum { SAMPLE = 4096 };
    double steps[SAMPLE];
    size_t n = 0;
    int w = small->width, h = small->height, every = (int)((size_t)w * (size_t)h / SAMPLE) + 1;
    for (int i = 0; n < SAMPLE && i < w * h; i += every) {
        int x = i % w, y = i / w, dx, dy;
        if (x > 0 && y > 0 && x < w - 1 && y < h - 1)
            steps[n++] = sqrt(step_squared(small->values + i, w, &dx, &dy));
    }
    return n ? sw_median(steps, n) : 0;
}

/* Takes the pixel in if its step is clear. */
static int take(const sw_small *small, const sw_scale *scale, const lattice *l, int x, int y, double least, sw_strokes *s,
                size_t *room)
{
    int dx, dy;
    double step2 = step_squared(small->values + (size_t)y * (size_t)small->width + (size_t)x, small->width, &dx, &dy);
    if (step2 < least * least)
        return 0;
    double map[4], step = sqrt(step2);
    sw_point mm = lattice_at(l, x, y, map);
    /* Brightness as a function of mm: gradient_px = map^T gradient_mm. */
    double det = map[0] * map[3] - map[1] * map[2];
    double gx = (map[3] * dx - map[2] * dy) / det, gy = (-map[1] * dx + map[0] * dy) / det, g = hypot(gx, gy);
    if (!(g > 0) || on_card(scale, mm))
        return 0;
    sw_stroke item = {(float)mm.x, (float)mm.y, (float)(gx / g), (float)(gy / g), (float)fmin(1, step / STEP_FULL)};
    return add(s, room, item);
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
    double least = fmax(STEP_LEAST, STEP_OVER_MEDIAN * median_step(small));
    for (int y = 1; y < small->height - 1; y++)
        for (int x = 1; x < small->width - 1; x++)
            if (take(small, scale, &l, x, y, least, strokes, &room))
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
static int gather(const sw_strokes *s, const sw_scale *scale, double radius_mm, nearby *n)
{
    enum { MOST = 12000 };
    size_t every = s->count / (4 * MOST) + 1;
    memset(n, 0, sizeof *n);
    n->x = malloc((s->count / every + 1) * 5 * sizeof *n->x);
    if (!n->x)
        return -1;
    size_t room = s->count / every + 1;
    n->y = n->x + room;
    n->gx = n->y + room;
    n->gy = n->gx + room;
    n->weight = n->gy + room;
    for (size_t i = 0; i < s->count; i += every) {
        const sw_stroke *p = &s->items[i];
        for (int k = 0; k < scale->square_count; k++) {
            const sw_point *c = scale->squares[k].corners_mm;
            if (hypot(p->x - (c[0].x + c[2].x) / 2, p->y - (c[0].y + c[2].y) / 2) > radius_mm)
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
    return 0;
}

/* How sharply the strokes gather in lines when the tiles' sides run at angle a: sum over bins of the square of what stands out
 * from the neighbouring bins, for the strokes whose gradient is nearly along or across. bins holds 2 * most. */
static double gathering(const nearby *s, double a, double bin_mm, double *bins, int most)
{
    float c = (float)cos(a), n = (float)sin(a), per = (float)(1 / bin_mm);
    double sum = 0;
    memset(bins, 0, (size_t)most * 2 * sizeof *bins);
    for (size_t i = 0; i < s->count; i++) {
        float gu = c * s->gx[i] + n * s->gy[i], gv = -n * s->gx[i] + c * s->gy[i];
        int upright = fabsf(gv) < 0.12f;
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

/* The angle, of a histogram's TRIES highest peaks and their neighbourhoods, at which the strokes gather best. */
static double best_angle(const nearby *n, double bin, double *bins, int most)
{
    enum { HISTOGRAM = 180, TRIES = 6 }; /* bins of half a degree over a quarter turn */
    double histogram[HISTOGRAM] = {0}, smooth[HISTOGRAM], best = 0, best_score = -1;
    for (size_t i = 0; i < n->count; i++) {
        double a = atan2f(n->gy[i], n->gx[i]) * (HISTOGRAM / (M_PI / 2));
        int k = (int)floor(a) % HISTOGRAM;
        histogram[k < 0 ? k + HISTOGRAM : k] += n->weight[i];
    }
    for (int i = 0; i < HISTOGRAM; i++)
        smooth[i] = histogram[(i + HISTOGRAM - 1) % HISTOGRAM] + 2 * histogram[i] + histogram[(i + 1) % HISTOGRAM];
    for (int t = 0; t < TRIES; t++) {
        int peak = 0;
        for (int i = 1; i < HISTOGRAM; i++)
            if (smooth[i] > smooth[peak])
                peak = i;
        for (int k = -2; k <= 2; k++) {
            double a = (peak + 0.5 + k * 0.6) * (M_PI / 2) / HISTOGRAM, score = gathering(n, a, bin, bins, most);
            if (score > best_score) {
                best_score = score;
                best = a;
            }
        }
        for (int k = -3; k <= 3; k++)
            smooth[(peak + k + HISTOGRAM) % HISTOGRAM] = 0;
    }
    const double step = 0.12 * M_PI / 180;
    double from = best;
    for (int k = -3; k <= 3; k++) {
        double score = gathering(n, from + k * step, bin, bins, most);
        if (score > best_score) {
            best_score = score;
            best = from + k * step;
        }
    }
    return best;
}

double sw_strokes_direction(const sw_strokes *s, const sw_scale *scale)
{
    enum { ENOUGH = 400 }; /* strokes that show a direction */
    const double radii[] = {2.6, 5, 20}; /* of a square's side: its own tile's sides, then wider */
    double side = scale->reference.outer_x_mm, bin = fmax(1, s->bin_mm * 0.8), angle = 0;
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
        angle = best_angle(&n, bin, bins, most);
    free(bins);
    free(n.x);
    return angle > M_PI / 4 ? angle - M_PI / 2 : angle;
}
