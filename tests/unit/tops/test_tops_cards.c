/* What the cards of one photo tell of the tops under them: whether a table is level, and, with a card on every tile, how high each
 * top stands. Drawn up from plain geometry (support/tops_scene.h). */
#include "support/maths_check.h"

#include "support/tops_scene.h"
#include "tops/tops.h"

static const double PLACE[3] = {350, -600, 1250}, CORNER_PX = 0.02;

static void photograph(const scene_kind *kind, unsigned seed, double start_off, scene *s, sw_view *view)
{
    scene_photo photo = {.near_u_mm = 0.1, .far_u_mm = 0.1, .corner_u_px = CORNER_PX, .start_off = start_off};
    for (int i = 0; i < 3; i++)
        photo.place_mm[i] = PLACE[i];
    scene_make(kind, seed, s);
    scene_view(s, &photo, view);
}

static sw_status tops_of(const scene_kind *kind, unsigned seed, scene *s, sw_tops *tops)
{
    sw_view view;
    photograph(kind, seed, 0.3, s, &view);
    sw_status status = sw_tops_of_cards(&view.scale, kind->columns, kind->rows, s->tile_mm, tops);
    sw_view_free(&view);
    return status;
}

static int called_uneven(const scene_kind *kind, int seeds)
{
    int uneven = 0;
    for (int seed = 1; seed <= seeds; seed++) {
        scene s;
        sw_tops tops;
        assert_int_equal(tops_of(kind, (unsigned)seed, &s, &tops), SW_OK);
        uneven += tops.uneven;
    }
    return uneven;
}

/* One table in a thousand is what the test is set to. */
static void level_tables_are_called_level(void **state)
{
    enum { SEEDS = 100, MOST = 1 };
    (void)state;
    for (int way = 0; way < 4; way++) {
        const scene_kind kind = {.columns = 3, .rows = 3, .card_on_every_tile = way % 2, .without_profile = way / 2};
        int uneven = called_uneven(&kind, SEEDS);
        print_message("  %s, %s: %d of %d level tables called uneven\n", way % 2 ? "nine cards" : "four cards",
                      way / 2 ? "no profile" : "profile", uneven, SEEDS);
        assert_true(uneven <= MOST);
    }
}

static void scatter_of_a_millimetre_is_noticed(void **state)
{
    enum { SEEDS = 40 };
    (void)state;
    for (int way = 0; way < 4; way++) {
        const scene_kind kind = {.columns = 3,
                                 .rows = 3,
                                 .scatter_mm = 1,
                                 .slant = 2e-4,
                                 .card_on_every_tile = way % 2,
                                 .without_profile = way / 2};
        int uneven = called_uneven(&kind, SEEDS);
        print_message("  %s, %s: %d of %d called uneven\n", way % 2 ? "nine cards" : "four cards",
                      way / 2 ? "no profile" : "profile", uneven, SEEDS);
        /* Four heights are a slanting plane and one more. */
        assert_true(uneven >= SEEDS * (way % 2 ? 95 : 70) / 100);
    }
}

typedef struct tally {
    double n, square, error, held;
} tally;

static void count_heights(const scene *s, const sw_tops *tops, tally *t)
{
    int columns = s->kind.columns, tiles = columns * s->kind.rows, told = 0;
    double mean = 0;
    for (int i = 0; i < tiles; i++)
        if (tops->told[i % columns][i / columns]) {
            mean += tops->top[i % columns][i / columns].rise_mm - s->tiles[i].rise_mm;
            told++;
        }
    mean /= told;
    for (int i = 0; i < tiles; i++) {
        int c = i % columns, r = i / columns;
        double off = tops->top[c][r].rise_mm - s->tiles[i].rise_mm - mean, u = tops->height_u_mm[c][r];
        if (!tops->told[c][r])
            continue;
        t->n++;
        t->square += off * off / (u * u);
        t->error += off * off;
        t->held += fabs(off) <= 2 * u;
    }
}

