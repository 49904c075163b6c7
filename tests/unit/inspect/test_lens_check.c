/* A lens profile against what cards and edges say: both agree with it, the cards contradict it, the edges alone do. */
#include "support/maths_check.h"

#include "inspect/lens_check.h"
#include "scale/frame.h"
#include "support/edges_scene.h"

/* How the cards and the edges of one photo were bent, and what the profile says. */
typedef struct photo {
    double cards_k1, edges_k1, profile_k1;
    int cards;
    double bow_mm;
} photo;

/* What the profile says of its own k1: standard uncertainty. */
static double profile_k1_u;

typedef struct answer {
    double squares;
    bool contradicted;
} answer;

/* Millimetres from the north-west corner of A1, x along the table. */
static void turn_to_table(const edges_camera *c, sw_scale *scale)
{
    sw_point corner = sw_scale_to_mm(scale, edges_shoot(c, edges_corner(0, 0))),
             east = sw_scale_to_mm(scale, edges_shoot(c, edges_corner(EDGES_TILES, 0)));
    sw_scale_turn(scale, corner, atan2(east.y - corner.y, east.x - corner.x));
}

static answer ask(const photo *of, uint32_t seed)
{
    edges_camera of_cards = edges_camera_make(of->cards_k1), of_edges = edges_camera_make(of->edges_k1);
    sw_lens unknown = edges_lens_unknown(&of_cards), profile = of_cards.lens;
    sw_scale scale, own;
    sw_error err = {""};
    answer a;
    uint32_t again = seed; /* the same readings of the same cards */
    profile.k1 = of->profile_k1;
    profile.covariance[SW_LENS_K1][SW_LENS_K1] = profile_k1_u * profile_k1_u;
    edges_scale(&of_cards, of->cards, &profile, &seed, &scale);
    edges_scale(&of_cards, of->cards, &unknown, &again, &own);
    turn_to_table(&of_cards, &scale);
    edges_table t = edges_table_lay(&of_edges, of->bow_mm, &seed);
    edges_into_frame(&of_edges, &scale, t.grid);
    double side_mm = EDGES_TILES * EDGES_TILE_MM;
    if (sw_lens_contradiction(&scale, &own, &t.traces, t.grid, side_mm, side_mm, &a.squares, &err))
        fail_msg("%s", err.text);
    a.contradicted = sw_lens_contradicted(&scale, &own, a.squares);
    edges_table_free(&t);
    return a;
}

static void a_right_profile_passes(void **state)
{
    (void)state;
    for (int cards = 1; cards <= 4; cards += 3)
        for (double k1 = -0.06; k1 < 0.07; k1 += 0.06)
            for (uint32_t seed = 1; seed <= 3; seed++) {
                answer a = ask(&(photo){k1, k1, k1, cards, 0.15}, seed);
                assert_true(!a.contradicted && a.squares < 12);
            }
}

/* Several cards: their sides and right angles tell, whichever way it is wrong. */
static void cards_contradict(void **state)
{
    (void)state;
    for (double off = -0.06; off < 0.07; off += 0.03)
        for (uint32_t seed = 4; seed <= 6; seed++) {
            answer a = ask(&(photo){0.02, 0.02, 0.02 + off, 4, 0.15}, seed);
            assert_int_equal(a.contradicted, fabs(off) > 0.001);
            assert_true(a.contradicted == (a.squares > 12));
        }
}

/* One card fits nearly as well by any lens: edges that should be straight tell. They err themselves, so it is said before it is
 * refused. */
static void edges_alone_contradict(void **state)
{
    (void)state;
    for (int sign = -1; sign <= 1; sign += 2) {
        double before = 0;
        for (double off = 0; off < 0.11; off += 0.02) {
            answer a = ask(&(photo){0.02, 0.02, 0.02 + sign * off, 1, 0.15}, 7);
            assert_true(a.squares > before);
            before = a.squares;
            if (off < 0.05)
                assert_false(a.contradicted);
        }
        assert_true(ask(&(photo){0.02, 0.02, 0.02 + sign * 0.1, 1, 0.15}, 7).contradicted);
        assert_true(ask(&(photo){0.02, 0.02, 0.02 + sign * 0.06, 1, 0.15}, 7).squares > SW_LENS_DOUBTFUL_SQUARES);
    }
}

/* Edges that seem bent the other way (misread, or bowed alike) say nothing against a profile that four cards agree with. */
static void crooked_edges_are_outvoted(void **state)
{
    (void)state;
    for (double off = -0.08; off < 0.09; off += 0.16) {
        answer a = ask(&(photo){0.02, 0.02 + off, 0.02, 4, 0.15}, 8);
        assert_true(!a.contradicted && a.squares < 12);
    }
}

/* What the profile itself says that it does not know is no contradiction. */
static void a_profile_that_is_unsure_of_it_passes(void **state)
{
    (void)state;
    const photo wrong = {0.02, 0.02, 0.05, 4, 0.15};
    double sure = ask(&wrong, 9).squares;
    profile_k1_u = 0.03;
    answer a = ask(&wrong, 9);
    profile_k1_u = 0;
    assert_true(!a.contradicted && a.squares < sure / 10);
}

/* Tops that are not level pull the lens that is found without a profile; the cards then fit no worse by the profile. */
static void refused_only_where_cards_fit_worse(void **state)
{
    (void)state;
    sw_scale scale = {.residual_px = 0.05}, own = {.residual_px = 0.05, .square_count = 4};
    assert_false(sw_lens_contradicted(&scale, &own, 500));
    scale.residual_px = 0.06;
    assert_true(sw_lens_contradicted(&scale, &own, 500));
    assert_false(sw_lens_contradicted(&scale, &own, 5));
    own.square_count = 1;
    assert_true(sw_lens_contradicted(&scale, &own, 500));
    assert_false(sw_lens_contradicted(&scale, &own, 100));
}

/* Cards that fit by no lens widen what both say, but if they fit worst by the profile it is still the profile. */
static void cards_that_fit_far_worse_are_the_profile_s(void **state)
{
    (void)state;
    sw_scale scale = {.misfit = 16}, own = {.misfit = 9, .square_count = 4};
    assert_true(sw_lens_contradicted(&scale, &own, 8));
    assert_false(sw_lens_contradicted(&scale, &own, 4));
    scale.misfit = 12;
    assert_false(sw_lens_contradicted(&scale, &own, 8));
    scale.misfit = 2.5;
    own.misfit = 1;
    assert_false(sw_lens_contradicted(&scale, &own, 8));
    assert_true(sw_lens_contradicted(&scale, &own, 13));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_right_profile_passes),
        cmocka_unit_test(cards_contradict),
        cmocka_unit_test(edges_alone_contradict),
        cmocka_unit_test(crooked_edges_are_outvoted),
        cmocka_unit_test(a_profile_that_is_unsure_of_it_passes),
        cmocka_unit_test(refused_only_where_cards_fit_worse),
        cmocka_unit_test(cards_that_fit_far_worse_are_the_profile_s),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
