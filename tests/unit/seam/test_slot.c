/* The slot model: profiles drawn from the formula of slot.h, by fine slices, give their width and light back. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seam/slot.h"

enum { STATIONS = 240, HALF = 30, MOST = 2 * HALF + 1 };

/* One seam: what is true of it, and how its photo sees it. */
typedef struct truth {
    sw_slot_light light;
    double blur_px, halo, stretch, noise;
    int far_high;
    double low, high;
} truth;

static const truth USUAL = {
    .light = {.base = 0.08, .wall = 0.4, .tangent = 0.15, .reach = 2.3, .near = 0.004, .even = 0.02, .blur = 0.02},
    .blur_px = 0.9,
    .halo = 0.1,
    .stretch = 0.98,
    .low = 0.36,
    .high = 0.39};

/* Header of slot.h: the blurred step, far wall, lamp (in full to 0.55 of its reach, gone at 1.45 of it), near wall. */
static double step_at(const truth *t, double x)
{
    double wide = sqrt(t->blur_px * t->blur_px + 1), at = x * t->stretch / exp(t->light.blur);
    return (1 + t->halo) * 0.5 * erfc(-at / t->blur_px / sqrt(2.0)) - t->halo * 0.5 * erfc(-at / wide / sqrt(2.0));
}

static double sky(double u)
{
    return 1 - u / sqrt(1 + u * u);
}

static double slot_at(const truth *t, double base, double q)
{
    double far = t->far_high ? t->high : t->low, near = t->far_high ? t->low : t->high;
    double u = q / t->light.tangent, lamp = (1.45 - u / exp(t->light.reach)) / 0.9;
    return far * (base * fmin(1, fmax(0, lamp)) + t->light.wall * sky(u) + t->light.even) +
           near * t->light.wall * sky((1 - q) / t->light.near);
}

/* Brightness at x with the slot from `low` to low + width: every slice of the slot weighs in with the blur's share that
 * falls on it. */
