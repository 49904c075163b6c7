/* Rounded rims: a slot between two shoulders, drawn ray by ray, gives its width and their radii back; what edges say of each
 * other. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "seam/radii.h"
#include "seam/shoulder.h"
#include "seam/slot.h"

/* Across the slot in mm: the near side face at 0, the far one at `gap`, tops at depth 0. */
typedef struct drawn {
    double gap_mm, near_mm, far_mm, tangent; /* radii; of the view */
} drawn;

enum { STATIONS = 60, HALF = 24, MOST = 2 * HALF + 1, PER_PX = 40, FINE = 2 * (HALF + 8) * PER_PX };
static const double PX_PER_MM = 3, BLUR_PX = 0.8, TOP = 0.4, DEEP_MM = 40;

/* How far a body's surface lies behind its side face at a depth. */
static double behind(double depth, double radius)
{
    double up = fmax(0, radius - depth);
    return radius - sqrt(radius * radius - up * up);
}

static int inside(const drawn *d, double x, double depth)
{
    return depth > 0 && (x < -behind(depth, d->near_mm) || x > d->gap_mm + behind(depth, d->far_mm));
}

/* Whether a ray from (x, depth) to the sky, tan of its angle, is free. */
static int open_to(const drawn *d, double x, double depth, double tangent)
{
    for (int i = 1; i <= 400; i++) {
        double up = depth * i / 400;
        if (inside(d, x + up * tangent, depth - up))
            return 0;
    }
    return 1;
}

/* Light of an even sky on a surface tilted by `tilt` to the right at (x, depth), in units of a level one's in the open. */
static double sky_on(const drawn *d, double x, double depth, double tilt)
{
    enum { RAYS = 240 };
    double sum = 0;
    for (int i = 0; i < RAYS; i++) {
        double angle = M_PI * ((i + 0.5) / RAYS - 0.5), part = cos(angle - tilt);
        if (part > 0 && (depth <= 0 || open_to(d, x, depth, tan(angle))))
            sum += part * M_PI / RAYS / 2;
    }
    return sum;
}

/* What is seen at x (mm on the tops' level) by a camera to the left, looking right by the tangent; the surface is found by going
 * down the sight line. */
static double seen_at(const drawn *d, double x)
{
    double depth = 1e-9, before = 0;
    while (depth < DEEP_MM && !inside(d, x + depth * d->tangent, depth)) {
        before = depth;
        depth += depth < 1.5 ? 0.002 : 0.02;
    }
    if (depth >= DEEP_MM)
        return 0;
    if (before == 0)
        return 1;
    for (int i = 0; i < 40; i++) {
        double middle = (before + depth) / 2;
        *(inside(d, x + middle * d->tangent, middle) ? &depth : &before) = middle;
    }
    double at = x + depth * d->tangent, out = 1e-3;
    int far = at > d->gap_mm / 2;
    double radius = far ? d->far_mm : d->near_mm, tilt = depth < radius ? acos(1 - depth / radius) : M_PI / 2;
    return sky_on(d, at + (far ? -out : out) * sin(tilt), depth - out * cos(tilt), far ? -tilt : tilt);
}

typedef struct seam {
    sw_slot_station stations[STATIONS];
    float x[STATIONS][MOST], v[STATIONS][MOST];
    sw_slot_result result;
} seam;

