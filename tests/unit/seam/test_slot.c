/* The slot model: profiles drawn by fine slices of the light of study/walls.h give their width and light back. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seam/slot.h"
#include "study/walls.h"

enum { STATIONS = 240, HALF = 30, MOST = 2 * HALF + 1 };

/* One seam: what is true of it, and how its photo sees it. */
typedef struct truth {
    sw_slot_light light;
    sw_slot_other other;
    double blur_px, halo, stretch, noise;
    int far_high;
    double low, high;
} truth;

static const truth USUAL = {.light = {{.share = 0.08,
                                       .wall = 0.4,
                                       .tangent = 0.15,
                                       .slant = -0.1,
                                       .near = 0.004,
                                       .albedo = 0.45,
                                       .penumbra = 0.35,
                                       .even = 0.01,
                                       .blur = 0.02}},
                            .other = {0.03, 1.1, 1},
                            .blur_px = 0.9,
                            .halo = 0.1,
                            .stretch = 0.98,
                            .low = 0.36,
                            .high = 0.39};

/* The response to a sharp step: a Gaussian, and the halo of sharpening. */
static double step_at(const truth *t, double x)
{
    double wide = sqrt(t->blur_px * t->blur_px + 1), at = x * t->stretch / exp(t->light.blur);
    return (1 + t->halo) * 0.5 * erfc(-at / t->blur_px / sqrt(2.0)) - t->halo * 0.5 * erfc(-at / wide / sqrt(2.0));
}

/* Far wall, and near wall where it leans out, each in units of its own top. */
static double slot_at(const truth *t, const walls *w, double q)
{
    double far = t->far_high ? t->high : t->low, near = t->far_high ? t->low : t->high;
    double u = q / t->light.tangent, v = (1 - q) / t->light.near;
    return far * (walls_direct(w, WALLS_FAR, u) + walls_passed(w, WALLS_FAR, u) + t->light.even) +
           near * (walls_direct(w, WALLS_NEAR, v) + walls_passed(w, WALLS_NEAR, v));
}

static void light_of(const truth *t, walls *w)
{
    sw_slot_other other = t->other;
    other.top_ratio = t->far_high ? t->low / t->high : t->high / t->low;
    walls_light(&t->light, &other, w);
}

/* A slot's light in slices, which close up towards both rims, where it changes fast. */
enum { SLICES = 200 };
typedef struct sliced {
    double from[SLICES + 1], light[SLICES];
} sliced;

static void cut(const truth *t, sliced *s)
{
    walls w;
    light_of(t, &w);
    for (int i = 0; i <= SLICES; i++)
        s->from[i] = 0.5 - 0.5 * cos(acos(-1.0) * i / SLICES);
    for (int i = 0; i < SLICES; i++) {
        double place = (s->from[i] + s->from[i + 1]) / 2;
        s->light[i] = slot_at(t, &w, t->far_high ? 1 - place : place);
    }
}

/* Brightness at x with the slot from `low` to low + width: every slice of the slot weighs in with the blur's share that
 * falls on it. */
static double profile(const truth *t, const sliced *s, double low, double width, double x)
{
    double sum = t->low * (1 - step_at(t, x - low)) + t->high * step_at(t, x - low - width);
    for (int i = 0; i < SLICES; i++)
        sum += s->light[i] * (step_at(t, x - low - s->from[i] * width) - step_at(t, x - low - s->from[i + 1] * width));
    return sum;
}

typedef struct seam {
    sw_slot_station stations[STATIONS];
    float x[STATIONS][MOST], v[STATIONS][MOST];
    double centre[STATIONS], width[STATIONS];
    sw_slot_result result;
    int count;
} seam;

