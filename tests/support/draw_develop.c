/* From a drawing to a photo: light, blur, noise and the camera's own curve. */
#include "support/draw.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Clipping by a line adds one corner at the most. */
enum { CORNERS_MOST = DRAW_CORNERS_MOST + 4 };

/* The part of a convex polygon with sign (coordinate - limit) >= 0; axis 0: x, 1: y. Returns its corners' count. */
static int clip(const sw_point *p, int n, int axis, double limit, double sign, sw_point *out)
{
    int kept = 0;
    for (int i = 0; i < n; i++) {
        sw_point a = p[i], b = p[(i + 1) % n];
        double da = sign * ((axis ? a.y : a.x) - limit), db = sign * ((axis ? b.y : b.x) - limit);
        if (da >= 0)
            out[kept++] = a;
        if ((da < 0) != (db < 0)) {
            double part = da / (da - db);
            out[kept++] = (sw_point){a.x + part * (b.x - a.x), a.y + part * (b.y - a.y)};
        }
    }
    return kept;
}

/* Shoelace, about the first corner so that no digits are lost far from the origin. */
static double area(const sw_point *p, int n)
{
    double twice = 0;
    for (int i = 1; i + 1 < n; i++)
        twice += (p[i].x - p[0].x) * (p[i + 1].y - p[0].y) - (p[i].y - p[0].y) * (p[i + 1].x - p[0].x);
    return fabs(twice) / 2;
}

static void mix(float *at, double cover, double light)
{
    *at = (float)(*at + cover * (light - *at));
}

/* Left and right end of a convex polygon on the level line y. 0 when it does not reach it. */
static int span(const sw_point *p, int n, double y, double *left, double *right)
{
    *left = INFINITY;
    *right = -INFINITY;
    for (int i = 0; i < n; i++) {
        sw_point a = p[i], b = p[(i + 1) % n];
        if ((a.y < y) == (b.y < y))
            continue;
        double x = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
        *left = fmin(*left, x);
        *right = fmax(*right, x);
    }
    return *left <= *right;
}

/* One row of a polygon, pixel (x, y) reaching half to either side of its place. Between the two ends that both the
 * row's upper and its lower border share, a convex polygon covers pixels wholly. */
static void fill_row(float *row, int width, const sw_point *px, int n, int y, double light)
{
    sw_point strip[CORNERS_MOST], half[CORNERS_MOST], cell[CORNERS_MOST];
    int k = clip(px, n, 1, y - 0.5, 1, half);
    k = clip(half, k, 1, y + 0.5, -1, strip);
    if (k < 3)
        return;
    double x0 = INFINITY, x1 = -INFINITY, l0, r0, l1, r1, full_from = 1, full_to = 0;
    for (int i = 0; i < k; i++) {
        x0 = fmin(x0, strip[i].x);
        x1 = fmax(x1, strip[i].x);
    }
    if (span(px, n, y - 0.5, &l0, &r0) && span(px, n, y + 0.5, &l1, &r1)) {
        full_from = fmax(l0, l1) + 0.5;
        full_to = fmin(r0, r1) - 0.5;
    }
    int from = (int)fmax(0, floor(x0 + 0.5)), to = (int)fmin(width - 1, ceil(x1 - 0.5));
    for (int x = from; x <= to; x++) {
        if (x >= full_from && x <= full_to) {
            int end = (int)fmin(to, floor(full_to));
            for (; x <= end; x++)
                row[x] = (float)light;
            x = end;
            continue;
        }
        int m = clip(strip, k, 0, x - 0.5, 1, half);
        m = clip(half, m, 0, x + 0.5, -1, cell);
        if (m >= 3)
            mix(&row[x], area(cell, m), light);
    }
}

/* Gaussian along lines of `length` values `step` apart; `lines` of them `line_step` apart. Outside repeats the rim. */
static void smooth_lines(float *values, int length, size_t step, int lines, size_t line_step, double sigma)
{
    enum { REACH_MOST = 64 };
    int reach = (int)fmin(REACH_MOST, ceil(5 * sigma));
    float *copy = draw_room((size_t)(length + 2 * reach), sizeof *copy), tap[REACH_MOST + 1];
    double sum = 0;
    for (int k = 0; k <= reach; k++) {
        double w = exp(-0.5 * k * k / (sigma * sigma));
        tap[k] = (float)w;
        sum += k ? 2 * w : w;
    }
    for (int k = 0; k <= reach; k++)
        tap[k] = (float)(tap[k] / sum);
    for (int line = 0; line < lines; line++) {
        float *v = values + (size_t)line * line_step;
        for (int i = -reach; i < length + reach; i++)
            copy[i + reach] = v[(size_t)(i < 0 ? 0 : i >= length ? length - 1 : i) * step];
        for (int i = 0; i < length; i++) {
            const float *at = copy + i + reach;
            float mean = tap[0] * at[0];
            for (int k = 1; k <= reach; k++)
                mean += tap[k] * (at[-k] + at[k]);
            v[(size_t)i * step] = mean;
        }
    }
    free(copy);
}

