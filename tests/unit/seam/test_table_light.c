/* What is known of the light in a slot before looking, from the floor and from other slots. */
#include "support/maths_check.h"

#include <string.h>

#include "maths/lsq.h"
#include "seam/light.h"

enum { N = SW_LIGHT_NUMBERS };
static const sw_trace TRACE = {.tangent = 0.12};

/* A floor seen all round, as light as `light` before each facing. */
static sw_table_light floor_of(const double light[SW_FACINGS])
{
    sw_table_light t;
    memset(&t, 0, sizeof t);
    for (int f = 0; f < SW_FACINGS; f++) {
        t.floors[f] = 250;
        t.floor[f] = 250 * log(light[f]);
    }
    return t;
}

static sw_table_light floor_unseen(void)
{
    return (sw_table_light){.floors = {0}};
}

static sw_slot_prior prior_of(const sw_table_light *t, int facing)
{
    sw_slot_prior p;
    sw_light_prior(t, &TRACE, facing, &p);
    return p;
}

static double sd_of(const sw_slot_prior *p, int number)
{
    double a[N * N];
    for (int i = 0; i < N; i++)
        memcpy(a + i * N, p->inverse[i], N * sizeof *a);
    assert_int_equal(sw_cholesky_invert(a, N), 0);
    return sqrt(a[number * N + number]);
}

/* Walls that look opposite ways differ in the lowest bit; which of them is the far one turns with the camera's side, and
 * with the way the photo is turned. */
static void facings(void **state)
{
    (void)state;
    for (int upright = 0; upright < 2; upright++) {
        sw_trace t = {.tangent = 0.1}, from_other_side = {.tangent = -0.1}, turned = {.tangent = -0.1, .reversed = 1};
        assert_int_equal(sw_facing_of(&t, upright), sw_facing_of(&turned, upright));
        assert_int_equal(sw_facing_of(&t, upright) ^ 1, sw_facing_of(&from_other_side, upright));
    }
    assert_int_not_equal(sw_facing_of(&TRACE, 0) / 2, sw_facing_of(&TRACE, 1) / 2);
}

/* Stray light lies on the slots' bottoms too, as far as it is not the print that is pale. */
static void stray_light_may_lie_in_the_slots(void **state)
{
    (void)state;
    sw_table_light t = floor_unseen();
    sw_slot_prior clear = prior_of(&t, 0);
    t.haze = 0.3;
    sw_slot_prior hazy = prior_of(&t, 0);
    double sd = sd_of(&hazy, SW_LIGHT_EVEN), low = hazy.mean.even - 1.2 * sd, high = hazy.mean.even + 1.2 * sd;
    assert_true(sd_of(&clear, SW_LIGHT_EVEN) < 0.1);
    assert_true(low < clear.mean.even && high > clear.mean.even + t.haze);
}

/* A lamp of share D leaves 1 - D of the light to the sky, of which the floor beside the table sees about half; on its own
 * side the lamp is added. So the floor tells D, and which walls it lights: those that look to the light side. */
static void a_floor_lighter_on_one_side(void **state)
{
    (void)state;
    static const double shares[] = {0.1, 0.25, 0.5, 0.7};
    for (int facing = 0; facing < SW_FACINGS; facing++) {
        double last = 0;
        for (int i = 0; i < 4; i++) {
            double light[SW_FACINGS], away = 0.5 * (1 - shares[i]);
            for (int f = 0; f < SW_FACINGS; f++)
                light[f] = 0.2 * (away + (f == facing ? shares[i] : 0));
            sw_table_light t = floor_of(light);
            sw_slot_prior lit = prior_of(&t, facing), dark = prior_of(&t, facing ^ 1),
                          beside = prior_of(&t, facing ^ 2);
            double sd = sd_of(&lit, SW_LIGHT_SHARE);
            assert_true(sd < 0.2);
            expect_near("share", lit.mean.share, shares[i], fmin(sd, 0.15));
            assert_true(lit.mean.share > last);
            last = lit.mean.share;
            /* The opposite walls lie in the shade, and know of the lamp on the walls they look at. Along the other seams the
             * lamp shines into the slots rather than across, if it gets in at all. */
            assert_true(dark.mean.share < 0.06);
            assert_true(beside.mean.share < lit.mean.share && beside.mean.slant < lit.mean.slant);
            assert_true(beside.mean.share < 1.1 * sd_of(&beside, SW_LIGHT_SHARE));
            expect_near("lamp on the near wall", dark.other.share, lit.mean.share, 1e-9);
            expect_near("lamp on the near wall", lit.other.share, dark.mean.share, 1e-9);
            expect_near("its slant", dark.other.slant, exp(lit.mean.slant), 1e-9);
        }
    }
}