/* Stations whose centres lie anywhere within a pixel, with widths about `width`; fits start off by half a pixel. */
static seam *lay(const truth *t, double width, double width_sd, int count)
{
    seam *s = calloc(1, sizeof *s);
    uint32_t seed = 21;
    sliced slices;
    assert_non_null(s);
    s->count = count;
    cut(t, &slices);
    for (int i = 0; i < count; i++) {
        sw_slot_station *st = &s->stations[i];
        s->centre[i] = between(&seed, -0.5, 0.5);
        s->width[i] = fmax(0, width + width_sd * normal(&seed));
        *st = (sw_slot_station){.x = s->x[i], .v = s->v[i], .low = t->low, .high = t->high, .used = 1};
        for (int k = -HALF; k <= HALF; k++) {
            if (fabs(k - s->centre[i]) > s->width[i] / 2 + 10)
                continue;
            st->x[st->count] = (float)k;
            st->v[st->count++] =
                (float)(profile(t, &slices, s->centre[i] - s->width[i] / 2, s->width[i], k) + t->noise * normal(&seed));
        }
        st->centre = s->centre[i] + between(&seed, -0.3, 0.3);
        st->width = s->width[i] + between(&seed, -0.5, 0.5);
        st->centre_prior = s->centre[i];
        st->centre_prior_sd = 0.6;
        st->width_least = -3;
        st->width_most = 30;
    }
    return s;
}

static void fit(seam *s, const truth *t, const sw_slot_prior *prior, double noise)
{
    sw_edge_table table;
    sw_cavity cavity;
    sw_edge_table_make(t->blur_px, t->halo, t->stretch, &table);
    sw_cavity_make(&cavity);
    s->result.light = prior->mean;
    assert_int_equal(
        sw_slot_fit(&cavity, &table, s->stations, s->count, t->far_high, false, prior, noise, 30, true, &s->result), 0);
}

static void mean_error(const seam *s, double *mean, double *worst)
{
    *mean = *worst = 0;
    for (int i = 0; i < s->count; i++) {
        double e = s->stations[i].width - s->width[i];
        *mean += e / s->count;
        *worst = fmax(*worst, fabs(e));
    }
}

static sw_slot_prior prior_about(const truth *t, const double sd[SW_LIGHT_NUMBERS])
{
    sw_slot_prior p = {.mean = t->light, .other = t->other};
    for (int i = 0; i < SW_LIGHT_NUMBERS; i++)
        p.inverse[i][i] = 1 / (sd[i] * sd[i]);
    return p;
}

/* A prior that knows the light exactly. */
static sw_slot_prior sure_of(const truth *t)
{
    static const double sd[SW_LIGHT_NUMBERS] = {1e-4, 1e-4, 1e-4, 1e-4, 1e-4, 1e-4, 1e-4, 1e-4, 1e-4};
    return prior_about(t, sd);
}

/* A prior as wide as the measuring uses, its means beside the truth. */
static const double UNSURE[SW_LIGHT_NUMBERS] = {0.15, 0.08, 0.015, 0.8, 0.002, 0.2, 0.2, 0.01, 0.006};
static sw_slot_prior unsure_of(const truth *t)
{
    sw_slot_prior p = prior_about(t, UNSURE);
    p.mean.share += 0.05;
    p.mean.wall -= 0.06;
    p.mean.tangent += 0.015;
    p.mean.albedo -= 0.1;
    return p;
}

/* With the light known, any width comes back: from a hair to 15 px, either side the far one, clean or halo'd response.
 */
static void width_with_known_light(void **state)
{
    (void)state;
    static const double widths[] = {0, 0.3, 0.8, 1.5, 3, 6, 12, 15};
    for (int far_high = 0; far_high < 2; far_high++)
        for (int halo = 0; halo < 2; halo++)
            for (int i = 0; i < 8; i++) {
                truth t = USUAL;
                t.far_high = far_high;
                t.halo = halo ? 0.15 : 0;
                t.low = halo ? 0.36 : 0.15; /* tops much alike, or a dark tile and a light one */
                t.high = halo ? 0.39 : 0.5;
                sw_slot_prior prior = sure_of(&t);
                seam *s = lay(&t, widths[i], 0, 20);
                double mean, worst;
                fit(s, &t, &prior, halo ? 0.002 : 0.005); /* read.c: at least 1.5 % of the tops */
                mean_error(s, &mean, &worst);
                if (!(worst < 0.03))
                    fail_msg("width %g, far %s: off by %.4f px", widths[i], far_high ? "high" : "low", worst);
                for (int k = 0; k < s->count; k++)
                    expect_near("centre", s->stations[k].centre, s->centre[k], 0.03);
                free(s);
            }
}