static void smooth(float *values, int width, int height, double sigma)
{
    if (!(sigma > 0))
        return;
    smooth_lines(values, width, 1, height, (size_t)width, sigma);
    smooth_lines(values, height, (size_t)width, width, 1, sigma);
}

/* The picture is laid out FINE times finer each way, and every pixel is the sum of what lies round it, weighted by the blur
 * and the pixel's own area together: first along the fine rows, then across them. */
enum { FINE = 3, TAPS_MOST = 120 };

typedef struct lens {
    int reach; /* fine pixels on either side */
    float tap[2 * TAPS_MOST + 1];
} lens;

static void make_lens(double blur_px, lens *l)
{
    double sigma = blur_px * FINE, weight[2 * TAPS_MOST + 1], sum = 0;
    l->reach = (int)fmin(TAPS_MOST, ceil(5 * sigma) + FINE / 2);
    for (int k = -l->reach; k <= l->reach; k++) {
        double w = 0;
        for (int j = -(FINE / 2); j <= FINE / 2; j++)
            w += sigma > 0 ? exp(-0.5 * (k - j) * (k - j) / (sigma * sigma)) : k == j;
        weight[k + l->reach] = w;
        sum += w;
    }
    for (int k = 0; k <= 2 * l->reach; k++)
        l->tap[k] = (float)(weight[k] / sum);
}

static float weigh(const lens *l, const float *first)
{
    float sum = 0;
    for (int k = 0; k <= 2 * l->reach; k++)
        sum += l->tap[k] * first[k];
    return sum;
}

/* One fine row, its rims repeated for `reach` places on either side, summed up into `width` pixels. Where all that a
 * pixel sees is of one brightness there is nothing to sum. */
static void expose_row(const drawing *d, const lens *l, int fine_y, float *row, float *out)
{
    int width = d->view.width_px, fine = width * FINE, all = fine + 2 * l->reach;
    for (int i = 0; i < all; i++)
        row[i] = (float)d->light;
    for (int p = 0; p < d->count; p++) {
        sw_point px[DRAW_CORNERS_MOST];
        for (int i = 0; i < d->pieces[p].count; i++)
            px[i] = (sw_point){(d->pieces[p].px[i].x + 0.5) * FINE - 0.5, (d->pieces[p].px[i].y + 0.5) * FINE - 0.5};
        fill_row(row + l->reach, fine, px, d->pieces[p].count, fine_y, d->pieces[p].light);
    }
    for (int i = 0; i < l->reach; i++) {
        row[i] = row[l->reach];
        row[all - 1 - i] = row[all - 1 - l->reach];
    }
    int even = 0; /* for how many places before this one the row has been of one brightness */
    for (int i = 0, x = 0; x < width; i++) {
        even = i > 0 && row[i] == row[i - 1] ? even + 1 : 0;
        int first = i - 2 * l->reach;
        if (first == x * FINE + FINE / 2)
            out[x++] = even >= 2 * l->reach ? row[first] : weigh(l, row + first);
    }
}

/* The rows that a pixel row sees, one of them new at a time: row i stands at place i modulo count. */
typedef struct window {
    int count, width;
    float *rows;
    int *even; /* for how many rows up to the newest each column has been of one brightness */
} window;

static float *window_row(const window *w, int i)
{
    return w->rows + (size_t)(i % w->count) * (size_t)w->width;
}

static void count_even(window *w, int newest)
{
    const float *now = window_row(w, newest), *before = window_row(w, newest + w->count - 1);
    for (int x = 0; x < w->width; x++)
        w->even[x] = now[x] == before[x] ? w->even[x] + 1 : 1;
}

static void add_row(float *restrict sum, const float *restrict row, float weight, int width)
{
    for (int x = 0; x < width; x++)
        sum[x] += weight * row[x];
}

/* A pixel row from the whole window, whose newest row this is. */
static void expose_pixels(const lens *l, const window *w, int newest, float *light)
{
    for (int k = 0; k <= 2 * l->reach; k++)
        add_row(light, window_row(w, newest + 1 + k), l->tap[k], w->width);
    const float *last = window_row(w, newest);
    for (int x = 0; x < w->width; x++)
        light[x] = w->even[x] >= w->count ? last[x] : light[x];
}

