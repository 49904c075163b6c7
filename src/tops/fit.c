/* fit.c - cameras, tops and cards together, by Gauss-Newton. README.md derives it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "tops/equations.h"
#include "tops/observe.h"
#include "tops/result.h"
#include "tops/tops.h"

const sw_tops_prior SW_TOPS_PRIOR = {.height_mm = 20, .slope = 0.0015, .side_mm = 1, .learn = true};

/* Rims farther off than this, mm, are other lines (Cauchy); found in ever narrower rounds, as at first nothing is where it belongs. */
static const double RIM_OUTLIER_MM[] = {8, 3, 1, 0.4, 0.2};
enum { OUTLIER_STEPS = sizeof RIM_OUTLIER_MM / sizeof *RIM_OUTLIER_MM, ROUNDS_EACH = 4, LEARNING_ROUNDS = 4 };
/* Spreads that are learnt stay between these: what a flat workbench and a straight foam slab have at least, and what is still a table. */
static const double SLOPE_LEAST = 1.5e-4, SLOPE_MOST = 0.01, HEIGHT_LEAST_MM = 0.02, HEIGHT_MOST_MM = 30;

/* The spreads that make the tops as they came out likeliest: one step of expectation and maximisation (Dempster, Laird, Rubin 1977). */
static void learn(sw_fitting *f)
{
    double slopes = 0, heights = 0, mean = 0;
    for (int t = 0; t < f->tiles; t++) {
        const double *z = f->blocks[t].value;
        mean += z[0] / f->tiles;
        slopes +=
            (z[1] * z[1] + sw_fitting_variance(f, t, 1) + z[2] * z[2] + sw_fitting_variance(f, t, 2)) / (2 * f->tiles);
    }
    for (int t = 0; t < f->tiles; t++)
        heights += (pow(f->blocks[t].value[0] - mean, 2) + sw_fitting_variance(f, t, 0)) / f->tiles;
    f->prior.slope = fmin(SLOPE_MOST, fmax(SLOPE_LEAST, sqrt(slopes)));
    if (f->s->rim_count == 0)
        f->prior.height_mm = fmin(HEIGHT_MOST_MM, fmax(HEIGHT_LEAST_MM, sqrt(heights)));
}

static sw_status rounds(sw_fitting *f, sw_lens_set *lenses, int most)
{
    for (int round = 0; round < most; round++) {
        sw_fitting_collect(f, lenses);
        if (sw_equations_solve(f))
            return SW_NOT_FOUND;
        if (sw_equations_move(f) < 1)
            break;
    }
    return SW_OK;
}

static sw_status work(sw_fitting *f, sw_lens_set *lenses)
{
    sw_status status = SW_OK;
    for (int k = 0; !status && k < OUTLIER_STEPS; k++) {
        f->outlier_mm = RIM_OUTLIER_MM[k];
        status = rounds(f, lenses, ROUNDS_EACH);
    }
    for (int k = 0; !status && f->prior.learn && k < LEARNING_ROUNDS; k++) {
        learn(f);
        status = rounds(f, lenses, ROUNDS_EACH);
    }
    return status;
}

sw_status sw_tops_fit(const sw_sights *sights, const sw_tops_prior *prior, sw_tops *tops, double *agree)
{
    sw_fitting f;
    sw_status status = sw_fitting_start(sights, prior, &f);
    sw_lens_set *lenses = calloc((size_t)sights->views, sizeof *lenses);
    if (!status && !lenses)
        status = SW_NO_MEMORY;
    if (!status)
        status = work(&f, lenses);
    if (!status) {
        double misfit = f.cost / fmax(1, f.count - f.common);
        sw_fitting_fill(&f, sqrt(fmax(1, misfit)), tops);
        if (agree)
            *agree = f.knots > 0 ? f.agreed / f.knots : 0;
    }
    free(lenses);
    sw_fitting_end(&f);
    return status;
}
