/* The lens from the tiles' own edges: points drawn through a lens with a known k1, four cards or one, straight tiles or
 * bowed. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seam/straight.h"
#include "support/edges_scene.h"

/* Worst bend that the scale gives to straight lines of 300 mm all over the table, mm; and how many of these are within
 * 2 u of straight. */
static double worst_bend(const edges_camera *c, const sw_scale *scale, double *held)
{
    double worst = 0, good = 0, all = 0;
    for (int k = 0; k < 24; k++) {
        int upright = k % 2;
        sw_point a = edges_corner(k / 2 % 4, k / 8), b = {a.x + (upright ? 0 : 300), a.y - (upright ? 300 : 0)};
        sw_point px[3] = {edges_shoot(c, a), edges_shoot(c, (sw_point){(a.x + b.x) / 2, (a.y + b.y) / 2}),
                          edges_shoot(c, b)};
        double bend = 0, squares = 0;
        for (int i = -1; i < scale->alternative_count; i++) {
            sw_scale s = *scale;
            if (i >= 0)
                sw_scale_take_alternative(scale, i, &s);
            sw_point p[3];
            for (int n = 0; n < 3; n++)
                p[n] = sw_scale_to_mm(&s, px[n]);
            double dx = p[2].x - p[0].x, dy = p[2].y - p[0].y;
            double off = ((p[1].x - p[0].x) * dy - (p[1].y - p[0].y) * dx) / hypot(dx, dy);
            if (i < 0)
                bend = off;
            else
                squares += (off - bend) * (off - bend);
        }
        worst = fmax(worst, fabs(bend));
        good += fabs(bend) <= 2 * sqrt(squares);
        all++;
    }
    *held = good / all;
    return worst;
}

/* Variance of the edge spread along the alternatives. */
static double spread_variance(const sw_scale *scale)
{
    double sum = 0;
    for (int i = 0; i < scale->alternative_count; i++)
        sum += scale->alternatives[i].edge_spread_change_px * scale->alternatives[i].edge_spread_change_px;
    return sum;
}

typedef struct outcome {
    double k1, bend, held, bend_before;
} outcome;

static outcome straighten(double k1, int cards, double bow_sd, uint32_t seed)
{
    edges_camera c = edges_camera_make(k1);
    sw_scale scale;
    sw_error err = {""};
    outcome o;
    sw_lens unknown = edges_lens_unknown(&c);
    edges_scale(&c, cards, &unknown, &seed, &scale);
    edges_table t = edges_table_lay(&c, bow_sd, &seed);
    edges_into_frame(&c, &scale, t.grid);
    o.bend_before = worst_bend(&c, &scale, &o.held);
    double spread = spread_variance(&scale);
    if (sw_straighten(&t.traces, &scale, t.grid, &err))
        fail_msg("%s", err.text);
    /* Edges tell something of what goes along with the edge spread, never all and never less than nothing. */
    assert_true(spread_variance(&scale) > 0.01 * spread && spread_variance(&scale) < spread);
    o.k1 = scale.lens.k1;
    o.bend = worst_bend(&c, &scale, &o.held);
    /* The grid's places moved along: they are still seen where they were. */
    for (int i = 0; i <= EDGES_TILES; i++)
        for (int k = 0; k < EDGES_TILES; k++) {
            sw_point want = edges_shoot(&c, edges_corner(i, k)),
                     got = sw_scale_to_px(&scale, t.grid->upright[i][k].from);
            expect_near("grid's place, px", hypot(got.x - want.x, got.y - want.y), 0, 0.01);
        }
    edges_table_free(&t);
    return o;
}

static void straight_tiles_and_four_cards(void **state)
{
    (void)state;
    for (double k1 = -0.06; k1 < 0.07; k1 += 0.03) {
        outcome o = straighten(k1, 4, 0, 5);
        if (!(fabs(o.k1 - k1) < 0.004 && o.bend < 0.03))
            fail_msg("k1 %.3f: got %.4f, a straight line bends by %.3f mm (%.3f before)", k1, o.k1, o.bend,
                     o.bend_before);
        assert_true(o.held >= 0.9);
    }
}

static void straight_tiles_and_one_card(void **state)
{
    (void)state;
    for (double k1 = -0.05; k1 < 0.06; k1 += 0.05) {
        outcome o = straighten(k1, 1, 0, 6);
        if (!(fabs(o.k1 - k1) < 0.01 && o.bend < 0.05))
            fail_msg("k1 %.3f: got %.4f, a straight line bends by %.3f mm (%.3f before)", k1, o.k1, o.bend,
                     o.bend_before);
        assert_true(o.held >= 0.9);
        if (fabs(k1) > 0.01)
            assert_true(o.bend < o.bend_before / 3);
    }
}

/* Hand-cut edges bow by 0.15 mm each, all differently: less certain, and stated so. */
static void bowed_tiles(void **state)
{
    (void)state;
    double held = 0, n = 0;
    for (uint32_t seed = 11; seed < 17; seed++)
        for (int cards = 1; cards <= 4; cards += 3) {
            outcome o = straighten(-0.04, cards, 0.15, seed);
            if (!(o.bend < (cards == 1 ? 0.2 : 0.12)))
                fail_msg("seed %u, %d cards: k1 %.4f, a straight line bends by %.3f mm", (unsigned)seed, cards, o.k1,
                         o.bend);
            held += o.held;
            n++;
        }
    if (!(held / n >= 0.9))
        fail_msg("%.2f of the straight lines are straight within what is stated", held / n);
}

/* Without any trace that could be read there is nothing to learn: the scale stays as it is. */
static void nothing_read(void **state)
{
    (void)state;
    edges_camera c = edges_camera_make(-0.05);
    uint32_t seed = 3;
    sw_scale scale, before;
    sw_lens unknown = edges_lens_unknown(&c);
    edges_scale(&c, 4, &unknown, &seed, &scale);
    edges_table t = edges_table_lay(&c, 0, &seed);
    edges_into_frame(&c, &scale, t.grid);
    for (int k = 0; k < (EDGES_TILES + 1) * EDGES_TILES; k++)
        for (int i = 0; i < EDGES_STATIONS; i++)
            t.traces.upright[k].places[i].seen = t.traces.level[k].places[i].seen = 0;
    before = scale;
    assert_int_equal(sw_straighten(&t.traces, &scale, t.grid, NULL), SW_OK);
    expect_near("k1", scale.lens.k1, before.lens.k1, 1e-12);
    for (int i = 0; i < 9; i++)
        expect_near("homography", scale.to_plane[i / 3][i % 3], before.to_plane[i / 3][i % 3], 1e-12);
    edges_table_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(straight_tiles_and_four_cards),
        cmocka_unit_test(straight_tiles_and_one_card),
        cmocka_unit_test(bowed_tiles),
        cmocka_unit_test(nothing_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