/* Linear light of all pixels. Fine rows outside the picture repeat its rim. */
static float *expose(const drawing *d)
{
    int width = d->view.width_px, height = d->view.height_px;
    lens l;
    make_lens(d->blur_px, &l);
    int all = width * FINE + 2 * l.reach;
    window w = {.count = 2 * l.reach + 1, .width = width};
    w.rows = draw_room((size_t)w.count * (size_t)width, sizeof *w.rows);
    w.even = draw_room((size_t)width, sizeof *w.even);
    float *light = draw_room((size_t)width * (size_t)height, sizeof *light), *row = draw_room((size_t)all, sizeof *row);
    for (int i = 0; i < height * FINE + 2 * l.reach; i++) {
        int y = i - l.reach;
        expose_row(d, &l, y < 0 ? 0 : y >= height * FINE ? height * FINE - 1 : y, row, window_row(&w, i));
        count_even(&w, i);
        int done = i - 2 * l.reach - FINE / 2; /* the pixel row's first fine row, of those it is centred on */
        if (done >= 0 && done % FINE == 0)
            expose_pixels(&l, &w, i, light + (size_t)(done / FINE) * (size_t)width);
    }
    free(row);
    free(w.even);
    free(w.rows);
    return light;
}

/* IEC 61966-2-1, both ways. */
static double encode(double linear)
{
    return linear <= 0.0031308 ? 12.92 * fmax(linear, 0) : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

static double decode(double encoded)
{
    return encoded <= 0.04045 ? encoded / 12.92 : pow((encoded + 0.055) / 1.055, 2.4);
}

/* Near enough to normal, standard deviation 1: four 16-bit parts of one 64-bit number (Knuth's MMIX generator), summed.
 */
static double deviate(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    uint64_t v = *state ^ (*state >> 29);
    double sum = (double)((v & 65535) + ((v >> 16) & 65535) + ((v >> 32) & 65535) + (v >> 48));
    return (sum / 65535 - 2) * sqrt(3.0);
}

/* The curve as a table, linear between its points: within 1e-6 of it, and ten times as fast. */
enum { CURVE = 1 << 16 };
static float *make_curve(void)
{
    float *curve = draw_room(CURVE + 2, sizeof *curve);
    for (int i = 0; i <= CURVE + 1; i++)
        curve[i] = (float)encode((double)i / CURVE);
    return curve;
}

static void sharpen(float *stored, const draw_view *view, double amount, double radius_px)
{
    size_t n = (size_t)view->width_px * (size_t)view->height_px;
    if (amount == 0)
        return;
    float *soft = draw_room(n, sizeof *soft);
    memcpy(soft, stored, n * sizeof *soft);
    smooth(soft, view->width_px, view->height_px, radius_px);
    for (size_t i = 0; i < n; i++)
        stored[i] += (float)amount * (stored[i] - soft[i]);
    free(soft);
}

void draw_develop(const drawing *d, const draw_camera *camera, sw_photo *photo)
{
    size_t n = (size_t)d->view.width_px * (size_t)d->view.height_px;
    uint32_t top = camera->bits == 16 ? 65535 : 255;
    uint64_t state = camera->seed;
    float *stored = expose(d), *curve = make_curve();
    for (size_t i = 0; i < n; i++) {
        double light = stored[i] * (camera->noise > 0 ? 1 + camera->noise * deviate(&state) : 1);
        double at = CURVE * (light < 0 ? 0 : light > 1 ? 1 : light);
        int k = (int)at;
        double v = curve[k] + (at - k) * (curve[k + 1] - curve[k]);
        stored[i] = (float)(v + 2 * camera->contrast * v * (1 - v) * (v - 0.5));
    }
    free(curve);
    sharpen(stored, &d->view, camera->sharpen, camera->radius_px);
    sharpen(stored, &d->view, camera->soften_px > 0 ? -1 : 0, camera->soften_px);
    *photo = (sw_photo){.width_px = d->view.width_px,
                        .height_px = d->view.height_px,
                        .bits = camera->bits == 16 ? 16 : 8,
                        .orientation = 1,
                        .file = "drawing"};
    photo->linear = draw_room((size_t)top + 1, sizeof *photo->linear);
    for (uint32_t v = 0; v <= top; v++)
        photo->linear[v] = (float)decode((double)v / top);
    photo->luma8 = top == 255 ? draw_room(n, 1) : NULL;
    photo->luma16 = top == 255 ? NULL : draw_room(n, sizeof *photo->luma16);
    for (size_t i = 0; i < n; i++) {
        double v = fmin(1, fmax(0, stored[i])) * top + 0.5;
        if (top == 255)
            photo->luma8[i] = (uint8_t)v;
        else
            photo->luma16[i] = (uint16_t)v;
    }
    free(stored);
}
