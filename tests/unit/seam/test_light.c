/* White cut cards as references: found on tiles of any darker tone, told from tiles, which are light squares, too. */
#include "support/maths_check.h"

#include <string.h>

#include "photo/small.h"
#include "scale/squares.h"
#include "seamwright/seamwright.h"
#include "support/draw.h"

static const double DEGREE = 3.14159265358979323846 / 180;

/* A table of 2x2 tiles in two tones (a draughtboard), with cut cards on the tiles of `on` (bits: A1 B1 A2 B2). */
typedef struct scene {
    double tile_mm, gap_mm, card_mm, tone[2], floor, card_light;
    int on;
} scene;

static void draw_scene(const scene *s, const draw_view *view, drawing *d)
{
    static const double turns[] = {4, -7, 11, 2};
    draw_table table = draw_even_table(2, 2, s->tile_mm, s->gap_mm);
    *d = draw_start(view, s->floor);
    double side = 2 * s->tile_mm + s->gap_mm;
    draw_box(d, (sw_point){0, 0}, side, side, 0,
             0.02 * fmin(s->tone[0], s->tone[1])); /* straight below, a deep gap is black */
    for (int i = 0; i < 4; i++) {
        sw_point middle = draw_on_tile(&table, i % 2, i / 2, s->tile_mm / 2, s->tile_mm / 2);
        draw_box(d, middle, s->tile_mm, s->tile_mm, 0, s->tone[(i % 2 + i / 2) % 2]);
        if (s->on >> i & 1)
            draw_box(d, middle, s->card_mm, s->card_mm, turns[i] * DEGREE, s->card_light);
    }
    draw_blur(d, 0.7);
}

static sw_status inspect(const scene *s, sw_inspection *ins, sw_error *err)
{
    draw_view view = draw_above(1500, 1400, 1000 / (2.2 * s->tile_mm), 2 * DEGREE);
    drawing d;
    sw_photo photo;
    sw_lens lens = draw_lens(&view);
    sw_options options = {.lens = &lens, .reference = {s->card_mm, s->card_mm, 0, 0}, .card_thickness_given = 1};
    draw_scene(s, &view, &d);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    draw_free(&d);
    sw_status status = sw_inspect(&photo, &options, NULL, NULL, ins, err);
    sw_photo_free(&photo);
    return status;
}

static void check(const char *what, const scene *s, int squares)
{
    sw_inspection ins;
    sw_error err = {""};
    if (inspect(s, &ins, &err))
        fail_msg("%s: %s", what, err.text);
    if (ins.scale.square_count != squares || ins.table.columns != 2 || ins.table.rows != 2)
        fail_msg("%s: %d cards, %d x %d tiles", what, ins.scale.square_count, ins.table.columns, ins.table.rows);
    for (int i = 0; i < (int)ins.tile_count; i++)
        expect_near(what, ins.tiles[i].edges[0].length_mm, s->tile_mm, fmax(0.1, ins.tiles[i].edges[0].length_u95_mm));
    for (size_t i = 0; i < ins.seam_count; i++)
        expect_near(what, ins.seams[i].mean_mm, s->gap_mm, fmax(0.02, ins.seams[i].mean_u95_mm));
    sw_inspection_free(&ins);
}

static void cards_on_darker_tiles(void **state)
{
    (void)state;
    check("grey tiles", &(scene){200, 1.2, 100, {0.35, 0.35}, 0.15, 0.75, 15}, 4);
    check("one card", &(scene){200, 1.2, 100, {0.35, 0.35}, 0.15, 0.75, 4}, 1);
    check("pale tiles", &(scene){200, 1.2, 100, {0.62, 0.62}, 0.15, 0.78, 9}, 2);
    check("tiles of two tones", &(scene){200, 1.2, 100, {0.6, 0.3}, 0.15, 0.78, 15}, 4);
    check("cards on the darker of two tones", &(scene){200, 1.2, 100, {0.6, 0.3}, 0.15, 0.78, 6}, 2);
    check("dark tiles on a light floor", &(scene){200, 1.2, 100, {0.08, 0.08}, 0.5, 0.75, 9}, 2);
    check("wider gaps", &(scene){200, 2, 100, {0.5, 0.5}, 0.15, 0.78, 9}, 2);
}

/* Tiles as large as a common card, and cards that nearly cover their tiles. */
static void tiles_are_no_cards(void **state)
{
    (void)state;
    check("tiles of 100 mm, cards of 50", &(scene){100, 1.2, 50, {0.5, 0.5}, 0.15, 0.78, 9}, 2);
    check("cards of 100 on tiles of 150, their edges 20 mm off", &(scene){150, 1.5, 100, {0.4, 0.4}, 0.15, 0.78, 15},
          4);
}