static seam *draw(const drawn *d, int far_high)
{
    static double fine[FINE];
    seam *s = calloc(1, sizeof *s);
    uint32_t seed = 5;
    assert_non_null(s);
    for (int i = 0; i < FINE; i++) {
        double px = (i + 0.5) / PER_PX - (HALF + 8.0);
        fine[i] = seen_at(d, px / PX_PER_MM + d->gap_mm / 2);
    }
    for (int k = 0; k < STATIONS; k++) {
        sw_slot_station *st = &s->stations[k];
        double centre = between(&seed, -0.5, 0.5), width = d->gap_mm * PX_PER_MM;
        *st = (sw_slot_station){.x = s->x[k], .v = s->v[k], .low = TOP, .high = TOP, .used = 1};
        for (int i = -HALF; i <= HALF; i++) {
            double sum = 0, at = far_high ? i - centre : centre - i;
            for (int f = 0; f < FINE; f++) {
                double off = (f + 0.5) / PER_PX - (HALF + 8.0) - at;
                if (fabs(off) < 4)
                    sum += fine[f] * exp(-off * off / (2 * BLUR_PX * BLUR_PX)) / (sqrt(2 * M_PI) * BLUR_PX * PER_PX);
            }
            st->x[st->count] = (float)i;
            st->v[st->count++] = (float)(TOP * sum + 0.002 * normal(&seed));
        }
        st->centre = centre;
        st->width = width + 1;
        st->centre_prior = centre;
        st->centre_prior_sd = 2;
        st->width_least = -1;
        st->width_most = 20;
    }
    return s;
}

/* An even sky, black walls; the light is known, the shape is not. */
static sw_slot_prior prior_of(const drawn *d, bool round)
{
    sw_slot_prior p = {.mean = {{.wall = 0.5, .tangent = d->tangent, .near = 0.004, .penumbra = 0.3}},
                       .other = {.slant = 1, .top_ratio = 1},
                       .shaped = round,
                       .round = round,
                       .px_per_mm = PX_PER_MM};
    for (int i = 0; i < SW_SLOT_NUMBERS; i++)
        p.inverse[i][i] = 1e8;
    for (int i = SW_SHAPE_ROUND_NEAR; i <= SW_SHAPE_ROUND_FAR; i++) {
        p.mean.number[i] = round ? 0.25 : 0;
        p.inverse[i][i] = 1 / (0.4 * 0.4);
    }
    return p;
}

static double fit(seam *s, const drawn *d, int far_high, bool round)
{
    sw_edge_table table;
    sw_cavity cavity;
    sw_slot_prior prior = prior_of(d, round);
    double mean = 0;
    sw_edge_table_make(BLUR_PX, 0, 1, &table);
    sw_cavity_make(&cavity);
    s->result.light = prior.mean;
    assert_int_equal(
        sw_slot_fit(&cavity, &table, s->stations, STATIONS, far_high, false, &prior, 0.006, 30, true, &s->result), 0);
    for (int k = 0; k < STATIONS; k++)
        mean += s->stations[k].width / STATIONS / PX_PER_MM;
    return mean;
}

static double sd_of(const seam *s, int number)
{
    return sqrt(s->result.covariance[number][number]);
}

/* As the camera sees it from above, the gap lies where the side faces begin: the far one's start shows shifted by its depth. */
static double seen_gap(const drawn *d)
{
    double t = d->tangent;
    return d->gap_mm - d->far_mm * t + d->near_mm * (1 + t - sqrt(1 + t * t));
}

static void a_drawn_slot_comes_back(void **state)
{
    (void)state;
    static const drawn slots[] = {{2, 0.6, 0.6, 0.2}, {2, 0.7, 0.4, 0.1}, {1.2, 0.4, 0.7, 0.3}, {2.5, 0.9, 0.9, 0.15}};
    for (int i = 0; i < 4; i++)
        for (int far_high = 0; far_high < 2; far_high++) {
            const drawn *d = &slots[i];
            seam *s = draw(d, far_high);
            double sharp = fit(s, d, far_high, false), round = fit(s, d, far_high, true);
            expect_near("gap between round rims, mm", round, seen_gap(d), 0.035);
            expect_near("near radius, mm", s->result.light.round_near, d->near_mm, 0.15); /* half a pixel */
            expect_near("far radius, mm", s->result.light.round_far, d->far_mm, 0.05);
            expect_near("near radius in deviations",
                        (s->result.light.round_near - d->near_mm) / sd_of(s, SW_SHAPE_ROUND_NEAR), 0, 1.5);
            if (!(sharp > seen_gap(d) + 0.1))
                fail_msg("slot %d reads %.3f mm with sharp rims, %.3f are true: it shows nothing", i, sharp,
                         seen_gap(d));
            free(s);
        }
}

