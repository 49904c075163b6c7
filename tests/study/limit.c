#include "study/limit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "study/walls.h"

/* Square pixels alone blur by this variance, px^2. */
static const double PIXEL_VARIANCE = 1.0 / 12;
/* Slices of a slot; its light changes fastest at the rims, where they close up. */
enum { SLICES = 240 };
/* The response to a step is tabulated this finely (linear between: wrong by under 4e-6) and this far, px. */
enum { STEP_PER = 256, STEP_REACH = 12, STEP_GRID = 2 * STEP_PER * STEP_REACH + 2 };
/* A slant below this counts as this: what it changes is far below 1e-6, and differences stay exact. */
static const double LEAST_SLOPE = 1e-3;
/* Differences for the derivatives: small against what changes the shape of the light, large against rounding. */
static const double DELTA[LIMIT_NUMBERS] = {[LIMIT_CENTRE] = 1.0 / 64,
                                            [LIMIT_WIDTH] = 1.0 / 64,
                                            [LIMIT_OWN + SW_LIGHT_SHARE] = 0.01,
                                            [LIMIT_OWN + SW_LIGHT_WALL] = 0.01,
                                            [LIMIT_OWN + SW_LIGHT_TANGENT] = 0.004,
                                            [LIMIT_OWN + SW_LIGHT_SLANT] = 0.02,
                                            [LIMIT_OWN + SW_LIGHT_NEAR] = 2e-4,
                                            [LIMIT_OWN + SW_LIGHT_ALBEDO] = 0.01,
                                            [LIMIT_OWN + SW_LIGHT_PENUMBRA] = 0.01,
                                            [LIMIT_OWN + SW_LIGHT_EVEN] = 0.005,
                                            [LIMIT_OWN + SW_LIGHT_BLUR] = 0.01};
/* Places of the slot between the pixels over which a bound is averaged. */
enum { PHASES = 16 };
/* What lies this many blurs outside the rims knows nothing of them. */
static const double BLURS_OUTSIDE = 6;

/* Integral over x of the integral of the standard normal distribution. */
static double twice_integrated(double x)
{
    return 0.5 * ((x * x + 1) * 0.5 * erfc(-x / M_SQRT2) + x * exp(-0.5 * x * x) / sqrt(2 * M_PI));
}

/* A unit step behind a Gaussian lens, summed over a pixel 1 wide and, as the step moves by `slope` over its height, a
 * second box of that width. */
static double step_at(double x, double sigma, double slope)
{
    double a = 0.5 + slope / 2, b = 0.5 - slope / 2;
    return sigma * sigma / slope *
           (twice_integrated((x + a) / sigma) - twice_integrated((x + b) / sigma) - twice_integrated((x - b) / sigma) +
            twice_integrated((x - a) / sigma));
}

static double read_step(const double *step, double x)
{
    double at = (x + STEP_REACH) * STEP_PER;
    if (at <= 0)
        return 0;
    if (at >= STEP_GRID - 1)
        return 1;
    int i = (int)at;
    return step[i] + (at - i) * (step[i + 1] - step[i]);
}

static double stretch_of(double slope)
{
    return 1 / sqrt(1 + slope * slope);
}

/* One slice of a slot: from `from` to `to`, px along the row from the middle, and its light. */
typedef struct slice {
    double from, to, light;
} slice;

static double wall_at(const walls *w, int side, double u)
{
    return walls_direct(w, side, u) + walls_passed(w, side, u);
}

/* At the share q from the far rim the camera sees the far wall at depth q / t, and, where that leans out, the near one at
 * (1 - q) / t of its own; each in units of its own top. */
static void cut_slices(const limit_slot *s, slice *slices)
{
    double far = s->far_high ? s->high : s->low, near = s->far_high ? s->low : s->high,
           width = s->width_px / stretch_of(s->slope);
    sw_slot_other other = s->other;
    walls w;
    other.top_ratio = near / far;
    walls_light(&s->light, &other, &w);
    for (int i = 0; i < SLICES; i++) {
        double a = 0.5 - 0.5 * cos(M_PI * i / SLICES), b = 0.5 - 0.5 * cos(M_PI * (i + 1) / SLICES);
        double q = s->far_high ? 1 - (a + b) / 2 : (a + b) / 2;
        slices[i].from = (a - 0.5) * width;
        slices[i].to = (b - 0.5) * width;
        slices[i].light = far * (wall_at(&w, WALLS_FAR, q / s->light.tangent) + s->light.even) +
                          near * wall_at(&w, WALLS_NEAR, (1 - q) / s->light.near);
    }
}

void limit_draw(const limit_slot *s, limit_curve *curve)
{
    double step[STEP_GRID], slope = fmax(fabs(s->slope), LEAST_SLOPE), stretch = stretch_of(s->slope);
    double blur = s->blur_px * exp(s->light.blur), lens = sqrt(blur * blur - PIXEL_VARIANCE) / stretch;
    slice slices[SLICES];
    cut_slices(s, slices);
    for (int i = 0; i < STEP_GRID; i++)
        step[i] = step_at((double)i / STEP_PER - STEP_REACH, lens, slope);
    for (int i = 0; i < LIMIT_GRID; i++) {
        double x = (double)i / LIMIT_PER - LIMIT_HALF, before = read_step(step, x - slices[0].from), first = before;
        curve->v[i] = 0;
        for (int k = 0; k < SLICES; k++) {
            double after = read_step(step, x - slices[k].to);
            curve->v[i] += slices[k].light * (before - after);
            before = after;
        }
        curve->v[i] += s->low * (1 - first) + s->high * before;
    }
}