static double profile(const truth *t, double base, double low, double width, double x)
{
    enum { SLICES = 200 };
    double sum = t->low * (1 - step_at(t, x - low)) + t->high * step_at(t, x - low - width);
    for (int i = 0; i < SLICES; i++) {
        /* Slices close up towards both rims, where the light changes fast. */
        double a = 0.5 - 0.5 * cos(acos(-1.0) * i / SLICES), b = 0.5 - 0.5 * cos(acos(-1.0) * (i + 1) / SLICES);
        double place = (a + b) / 2, q = t->far_high ? 1 - place : place;
        sum += slot_at(t, base, q) * (step_at(t, x - low - a * width) - step_at(t, x - low - b * width));
    }
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
static seam *lay(const truth *t, double width, double width_sd, double base_sd, int count)
{
    seam *s = calloc(1, sizeof *s);
    uint32_t seed = 21;
    assert_non_null(s);
    s->count = count;
    for (int i = 0; i < count; i++) {
        sw_slot_station *st = &s->stations[i];
        double base = fmax(0, t->light.base + base_sd * normal(&seed));
        s->centre[i] = between(&seed, -0.5, 0.5);
        s->width[i] = fmax(0, width + width_sd * normal(&seed));
        *st = (sw_slot_station){.x = s->x[i], .v = s->v[i], .low = t->low, .high = t->high, .used = 1};
        for (int k = -HALF; k <= HALF; k++) {
            if (fabs(k - s->centre[i]) > s->width[i] / 2 + 10)
                continue;
            st->x[st->count] = (float)k;
            st->v[st->count++] =
                (float)(profile(t, base, s->centre[i] - s->width[i] / 2, s->width[i], k) + t->noise * normal(&seed));
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
    sw_edge_table_make(t->blur_px, t->halo, t->stretch, &table);
    s->result.light = prior->mean;
    assert_int_equal(sw_slot_fit(&table, s->stations, s->count, t->far_high, prior, noise, 30, 1, &s->result), 0);
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

/* A prior that knows the light exactly. */
static sw_slot_prior sure_of(const truth *t)
{
    const double sd = 1e-4;
    return (sw_slot_prior){
        .mean = t->light, .sd = {{sd, sd, sd, sd, sd, sd, sd}}, .base_spread = 1e-4, .spread_known = 1};
}

/* A prior as wide as the measuring uses, its means beside the truth. */
static sw_slot_prior unsure_of(const truth *t)
{
    sw_slot_prior p = {.mean = t->light, .sd = {{0.1, 0.1, 0.04, 0.4, 0.002, 0.02, 0.006}}, .base_spread = 0.1};
    p.mean.base += 0.05;
    p.mean.wall -= 0.06;
    p.mean.tangent *= 1.15;
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
                sw_slot_prior prior = sure_of(&t);
                seam *s = lay(&t, widths[i], 0, 0, 20);
                double mean, worst;
                fit(s, &t, &prior, 0.002);
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
            seam *s = lay(&t, widths[i], 0.5, 0.02, STATIONS);
            double mean, worst;
            fit(s, &t, &prior, 0.004);
            mean_error(s, &mean, &worst);
            if (!(fabs(mean) < 0.06))
                fail_msg("width %g: off by %.3f px in the mean", widths[i], mean);
            assert_true(worst < 0.3);
            /* What the profile shows plainly is the light the lamp and the wall give together half way in. */
            for (double q = 0.15; q < 0.9; q += 0.35) {
                truth got = t;
                got.light = s->result.light;
                expect_near("light in the slot", slot_at(&got, got.light.base, q), slot_at(&t, t.light.base, q), 0.01);
            }
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
        t.light.base = 0.14; /* the prior below says 0.08 +- 0.06 */
        sw_slot_prior prior = {.mean = USUAL.light,
                               .sd = {{0.06, 0.1, 0.04, 0.4, 0.002, 0.02, 0.006}},
                               .base_spread = 0.03,
                               .spread_known = 1};
        seam *s = lay(&t, widths[i], 0, 0, STATIONS);
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
    static const double widths[] = {0.8, 2, 5, 10}, step[] = {0.01, 0.02, 0.01, 0.05, 0.001, 0.01, 0.01};
    truth t = USUAL;
    t.light.near = 0.02;
    for (int i = 0; i < 4; i++) {
        sw_slot_prior prior = sure_of(&t);
        seam *here = lay(&t, widths[i], 0, 0, 5);
        fit(here, &t, &prior, 0.002);
        for (int p = 0; p < SW_LIGHT_NUMBERS; p++) {
            double width[2][5];
            for (int side = 0; side < 2; side++) {
                double *numbers[] = {&prior.mean.base, &prior.mean.wall, &prior.mean.tangent, &prior.mean.reach,
                                     &prior.mean.near, &prior.mean.even, &prior.mean.blur};
                prior = sure_of(&t);
                *numbers[p] += side ? step[p] : -step[p];
                seam *moved = lay(&t, widths[i], 0, 0, 5);
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
        seam *s = lay(&t, widths[i], 0, 0, STATIONS);
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

/* A pencil line that crosses some stations' tops does not pull the seam. */
static void outliers_do_not_pull(void **state)
{
    (void)state;
    truth t = USUAL;
    t.noise = 0.004;
    sw_slot_prior prior = unsure_of(&t);
    seam *s = lay(&t, 6, 0, 0.02, STATIONS);
    for (int i = 0; i < s->count; i += 9)
        for (int k = 0; k < 3; k++)
            s->v[i][k] = 0.1f;
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
    sw_edge_table_make(0.9, 0, 1, &table);
    seam *s = lay(&USUAL, 4, 0, 0, 6);
    for (int i = 0; i < 6; i++)
        s->stations[i].used = i > 3;
    s->stations[2].width = 77;
    fit(s, &USUAL, &prior, 0.002);
    assert_true(s->stations[2].width == 77);
    expect_near("a station that was read", s->stations[5].width, 4, 0.03);
    for (int i = 0; i < 6; i++)
        s->stations[i].used = 0;
    s->result.light = prior.mean;
    assert_int_equal(sw_slot_fit(&table, s->stations, 6, 1, &prior, 0.002, 6, 1, &s->result), SW_NOT_FOUND);
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