/* Where a ray from below first meets a round rim at distance 1, against a search over angles. */
static void horizon_touches_the_shoulder(void **state)
{
    (void)state;
    static const double rounds[] = {0.1, 0.5, 2}, deeps[] = {-0.05, 0, 0.5, 3};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 4; k++) {
            double radius = rounds[i], deep = deeps[k], low = 0, high = M_PI / 2;
            for (int n = 0; n < 50;
                 n++) { /* the ray keeps a radius from the rim's centre, 1 + radius away and `deep` up */
                double angle = (low + high) / 2, off = (1 + radius) * cos(angle) - deep * sin(angle);
                *(off > radius ? &low : &high) = angle;
            }
            expect_near("horizon", 2 * atan(sw_round_horizon(deep, radius)), low, 1e-6);
        }
}

/* In the open: half of 1 + cos under an even sky; a lamp by its cosine, from behind none where it no longer shines. */
static void shoulders_follow_their_slope(void **state)
{
    (void)state;
    const sw_shoulder_light sky = {0.5, 0, 1, 0, 1, 0.3}, lamp = {0, 1, 0.8, 0, 1, 0.3},
                            behind_it = {0, 0, 1, 1, 0.8, 0.3};
    for (int k = 0; k < SW_SHOULDER_BINS; k++) {
        double tilt = sw_shoulder_tilt(k + 0.5), bounced;
        expect_near("sky", sw_shoulder_lit(&sky, k, 0, -1, &bounced), (1 + cos(tilt)) / 2, 1e-9);
        expect_near("bounced share", bounced, 1 - cos(tilt), 1e-9);
        expect_near("lamp", sw_shoulder_lit(&lamp, k, 0, -1, &bounced), cos(tilt) + 0.8 * sin(tilt), 1e-9);
        expect_near("lamp behind", sw_shoulder_lit(&behind_it, k, 0, -1, &bounced),
                    fmax(0, cos(tilt) - 0.8 * sin(tilt)), 1e-9);
    }
}

/* A tile whose other edges are round is believed to be so all round, another one less; and its own word does not come back
 * to an edge from the others. */
static void edges_tell_of_each_other(void **state)
{
    (void)state;
    enum { TILES = 4, EDGES = 4 * TILES };
    sw_radius told[EDGES] = {{0, 0}}, others[EDGES], all[EDGES], again[EDGES];
    for (int e = 0; e < EDGES; e++)
        told[e] = (sw_radius){e / 4 == 0 ? 0.7 : 0.2, 0.04};
    told[0] = told[5] = (sw_radius){0, 0};
    sw_radii_believe(told, TILES, others, all);
    expect_near("the silent edge of the round tile", others[0].mm, 0.7, 0.06);
    expect_near("the silent edge of another", others[5].mm, 0.2, 0.06);
    assert_true(others[0].sd_mm < 0.1);
    expect_near("one that spoke", all[6].mm, 0.2, 0.03);
    told[6] = (sw_radius){0.3, 0.04};
    sw_radii_believe(told, TILES, again, all);
    expect_near("what others say of it", again[6].mm, others[6].mm, 0.02);
    for (int e = 0; e < EDGES; e++) /* nobody speaks: as hands are */
        told[e] = (sw_radius){0, 0};
    sw_radii_believe(told, TILES, others, all);
    assert_true(others[0].sd_mm > 0.25 && fabs(others[0].mm - all[0].mm) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_drawn_slot_comes_back),
        cmocka_unit_test(horizon_touches_the_shoulder),
        cmocka_unit_test(shoulders_follow_their_slope),
        cmocka_unit_test(edges_tell_of_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