/* Cubic through the four nearest (Catmull-Rom). */
double limit_at(const limit_curve *curve, double x)
{
    double at = (x + LIMIT_HALF) * LIMIT_PER;
    int i = (int)floor(at);
    double t = at - i;
    const double *p = curve->v + i;
    return p[0] +
           0.5 * t *
               (p[1] - p[-1] + t * (2 * p[-1] - 5 * p[0] + 4 * p[1] - p[2] + t * (3 * (p[0] - p[1]) + p[2] - p[-1])));
}

limit_model *limit_make(const limit_slot *slot)
{
    limit_model *m = malloc(sizeof *m);
    if (!m)
        return NULL;
    m->reach = (slot->width_px / 2 + BLURS_OUTSIDE * slot->blur_px) / stretch_of(slot->slope);
    limit_draw(slot, &m->here);
    for (int side = 0; side < 2; side++) {
        double way = side ? 1 : -1;
        for (int n = LIMIT_WIDTH; n < LIMIT_NUMBERS; n++) {
            limit_slot s = *slot;
            *(n == LIMIT_WIDTH ? &s.width_px : &s.light.number[n - LIMIT_OWN]) += way * DELTA[n];
            limit_draw(&s, &m->moved[n][side]);
        }
    }
    return m;
}

void limit_add_row(const limit_model *m, double middle, double sigma, double information[LIMIT_NUMBERS][LIMIT_NUMBERS])
{
    for (int px = (int)ceil(middle - m->reach); px <= middle + m->reach; px++) {
        double x = px - middle, by[LIMIT_NUMBERS];
        for (int n = 0; n < LIMIT_NUMBERS; n++) {
            double d = DELTA[n];
            if (n == LIMIT_CENTRE)
                by[n] = (limit_at(&m->here, x - d) - limit_at(&m->here, x + d)) / (2 * d);
            else
                by[n] = (limit_at(&m->moved[n][1], x) - limit_at(&m->moved[n][0], x)) / (2 * d);
        }
        for (int i = 0; i < LIMIT_NUMBERS; i++)
            for (int j = 0; j < LIMIT_NUMBERS; j++)
                information[i][j] += by[i] * by[j] / (sigma * sigma);
    }
}

/* Inverse of the station's own block and, in by, d own / d shared with the own numbers refitted. */
static int refit_own(double all[LIMIT_NUMBERS][LIMIT_NUMBERS], double centre_sd, double *inverse,
                     double by[LIMIT_OWN][SW_LIGHT_NUMBERS])
{
    for (int i = 0; i < LIMIT_OWN; i++)
        for (int j = 0; j < LIMIT_OWN; j++)
            inverse[i * LIMIT_OWN + j] = all[i][j];
    inverse[LIMIT_CENTRE * LIMIT_OWN + LIMIT_CENTRE] += 1 / (centre_sd * centre_sd);
    if (sw_cholesky_invert(inverse, LIMIT_OWN))
        return -1;
    for (int i = 0; i < LIMIT_OWN; i++)
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
            by[i][p] = 0;
            for (int j = 0; j < LIMIT_OWN; j++)
                by[i][p] -= inverse[i * LIMIT_OWN + j] * all[j][LIMIT_OWN + p];
        }
    return 0;
}

/* Adds to the shared numbers' information what `weight` such stations tell of them. */
static void add_shared(double all[LIMIT_NUMBERS][LIMIT_NUMBERS], double by[LIMIT_OWN][SW_LIGHT_NUMBERS], double weight,
                       double shared[SW_LIGHT_NUMBERS * SW_LIGHT_NUMBERS])
{
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        for (int q = 0; q < SW_LIGHT_NUMBERS; q++) {
            double sum = all[LIMIT_OWN + p][LIMIT_OWN + q];
            for (int i = 0; i < LIMIT_OWN; i++)
                sum += all[i][LIMIT_OWN + p] * by[i][q];
            shared[p * SW_LIGHT_NUMBERS + q] += weight * sum;
        }
}

int limit_of(const limit_model *m, const limit_seam *seam, limit_bound *bound)
{
    double shared[SW_LIGHT_NUMBERS * SW_LIGHT_NUMBERS], pull[SW_LIGHT_NUMBERS] = {0};
    memset(bound, 0, sizeof *bound);
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++) /* the light's alone, not the shape's */
        memcpy(shared + p * SW_LIGHT_NUMBERS, seam->prior->inverse[p], SW_LIGHT_NUMBERS * sizeof *shared);
    for (int k = 0; k < PHASES; k++) {
        double all[LIMIT_NUMBERS][LIMIT_NUMBERS] = {{0}}, inverse[LIMIT_OWN * LIMIT_OWN],
               by[LIMIT_OWN][SW_LIGHT_NUMBERS];
        for (int row = 0; row < seam->rows; row++)
            limit_add_row(m, (double)k / PHASES + row * seam->slope, seam->sigma, all);
        if (refit_own(all, seam->centre_sd, inverse, by))
            return -1;
        bound->own += inverse[LIMIT_WIDTH * LIMIT_OWN + LIMIT_WIDTH] / PHASES;
        add_shared(all, by, (double)seam->stations / PHASES, shared);
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
            pull[p] += by[LIMIT_WIDTH][p] / PHASES;
    }
    if (sw_cholesky_invert(shared, SW_LIGHT_NUMBERS))
        return -1;
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        for (int q = 0; q < SW_LIGHT_NUMBERS; q++)
            bound->common += pull[p] * shared[p * SW_LIGHT_NUMBERS + q] * pull[q];
    return 0;
}

double limit_closed(double width_px, double blur_px, double contrast, double sigma, double rows)
{
    double u = width_px / blur_px;
    return 2 * pow(M_PI, 0.25) * sigma / contrast * sqrt(blur_px / rows) / sqrt(1 + exp(-u * u / 4));
}