/* Heights of 0 to 20 mm, or of 1 mm scatter, under nine cards. */
static void a_card_on_every_tile_tells_heights(void **state)
{
    enum { SEEDS = 24 };
    (void)state;
    for (int way = 0; way < 4; way++) {
        const scene_kind kind = {.columns = 3,
                                 .rows = 3,
                                 .heights_mm = way % 2 ? 20 : 0,
                                 .scatter_mm = way % 2 ? 0 : 1,
                                 .slant = 4e-4,
                                 .card_on_every_tile = true,
                                 .without_profile = way / 2};
        tally t = {0};
        for (int seed = 1; seed <= SEEDS; seed++) {
            scene s;
            sw_tops tops;
            assert_int_equal(tops_of(&kind, (unsigned)seed, &s, &tops), SW_OK);
            count_heights(&s, &tops, &t);
        }
        double ratio = sqrt(t.square / t.n);
        print_message("  %s, %s: heights rms %.3f mm, over u %.2f, held %.3f\n", way % 2 ? "0 to 20 mm" : "1 mm",
                      way / 2 ? "no profile" : "profile", sqrt(t.error / t.n), ratio, t.held / t.n);
        assert_true(ratio > 0.5 && ratio < 2);
        assert_true(t.held / t.n >= 0.9);
        assert_true(way / 2 || sqrt(t.error / t.n) < 0.3);
    }
}

/* Of a tile without a card its spread is all that is known, and four tops hardly tell a spread: what is said of it must hold the
 * tile. Known shortfall: one time in fourteen four heights happen to lie in one plane, and their spread is learnt much too small. */
static void what_has_no_card_lies_within_its_own(void **state)
{
    enum { SEEDS = 100 };
    (void)state;
    const scene_kind kind = {.columns = 3, .rows = 3, .scatter_mm = 1, .slant = 2e-4};
    double held = 0, n = 0;
    for (int seed = 1; seed <= SEEDS; seed++) {
        scene s;
        sw_tops tops;
        double level = 0;
        assert_int_equal(tops_of(&kind, (unsigned)seed, &s, &tops), SW_OK);
        for (int i = 0; i < 9; i++)
            level += tops.told[i % 3][i / 3] ? (s.tiles[i].rise_mm - tops.top[i % 3][i / 3].rise_mm) / 4 : 0;
        for (int i = 0; i < 9; i++) {
            double off = s.tiles[i].rise_mm - level, u = tops.height_u_mm[i % 3][i / 3];
            if (tops.told[i % 3][i / 3])
                continue;
            held += fabs(off) <= 2 * u;
            n++;
        }
    }
    print_message("  %.3f of tiles without a card lie within their \302\261\n", held / n);
    assert_true(held / n >= 0.9);
}

/* Four cards say nothing of the tiles between: they are not told, and as uncertain as the spread. */
static void tiles_without_a_card_are_not_told(void **state)
{
    (void)state;
    const scene_kind kind = {.columns = 3, .rows = 3, .scatter_mm = 2};
    scene s;
    sw_tops tops;
    assert_int_equal(tops_of(&kind, 4, &s, &tops), SW_OK);
    for (int c = 0; c < 3; c++)
        for (int r = 0; r < 3; r++) {
            bool corner = c != 1 && r != 1;
            assert_int_equal(tops.told[c][r], corner);
            if (!corner)
                assert_true(tops.height_u_mm[c][r] > 0.5 * tops.spread_mm && tops.top[c][r].rise_mm == 0);
        }
    assert_true(tops.spread_mm > 0.3 && tops.spread_mm < 8);
}

static void cards_on_one_tile_tell_nothing(void **state)
{
    (void)state;
    const scene_kind kind = {.columns = 2, .rows = 2, .heights_mm = 5, .card_on_every_tile = true};
    scene s;
    sw_view view;
    sw_tops tops;
    photograph(&kind, 1, 0.3, &s, &view);
    view.scale.square_count = 2;
    assert_int_equal(sw_tops_of_cards(&view.scale, 2, 2, s.tile_mm, &tops), SW_OK);
    view.scale.square_count = 1;
    assert_int_equal(sw_tops_of_cards(&view.scale, 2, 2, s.tile_mm, &tops), SW_NOT_FOUND);
    view.scale.squares[1] = view.scale.squares[0];
    view.scale.square_count = 2;
    assert_int_equal(sw_tops_of_cards(&view.scale, 2, 2, s.tile_mm, &tops), SW_NOT_FOUND);
    sw_view_free(&view);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(level_tables_are_called_level),        cmocka_unit_test(scatter_of_a_millimetre_is_noticed),
        cmocka_unit_test(a_card_on_every_tile_tells_heights),   cmocka_unit_test(tiles_without_a_card_are_not_told),
        cmocka_unit_test(what_has_no_card_lies_within_its_own), cmocka_unit_test(cards_on_one_tile_tell_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