/* A slot wide enough to look into tells its own light, and its width with it. */
static void wide_slots_tell_their_light(void **state)
{
    (void)state;
    static const double widths[] = {5, 8, 14};
    for (int far_high = 0; far_high < 2; far_high++)
        for (int i = 0; i < 3; i++) {
            truth t = USUAL;
            t.far_high = far_high;
            t.noise = 0.004;
            sw_slot_prior prior = unsure_of(&t);
            seam *s = lay(&t, widths[i], 0.5, STATIONS);
            double mean, worst;
            fit(s, &t, &prior, 0.004);
            mean_error(s, &mean, &worst);
            if (!(fabs(mean) < 0.06))
                fail_msg("width %g: off by %.3f px in the mean", widths[i], mean);
            assert_true(worst < 0.3);
            /* What the profile shows plainly is the light that sky, lamp and walls give together half way in. */
            truth got = t;
            walls found, drawn;
            got.light = s->result.light;
            light_of(&got, &found);
            light_of(&t, &drawn);
            for (double q = 0.15; q < 0.9; q += 0.35)
                expect_near("light in the slot", slot_at(&got, &found, q), slot_at(&t, &drawn, q), 0.01);
            free(s);
        }
}

/* A narrow slot cannot tell how dark it is. With a wrong prior the width is off, and the stated uncertainty says so. */
static void narrow_slots_know_that_they_do_not_know(void **state)
{
    (void)state;
    static const double widths[] = {0.6, 1.2, 2.0};
    for (int i = 0; i < 3; i++) {
        truth t = USUAL;
        t.noise = 0.004;
        t.light.wall = 0.48; /* the prior below says 0.40 +- 0.08 */
        sw_slot_prior prior = prior_about(&USUAL, UNSURE);
        seam *s = lay(&t, widths[i], 0, STATIONS);
        double mean, worst, shared = 0;
        fit(s, &t, &prior, 0.004);
        mean_error(s, &mean, &worst);
        const double *by = s->stations[0].shared;
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
            for (int q = 0; q < SW_LIGHT_NUMBERS; q++)
                shared += by[p] * s->result.covariance[p][q] * by[q];
        assert_true(shared > 0);
        if (!(fabs(mean) < 2 * sqrt(shared)))
            fail_msg("width %g: off by %.3f px in the mean, stated %.3f", widths[i], mean, sqrt(shared));
        /* A darkness that is unknown by a tenth makes the width unknown by about as much of itself: never nothing. */
        assert_true(sqrt(shared) > 0.02 * widths[i]);
        free(s);
    }
}

/* d width / d shared number, as stated, against fits with the number held a little to either side. */
static void stated_derivatives(void **state)
{
    (void)state;
    static const double widths[] = {0.8, 2, 5, 10},
                        step[SW_LIGHT_NUMBERS] = {0.01, 0.02, 0.01, 0.05, 0.001, 0.02, 0.02, 0.005, 0.01};
    truth t = USUAL;
    t.light.near = 0.02;
    for (int i = 0; i < 4; i++) {
        sw_slot_prior prior = sure_of(&t);
        seam *here = lay(&t, widths[i], 0, 5);
        fit(here, &t, &prior, 0.002);
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
            double width[2][5];
            for (int side = 0; side < 2; side++) {
                prior = sure_of(&t);
                prior.mean.number[p] += side ? step[p] : -step[p];
                seam *moved = lay(&t, widths[i], 0, 5);
                fit(moved, &t, &prior, 0.002);
                for (int k = 0; k < 5; k++)
                    width[side][k] = moved->stations[k].width;
                free(moved);
            }
            for (int k = 0; k < 5; k++) {
                double slope = (width[1][k] - width[0][k]) / (2 * step[p]), stated = here->stations[k].shared[p];
                if (!(fabs(slope - stated) < 0.05 * fabs(slope) + 0.02))
                    fail_msg("width %g, number %d: stated %.4f px, differences say %.4f px", widths[i], p, stated,
                             slope);
            }
        }
        free(here);
    }
}

