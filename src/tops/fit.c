/* fit.c - cameras, tops and cards together, by Gauss-Newton. README.md derives it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/chi.h"
#include "tops/equations.h"
#include "tops/observe.h"
#include "tops/result.h"
#include "tops/tops.h"

/* Rims farther off than this, mm, are other lines (Cauchy); found in ever narrower rounds, as at first nothing is where it belongs. */
static const double RIM_OUTLIER_MM[] = {8, 3, 1, 0.4, 0.2};
enum {
    OUTLIER_STEPS = sizeof RIM_OUTLIER_MM / sizeof *RIM_OUTLIER_MM,
    ROUNDS_EACH = 4,
    LEARNING_ROUNDS = 4,
    LEARNING_ROUNDS_CARDS = 60,
    ROUNDS_CARDS = 20
};
/* The learnt spread has settled where it moves by less than this share; what two or three tops tell of it may be so many times larger. */
static const double LEARNT = 0.01, FEWEST = 3;
/* Tops are called uneven where one level is so unlikely: one level table in a thousand. */
static const double SURE = 0.999;
/* Spreads that are learnt stay between these: what a flat workbench and a straight foam slab have at least, and what is still a table. */
static const double SLOPE_LEAST = 1.5e-4, SLOPE_MOST = 0.01, HEIGHT_LEAST_MM = 0.02, HEIGHT_MOST_MM = 30;

/* The spreads that make the tops as they came out likeliest: one step of expectation and maximisation (Dempster, Laird, Rubin 1977). */
static void learn(sw_fitting *f)
{
    double slopes = 0, heights = 0, mean = 0, told = 0;
    for (int t = 0; t < f->tiles; t++) {
        const double *z = f->blocks[t].value;
        if (!sw_fitting_tells(f, t))
            continue;
        told++;
        mean += z[0];
        slopes += (z[1] * z[1] + sw_fitting_variance(f, t, 1) + z[2] * z[2] + sw_fitting_variance(f, t, 2)) / 2;
    }
    for (int t = 0; t < f->tiles; t++)
        if (sw_fitting_tells(f, t))
            heights += pow(f->blocks[t].value[0] - mean / told, 2) + sw_fitting_variance(f, t, 0);
    /* One photo's slants and its focal length are much the same to cards: without a profile the prior stays. */
    if (f->s->rim_count > 0 || f->s->scales[0].lens.source == SW_LENS_PROFILE)
        f->prior.slope = fmin(SLOPE_MOST, fmax(SLOPE_LEAST, sqrt(slopes / told)));
    if (f->s->rim_count == 0)
        f->prior.height_mm = fmin(HEIGHT_MOST_MM, fmax(HEIGHT_LEAST_MM, sqrt(heights / told)));
}

/* A spread learnt from n tops may be this much larger: root of (n - 1) / (n - 3), as of Student's t; few tops hardly tell. */
static double few(const sw_fitting *f)
{
    int n = 0;
    for (int t = 0; t < f->tiles; t++)
        n += sw_fitting_tells(f, t);
    return n > 3 ? sqrt((n - 1.0) / (n - 3.0)) : FEWEST;
}

static sw_status rounds(sw_fitting *f, int most)
{
    for (int round = 0; round < most; round++) {
        sw_fitting_collect(f);
        if (sw_equations_solve(f))
            return SW_NOT_FOUND;
        if (sw_equations_move(f) < 1)
            break;
    }
    return SW_OK;
}

/* What cards alone show of a spread. */
static sw_status learn_from_cards(sw_fitting *f)
{
    sw_status status = SW_OK;
    for (int k = 0; !status && k < LEARNING_ROUNDS_CARDS; k++) {
        double before = f->prior.height_mm;
        learn(f);
        status = rounds(f, 1);
        if (fabs(f->prior.height_mm - before) < LEARNT * before)
            break;
    }
    f->prior.height_mm *= few(f);
    return status ? status : rounds(f, ROUNDS_CARDS);
}

/* Cards of one photo begin near where they will be, and what spread they show is all there is to go by. */
static sw_status work_on_cards(sw_fitting *f)
{
    double chi, freedom;
    sw_sight_lines_make(f);
    sw_status status = rounds(f, ROUNDS_CARDS);
    sw_sight_lines_make(f);
    if (!status)
        status = rounds(f, ROUNDS_CARDS);
    if (!status)
        status = sw_fitting_unevenness(f, &chi, &freedom);
    if (status)
        return status;
    status = learn_from_cards(f);
    f->uneven = chi / fmax(1, f->cost / fmax(1, f->count - f->common)) > sw_chi_square_quantile(SURE, freedom);
    return status;
}

/* Photos whose rims are compared begin far from where they will agree; the heights' spread hardly matters to them. */
static sw_status work_on_rims(sw_fitting *f)
{
    sw_status status = SW_OK;
    for (int k = 0; !status && k < OUTLIER_STEPS; k++) {
        f->outlier_mm = RIM_OUTLIER_MM[k];
        sw_sight_lines_make(f);
        status = rounds(f, ROUNDS_EACH);
    }
    sw_sight_lines_make(f);
    for (int k = 0; !status && k < LEARNING_ROUNDS; k++) {
        learn(f);
        status = rounds(f, ROUNDS_EACH);
    }
    return status;
}

sw_status sw_tops_fit(const sw_sights *sights, sw_tops *tops, double *agree)
{
    sw_fitting f;
    sw_status status = sw_fitting_start(sights, &f);
    if (!status)
        status = sights->rim_count > 0 ? work_on_rims(&f) : work_on_cards(&f);
    if (!status) {
        double misfit = f.cost / fmax(1, f.count - f.common);
        sw_fitting_fill(&f, sqrt(fmax(1, misfit)), tops);
        if (agree)
            *agree = f.knots > 0 ? f.agreed / f.knots : 0;
    }
    sw_fitting_end(&f);
    return status;
}

sw_status sw_tops_of_cards(const sw_scale *scale, int columns, int rows, double tile_mm, sw_tops *tops)
{
    const sw_view view = {.columns = columns, .rows = rows, .tile_mm = tile_mm, .scale = *scale};
    sw_sights sights;
    bool two = false;
    sw_status status = sw_sights_start(columns, rows, tile_mm, 1, &sights);
    if (status)
        return status;
    sw_sights_add(&sights, &view);
    for (size_t i = 1; i < sights.card_count; i++)
        two |= sights.cards[i].tile != sights.cards[0].tile;
    status = two ? sw_tops_fit(&sights, tops, NULL) : SW_NOT_FOUND;
    sw_sights_free(&sights);
    return status;
}