/* No card in sight: said so, never a tile taken for one. */
static void no_card(void **state)
{
    (void)state;
    static const scene NONE[] = {
        {200, 1.2, 100, {0.5, 0.5}, 0.15, 0.78, 0},    /* pale tiles */
        {100, 4, 100, {0.5, 0.5}, 0.15, 0.78, 0},      /* tiles of a card's size, wide gaps */
        {200, 1.2, 100, {0.6, 0.3}, 0.15, 0.78, 0},    /* two tones */
        {200, 1.2, 100, {0.75, 0.75}, 0.15, 0.75, 15}, /* white on white */
    };
    for (size_t i = 0; i < sizeof NONE / sizeof *NONE; i++) {
        sw_inspection ins;
        sw_error err = {""};
        if (inspect(&NONE[i], &ins, &err) != SW_NOT_FOUND || !strstr(err.text, "darker or lighter than the tile"))
            fail_msg("scene %zu: \"%s\"", i, err.text);
    }
}

/* What is found, where, in a picture with all kinds of light things. */
static void where_they_are(void **state)
{
    (void)state;
    draw_view view = draw_above(1500, 1400, 2.5, 2 * DEGREE);
    scene s = {200, 2, 100, {0.45, 0.45}, 0.15, 0.75, 6};
    drawing d;
    sw_photo photo;
    sw_small small;
    sw_quad quads[SW_SQUARES_MAX];
    draw_scene(&s, &view, &d);
    draw_box(&d, (sw_point){-120, 120}, 60, 30, 0.2, 0.7); /* a slip of paper */
    draw_box(&d, (sw_point){250, 0}, 60, 60, 0.3, 0.6);    /* a pale tin on the floor, half in the shade */
    draw_box(&d, (sw_point){265, 0}, 30, 60, 0.3, 0.3);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    int count;
    assert_int_equal(sw_quads_find_light(&photo, &small, quads, &count), SW_OK);
    assert_int_equal(count, 2);
    for (int i = 0; i < 2; i++) {
        expect_near("size", quads[i].size_px, 250, 2.5 * small.factor);
        int held = 0;
        for (int t = 1; t < 3; t++)
            held += sw_quad_holds(&quads[i], draw_px(&view, (sw_point){t == 1 ? 101 : -101, t == 1 ? 101 : -101}));
        assert_int_equal(held, 1);
    }
    sw_small_free(&small);
    sw_photo_free(&photo);
    draw_free(&d);
}

static int count_lights(drawing *d, sw_quad *quads)
{
    sw_photo photo;
    sw_small small;
    draw_blur(d, 0.7);
    draw_develop(d, &(draw_camera){.bits = 8, .noise = 0.004}, &photo);
    draw_free(d);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    int count;
    assert_int_equal(sw_quads_find_light(&photo, &small, quads, &count), SW_OK);
    sw_small_free(&small);
    sw_photo_free(&photo);
    return count;
}

/* One rule of light.c each: a tile with the same gap all round it; a table that is as light as a card, and small in the
 * picture; a patch of the tile's own shading; a table without cards; a frame. */
static void one_rule_each(void **state)
{
    (void)state;
    sw_quad quads[SW_SQUARES_MAX];
    draw_view view = draw_above(1500, 1500, 2.2, 2 * DEGREE);
    draw_table table = draw_even_table(3, 3, 200, 5);
    drawing d = draw_start(&view, DRAW_FLOOR);
    draw_put_table(&d, &table);
    assert_int_equal(count_lights(&d, quads), 0);

    view = draw_above(2000, 2000, 2.2, 2 * DEGREE);
    d = draw_start(&view, DRAW_FLOOR);
    draw_box(&d, (sw_point){0, 0}, 400, 400, 0, 0.7);
    draw_box(&d, (sw_point){90, 90}, 100, 100, 0.1, 0.8);
    assert_int_equal(count_lights(&d, quads), 1);
    expect_near("the card, not the table", quads[0].size_px, 220, 10);

    d = draw_start(&view, 0.45);
    draw_box(&d, (sw_point){0, 0}, 100, 100, 0.1, 0.48);
    assert_int_equal(count_lights(&d, quads), 0);

    d = draw_start(&view, DRAW_TOP); /* the white inside of a frame */
    draw_put_card(&d, &(draw_card){{0, 0}, 0.1, 150, 90, 20, 0});
    assert_int_equal(count_lights(&d, quads), 0);

    view = draw_above(1600, 1600, 2.2, 2 * DEGREE);
    d = draw_start(&view, DRAW_FLOOR);
    draw_box(&d, (sw_point){0, 0}, 400, 400, 0, 0.7);
    assert_int_equal(count_lights(&d, quads), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cards_on_darker_tiles), cmocka_unit_test(tiles_are_no_cards), cmocka_unit_test(no_card),
        cmocka_unit_test(where_they_are),        cmocka_unit_test(one_rule_each),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