/* The variances stated for single stations against the scatter of many. */
static void stated_variances(void **state)
{
    (void)state;
    static const double widths[] = {1, 3, 8};
    for (int i = 0; i < 3; i++) {
        truth t = USUAL;
        t.noise = 0.006;
        sw_slot_prior prior = sure_of(&t);
        seam *s = lay(&t, widths[i], 0, STATIONS);
        fit(s, &t, &prior, t.noise);
        double w2 = 0, c2 = 0, cw = 0, ww = 0, cc = 0, mixed = 0;
        for (int k = 0; k < s->count; k++) {
            double w = s->stations[k].width - s->width[k], c = s->stations[k].centre - s->centre[k];
            w2 += w * w / s->count;
            c2 += c * c / s->count;
            cw += c * w / s->count;
            cc += s->stations[k].variance[0] / s->count;
            mixed += s->stations[k].variance[1] / s->count;
            ww += s->stations[k].variance[2] / s->count;
            expect_near("residual over noise", s->stations[k].rms / t.noise, 1, 0.6);
        }
        /* 240 stations know a deviation to 5 %; robust weights give away a little. */
        expect_near("stated over seen deviation of the width", sqrt(ww / w2), 1, 0.2);
        expect_near("stated over seen deviation of the centre", sqrt(cc / c2), 1, 0.2);
        expect_near("correlation of centre and width", mixed / sqrt(cc * ww), cw / sqrt(c2 * w2), 0.2);
        free(s);
    }
}

/* A pencil line beside some stations' rim, near enough that its samples would move it, does not pull the seam. */
static void outliers_do_not_pull(void **state)
{
    (void)state;
    truth t = USUAL;
    t.noise = 0.004;
    sw_slot_prior prior = unsure_of(&t);
    seam *s = lay(&t, 6, 0, STATIONS);
    for (int i = 0; i < s->count; i += 9)
        for (int k = 0; k < s->stations[i].count; k++) {
            double outside = s->centre[i] - s->width[i] / 2 - s->x[i][k];
            if (outside > 2 && outside < 5)
                s->v[i][k] = 0.1f;
        }
    double mean, worst;
    fit(s, &t, &prior, 0.004);
    mean_error(s, &mean, &worst);
    assert_true(fabs(mean) < 0.06);
    assert_true(worst < 0.2);
    free(s);
}

static void stations_that_were_not_read(void **state)
{
    (void)state;
    sw_slot_prior prior = sure_of(&USUAL);
    sw_edge_table table;
    sw_cavity cavity;
    sw_edge_table_make(0.9, 0, 1, &table);
    sw_cavity_make(&cavity);
    seam *s = lay(&USUAL, 4, 0, 6);
    for (int i = 0; i < 6; i++)
        s->stations[i].used = i > 3;
    s->stations[2].width = 77;
    fit(s, &USUAL, &prior, 0.002);
    assert_true(s->stations[2].width == 77);
    expect_near("a station that was read", s->stations[5].width, 4, 0.03);
    for (int i = 0; i < 6; i++)
        s->stations[i].used = 0;
    s->result.light = prior.mean;
    assert_int_equal(sw_slot_fit(&cavity, &table, s->stations, 6, true, false, &prior, 0.002, 6, true, &s->result),
                     SW_NOT_FOUND);
    free(s);
}

/* The table of the response against its formula, and its slope against its values. */
static void response_to_a_sharp_step(void **state)
{
    (void)state;
    static const struct {
        double blur, halo, stretch;
    } cases[] = {{0.5, 0, 1}, {0.9, 0.2, 1}, {1.3, -0.1, 0.8}, {1.6, 0, 0.71}};
    for (int i = 0; i < 4; i++) {
        truth t = {.blur_px = cases[i].blur, .halo = cases[i].halo, .stretch = cases[i].stretch};
        sw_edge_table table;
        sw_edge_table_make(t.blur_px, t.halo, t.stretch, &table);
        for (double x = -9; x <= 9; x += 0.0371) {
            float slope, ignore;
            double value = sw_edge_at(&table, (float)x, &slope);
            expect_near("value", value, step_at(&t, x), 1e-3);
            if (fabs(x) > 7)
                continue;
            double rise =
                (sw_edge_at(&table, (float)(x + 0.05), &ignore) - sw_edge_at(&table, (float)(x - 0.05), &ignore)) / 0.1;
            expect_near("slope", slope, rise, 4e-3);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(width_with_known_light),
        cmocka_unit_test(wide_slots_tell_their_light),
        cmocka_unit_test(narrow_slots_know_that_they_do_not_know),
        cmocka_unit_test(stated_derivatives),
        cmocka_unit_test(stated_variances),
        cmocka_unit_test(outliers_do_not_pull),
        cmocka_unit_test(stations_that_were_not_read),
        cmocka_unit_test(response_to_a_sharp_step),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