/* What is left of the sky goes with what the lamp takes of the light, for all walls alike. */
static void a_lamp_takes_from_the_sky(void **state)
{
    (void)state;
    sw_table_light even = floor_of((double[]){0.1, 0.1, 0.1, 0.1}), lit = floor_of((double[]){0.1, 0.1, 0.3, 0.1});
    double before = prior_of(&even, 0).mean.wall, share = prior_of(&lit, 2).mean.share;
    assert_true(before > 0.3 && before < 0.6 && share > 0.3);
    for (int f = 0; f < SW_FACINGS; f++) {
        sw_slot_prior p = prior_of(&lit, f);
        expect_near("sky", p.mean.wall / before, 1 - share, 0.05);
        expect_near("the same for all", p.mean.wall, prior_of(&lit, 2).mean.wall, 1e-9);
    }
}

/* The darker the floor before a facing than at the other side, the less is another lamp to be thought of there. */
static void the_shade_is_surer_the_darker_it_is(void **state)
{
    (void)state;
    double last = 1;
    for (double ratio = 1.4; ratio < 4; ratio *= 1.3) {
        sw_table_light t = floor_of((double[]){0.1, 0.1 * ratio, 0.1, 0.1});
        sw_slot_prior p = prior_of(&t, 0);
        double sd = sd_of(&p, SW_LIGHT_SHARE);
        assert_true(sd < last);
        last = sd;
    }
    assert_true(last < 0.06);
}

/* Without a floor on both sides of the table anything may be. */
static void no_floor_tells_little(void **state)
{
    (void)state;
    sw_table_light none = floor_unseen(), seen = floor_of((double[]){0.1, 0.1, 0.1, 0.1}), half = seen;
    half.floors[1] = half.floor[1] = 0;
    sw_slot_prior first = prior_of(&none, 0), p = prior_of(&seen, 0), h = prior_of(&half, 0),
                  across = prior_of(&half, 2);
    for (int f = 0; f < SW_FACINGS; f++) {
        sw_slot_prior q = prior_of(&none, f);
        assert_memory_equal(&q, &first, sizeof q);
    }
    double wide = sd_of(&first, SW_LIGHT_SHARE);
    assert_true(wide >= 0.2 && wide > 1.3 * sd_of(&p, SW_LIGHT_SHARE));
    assert_true(first.mean.share - 2 * wide < 0 && first.mean.share + 2 * wide > 0.5);
    assert_true(sd_of(&first, SW_LIGHT_WALL) > 1.3 * sd_of(&p, SW_LIGHT_WALL));
    /* Seen from one side it cannot be compared; the other pair of sides still can. */
    expect_near("half a floor", sd_of(&h, SW_LIGHT_SHARE), wide, 1e-9);
    expect_near("half a floor", sd_of(&across, SW_LIGHT_SHARE), sd_of(&p, SW_LIGHT_SHARE), 1e-9);
}

/* The camera's own slant tells the tangent; a near wall is in sight only where the camera looks in steeply. */
static void the_view_tells_the_tangent(void **state)
{
    (void)state;
    sw_table_light t = floor_of((double[]){0.1, 0.1, 0.1, 0.1});
    double near = 1;
    for (double view = 0.01; view < 0.5; view *= 2) {
        sw_slot_prior p, m;
        sw_light_prior(&t, &(sw_trace){.tangent = view}, 1, &p);
        sw_light_prior(&t, &(sw_trace){.tangent = -view}, 1, &m);
        assert_memory_equal(&p, &m, sizeof p);
        expect_near("tangent", p.mean.tangent, fmax(view, 0.02), 0.02);
        assert_true(p.mean.near <= near && p.mean.near > 0);
        near = p.mean.near;
    }
    assert_true(near < 0.005);
}

