/* lens_check.c - a profile against the photo's own lens.
 *
 * A scale without a profile (cards, seams and edges alone) states honestly what it does not know of the lens. Distances of a
 * lattice of points of the photo, d under the profile less those under the own scale, must then be explained by both scales'
 * alternatives, the columns of A: least of |d - A z|^2 / s^2 + |z|^2, which for a right profile is chi-square of the directions that tell
 * (20 or so at most). Distances do not depend on where a scale's frame lies. */
#include "inspect/lens_check.h"

#include <math.h>
#include <stdlib.h>

#include "maths/lsq.h"
#include "scale/frame.h"

enum { SIDE = 5, DISTANCES = 2 * SIDE * (SIDE - 1) + 2 * (SIDE - 1) * (SIDE - 1), MOST = 2 * SW_SCALE_ALTERNATIVES };
/* What no alternative explains, as they are straight directions of a bent space: s, mm. */
static const double FLOOR_MM = 0.02;
/* A camera that would have to be skewed shows in the misfit only: right profiles make it up to 1.1 times that of the own lens. */
static const double MISFIT_GROWS = 2;
/* Cards that fit by no lens widen both scales until the squares say nothing; so much (chance: 1.8), and so many times more by the profile, is the
 * profile's. */
static const double MISFIT_MOST = 3, MISFIT_WORSE = 1.5;
/* Sums of squares beyond which the profile is refused, with several cards and with one; and how much worse than without it several cards
 * must fit (right profiles: up to 1.04 times). Seen on 59 photos of the study and on practice photos. */
static const double SQUARES_MOST = 12, SQUARES_ONE_CARD = 200, RESIDUAL_GROWS = 1.05;

static void lattice(const sw_scale *scale, double width_mm, double height_mm, sw_point px[SIDE * SIDE])
{
    for (int i = 0; i < SIDE * SIDE; i++)
        px[i] = sw_scale_to_px(
            scale, (sw_point){width_mm * (i % SIDE) / (SIDE - 1.0), -height_mm * (double)(i / SIDE) / (SIDE - 1.0)});
}

/* Between neighbours, along rows, columns and both diagonals. */
static void distances(const sw_scale *scale, const sw_point *px, double *out)
{
    static const int way[4][2] = {{1, 0}, {0, 1}, {1, 1}, {-1, 1}};
    sw_point mm[SIDE * SIDE];
    for (int i = 0; i < SIDE * SIDE; i++)
        mm[i] = sw_scale_to_mm(scale, px[i]);
    for (int w = 0; w < 4; w++)
        for (int i = 0; i < SIDE * SIDE; i++) {
            int x = i % SIDE + way[w][0], y = i / SIDE + way[w][1];
            if (x >= 0 && x < SIDE && y < SIDE)
                *out++ = hypot(mm[y * SIDE + x].x - mm[i].x, mm[y * SIDE + x].y - mm[i].y);
        }
}

/* How the distances change along the scale's alternatives, in units of the floor: one column after the other. */
static int add_columns(const sw_scale *scale, const sw_point *px, const double *here, double *columns)
{
    for (int i = 0; i < scale->alternative_count; i++) {
        sw_scale other;
        sw_scale_take_alternative(scale, i, &other);
        distances(&other, px, columns + i * DISTANCES);
        for (int k = 0; k < DISTANCES; k++)
            columns[i * DISTANCES + k] = (columns[i * DISTANCES + k] - here[k]) / FLOOR_MM;
    }
    return scale->alternative_count;
}

/* Least of |d - A z|^2 + |z|^2, which is d.d - d.A z at z = (I + A'A)^-1 A'd. */
static double least(const double *d, const double *columns, int n)
{
    double a[MOST * MOST], b[MOST], z[MOST], sum = 0;
    for (int i = 0; i < n; i++) {
        b[i] = 0;
        for (int k = 0; k < DISTANCES; k++)
            b[i] += columns[i * DISTANCES + k] * d[k];
        z[i] = b[i];
        for (int j = 0; j < n; j++) {
            a[i * n + j] = i == j;
            for (int k = 0; k < DISTANCES; k++)
                a[i * n + j] += columns[i * DISTANCES + k] * columns[j * DISTANCES + k];
        }
    }
    for (int k = 0; k < DISTANCES; k++)
        sum += d[k] * d[k];
    if (sw_cholesky_solve(a, z, (size_t)n))
        return 0;
    for (int i = 0; i < n; i++)
        sum -= b[i] * z[i];
    return isfinite(sum) ? sum : 0;
}

sw_status sw_lens_contradiction(const sw_scale *scale, sw_scale *own, const sw_traces *traces, const sw_grid *grid,
                                double width_mm, double height_mm, double *squares, sw_error *err)
{
    sw_point px[SIDE * SIDE];
    double d[DISTANCES], here[DISTANCES], columns[MOST * DISTANCES];
    sw_grid *copy = malloc(sizeof *copy);
    *squares = 0;
    if (!copy)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory for the lens");
    *copy = *grid;
    sw_status status = sw_straighten(traces, own, copy, err);
    free(copy);
    if (status)
        return status;
    lattice(scale, width_mm, height_mm, px);
    distances(scale, px, d);
    distances(own, px, here);
    int n = add_columns(scale, px, d, columns);
    n += add_columns(own, px, here, columns + n * DISTANCES);
    for (int k = 0; k < DISTANCES; k++)
        d[k] = (d[k] - here[k]) / FLOOR_MM;
    *squares = least(d, columns, n);
    return SW_OK;
}

bool sw_lens_contradicted(const sw_scale *scale, const sw_scale *own, double squares)
{
    if (own->square_count == 1)
        return squares > SQUARES_ONE_CARD;
    if (squares > SW_LENS_OTHER_SQUARES && scale->misfit > MISFIT_MOST && scale->misfit > MISFIT_WORSE * own->misfit)
        return true;
    return squares > SQUARES_MOST &&
           (scale->residual_px > RESIDUAL_GROWS * own->residual_px || scale->misfit > MISFIT_GROWS * own->misfit);
}