/* What a fit would have found: `light`, from samples that tell each number to `sd`. */
static sw_slot_result told(const sw_slot_prior *prior, const sw_slot_light *light, const double sd[N])
{
    sw_slot_result r;
    double a[N * N], side[N];
    memset(&r, 0, sizeof r);
    for (int i = 0; i < N; i++) {
        side[i] = light->number[i] / (sd[i] * sd[i]);
        for (int j = 0; j < N; j++) {
            a[i * N + j] = prior->inverse[i][j] + (i == j) / (sd[i] * sd[i]);
            side[i] += prior->inverse[i][j] * prior->mean.number[j];
        }
    }
    assert_int_equal(sw_cholesky_invert(a, N), 0);
    for (int i = 0; i < N; i++)
        memcpy(r.covariance[i], a + i * N, N * sizeof *a);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++)
            r.light.number[i] += a[i * N + j] * side[j];
    return r;
}

static const double SURE[N] = {0.01, 0.01, 0.002, 0.05, 0.001, 0.02, 0.03, 0.005, 0.002};

/* A slot of a facing tells of a bright lamp, a dim sky, pale walls. */
static sw_slot_light other_light(const sw_slot_prior *p)
{
    sw_slot_light l = p->mean;
    l.share += 0.3;
    l.wall -= 0.1;
    l.albedo += 0.2;
    l.penumbra -= 0.1;
    l.slant -= 0.5;
    l.tangent += 0.03;
    l.near += 0.004;
    return l;
}

/* One slot of a facing is heard, told to SURE. */
static void hear(sw_table_light *t, int facing, double weight)
{
    sw_table_light floor = *t;
    memset(floor.word, 0, sizeof floor.word);
    sw_slot_prior p = prior_of(&floor, facing);
    sw_slot_light l = other_light(&p);
    sw_slot_result r = told(&p, &l, SURE);
    sw_light_hear(t, facing, &p, &r, weight);
}

static void a_word_taken_away_leaves_nothing(void **state)
{
    (void)state;
    sw_table_light t = floor_of((double[]){0.1, 0.2, 0.1, 0.15}), before = t, one;
    hear(&t, 1, 1);
    assert_memory_not_equal(&t, &before, sizeof t);
    hear(&t, 1, -1);
    assert_memory_equal(t.floor, before.floor, sizeof t.floor);
    hear(&before, 3, 1);
    one = before;
    hear(&t, 1, 1);
    hear(&t, 3, 1);
    hear(&t, 1, -1);
    for (int f = 0; f < SW_FACINGS; f++) {
        sw_slot_prior got = prior_of(&t, f), want = prior_of(&one, f);
        for (int i = 0; i < N; i++) {
            expect_near("mean", got.mean.number[i], want.mean.number[i], 1e-9);
            for (int j = 0; j < N; j++)
                expect_near("inverse", got.inverse[i][j], want.inverse[i][j], 1e-9 * want.inverse[i][i]);
        }
    }
}

/* Samples that tell nothing beyond the prior add nothing. */
static void silence_adds_nothing(void **state)
{
    (void)state;
    static const double nothing[N] = {1e9, 1e9, 1e9, 1e9, 1e9, 1e9, 1e9, 1e9, 1e9};
    sw_table_light t = floor_of((double[]){0.1, 0.2, 0.1, 0.15});
    sw_slot_prior before = prior_of(&t, 1);
    sw_slot_result r = told(&before, &before.mean, nothing);
    sw_light_hear(&t, 1, &before, &r, 1);
    sw_slot_prior after = prior_of(&t, 1);
    for (int i = 0; i < N; i++) {
        expect_near("mean", after.mean.number[i], before.mean.number[i], 1e-6);
        expect_near("inverse", after.inverse[i][i] / before.inverse[i][i], 1, 1e-6);
    }
}

/* How much nearer to what was told a number has come. */
static double followed(const sw_table_light *floor, const sw_table_light *t, int from, int facing, int number)
{
    sw_slot_prior teller = prior_of(floor, from), before = prior_of(floor, facing), after = prior_of(t, facing);
    return (after.mean.number[number] - before.mean.number[number]) /
           (other_light(&teller).number[number] - before.mean.number[number]);
}

/* The same wall's light goes for walls of the same facing; of the others it tells less, of a lamp nothing. Leans, and how far a
 * near wall is in sight, are each slot's own. */
static void a_slot_tells_most_to_its_like(void **state)
{
    (void)state;
    static const int shared[] = {SW_LIGHT_WALL, SW_LIGHT_ALBEDO}, lamp[] = {SW_LIGHT_SHARE, SW_LIGHT_SLANT};
    const sw_table_light floor = floor_of((double[]){0.1, 0.2, 0.1, 0.1});
    sw_table_light t = floor;
    hear(&t, 1, 1);
    for (int i = 0; i < 2; i++) {
        double same = followed(&floor, &t, 1, 1, shared[i]), other = followed(&floor, &t, 1, 2, shared[i]);
        if (!(same > other && other > 0.2 && same < 1))
            fail_msg("number %d: followed to %.3f by the same facing, to %.3f by another", shared[i], same, other);
        assert_true(followed(&floor, &t, 1, 1, lamp[i]) > 0.5);
        for (int f = 0; f < SW_FACINGS; f++)
            if (f != 1)
                expect_near("lamp, for another facing", followed(&floor, &t, 1, f, lamp[i]), 0, 1e-3);
    }
    for (int f = 0; f < SW_FACINGS; f++) {
        expect_near("lean", followed(&floor, &t, 1, f, SW_LIGHT_TANGENT), 0, 1e-3);
        expect_near("near wall", followed(&floor, &t, 1, f, SW_LIGHT_NEAR), 0, 1e-3);
        sw_slot_prior before = prior_of(&floor, f), after = prior_of(&t, f);
        for (int p = 0; p < N; p++)
            assert_true(sd_of(&after, p) <= sd_of(&before, p) * (1 + 1e-9));
    }
    /* Slots differ: one that was sure to 0.01 leaves the next one less sure than that. */
    sw_slot_prior same = prior_of(&t, 1);
    assert_true(sd_of(&same, SW_LIGHT_SHARE) > 1.5 * SURE[SW_LIGHT_SHARE]);
    /* And what is on the far wall of one slot is on the near wall of the opposite ones. */
    sw_slot_prior opposite = prior_of(&t, 0);
    expect_near("lamp on the near wall", opposite.other.share, same.mean.share, 1e-9);
}

/* Where the floor shows light before walls of two facings, it is one lamp that stands at the corner. */
static void one_lamp_for_two_lit_facings(void **state)
{
    (void)state;
    const sw_table_light corner = floor_of((double[]){0.1, 0.2, 0.2, 0.1}),
                         side = floor_of((double[]){0.1, 0.2, 0.1, 0.1});
    sw_table_light at_corner = corner, at_side = side;
    hear(&at_corner, 1, 1);
    hear(&at_side, 1, 1);
    double both = followed(&corner, &at_corner, 1, 2, SW_LIGHT_SHARE);
    if (!(both > 0.3 && both < followed(&corner, &at_corner, 1, 1, SW_LIGHT_SHARE)))
        fail_msg("the other lit facing followed to %.3f", both);
    expect_near("a facing in the shade", followed(&corner, &at_corner, 1, 3, SW_LIGHT_SHARE), 0, 1e-3);
    expect_near("no lamp before the other facing", followed(&side, &at_side, 1, 2, SW_LIGHT_SHARE), 0, 1e-3);
}

/* With no floor to tell where the lamp stands, one on a wall says nothing of one on the walls of other facings. */
static void without_a_floor_each_facing_has_its_own_lamp(void **state)
{
    (void)state;
    const sw_table_light floor = floor_unseen();
    sw_table_light t = floor;
    hear(&t, 1, 1);
    for (int f = 0; f < SW_FACINGS; f++)
        if (f != 1)
            expect_near("lamp on another wall", followed(&floor, &t, 1, f, SW_LIGHT_SHARE), 0, 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(facings),
        cmocka_unit_test(stray_light_may_lie_in_the_slots),
        cmocka_unit_test(a_floor_lighter_on_one_side),
        cmocka_unit_test(a_lamp_takes_from_the_sky),
        cmocka_unit_test(the_shade_is_surer_the_darker_it_is),
        cmocka_unit_test(no_floor_tells_little),
        cmocka_unit_test(the_view_tells_the_tangent),
        cmocka_unit_test(a_word_taken_away_leaves_nothing),
        cmocka_unit_test(silence_adds_nothing),
        cmocka_unit_test(a_slot_tells_most_to_its_like),
        cmocka_unit_test(one_lamp_for_two_lit_facings),
        cmocka_unit_test(without_a_floor_each_facing_has_its_own_lamp),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
