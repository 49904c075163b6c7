/* Tables that somebody points at, on drawings: where the finder fails or is led astray, clicks as far off as promised bring the same
 * sides; and what cannot be the table is refused. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "support/clicks.h"
#include "support/draw.h"
#include "support/drawn_grid.h"

static const double DEGREE = 3.14159265358979323846 / 180;
/* What the stage promises to the next. */
static const double NEAR_MM = 3.5;

/* Where the table's outer corners are seen, NW NE SE SW. */
static void outer_corners(const draw_table *t, sw_point *mm)
{
    int c = t->columns - 1, r = t->rows - 1;
    mm[0] = draw_on_tile(t, 0, 0, 0, 0);
    mm[1] = draw_on_tile(t, c, 0, t->tile_mm, 0);
    mm[2] = draw_on_tile(t, c, r, t->tile_mm, t->tile_mm);
    mm[3] = draw_on_tile(t, 0, r, 0, t->tile_mm);
}

/* Clicks that are off by all that is promised. */
static sw_corners clicks(const draw_view *view, const draw_table *t, uint32_t *seed)
{
    sw_point at[4];
    outer_corners(t, at);
    for (int i = 0; i < 4; i++)
        at[i] = draw_px(view, click_near(at[i], SW_POINTED_OFF_MM, seed));
    return clicked(at, seed);
}

typedef void surroundings(drawing *d, const draw_table *t);

static drawing draw(const draw_view *view, const draw_table *t, surroundings *around)
{
    drawing d = draw_start(view, DRAW_FLOOR);
    if (around)
        around(&d, t);
    draw_put_table(&d, t);
    put_cards(&d, t);
    return d;
}

/* With clicks off by all that is promised, several times over. */
static void expect_pointed(const draw_view *view, const draw_table *t, surroundings *around, sw_table said,
                           double least_seen)
{
    uint32_t seed = 17;
    for (int round = 0; round < 2; round++) {
        drawing d = draw(view, t, around);
        sw_corners told = clicks(view, t, &seed);
        found f = look_at_drawing(&d, said, &told);
        if (f.status)
            fail_msg("%dx%d, round %d: %s", t->columns, t->rows, round, f.err.text);
        if (f.table.columns != t->columns || f.table.rows != t->rows)
            fail_msg("%dx%d tiles instead of %dx%d", f.table.columns, f.table.rows, t->columns, t->rows);
        expect_sides(&f, view, t, NEAR_MM, least_seen);
        free(f.grid);
    }
}

/* Whether the finder, left alone, finds this table; where it does not and says so, the sentence names the way out. */
static bool is_found(const draw_view *view, const draw_table *t, surroundings *around, const char *sentence)
{
    drawing d = draw(view, t, around);
    found f = look_at_drawing(&d, (sw_table){0}, NULL);
    bool right = !f.status && f.table.columns == t->columns && f.table.rows == t->rows;
    if (f.status && (!strstr(f.err.text, sentence) || !strstr(f.err.text, "--corners x,y")))
        fail_msg("\"%s\"", f.err.text);
    free(f.grid);
    return right;
}

static void tables_that_are_found_too(void **state)
{
    (void)state;
    draw_view above = draw_above(2000, 2000, 2.1, 2 * DEGREE), turned = draw_above(2400, 2400, 2.1, 22 * DEGREE),
              aslant = draw_from(3000, 2600, 3000, (double[]){160, -270, 1100}, (sw_point){0, 0});
    draw_table t = draw_even_table(3, 3, 250, 1.2), small = draw_even_table(4, 3, 120, 1),
               pair = draw_even_table(2, 1, 300, 1), one = draw_even_table(1, 1, 300, 0);
    expect_pointed(&above, &t, NULL, (sw_table){0}, 0.8);
    expect_pointed(&turned, &t, NULL, (sw_table){.columns = 3, .rows = 3}, 0.8);
    expect_pointed(&aslant, &t, NULL, (sw_table){.tile_mm = 250}, 0.8);
    expect_pointed(&aslant, &pair, NULL, (sw_table){0}, 0.8);
    expect_pointed(&above, &one, NULL, (sw_table){.columns = 1, .rows = 1}, 0.8);
    draw_table cards_fit = small;
    cards_fit.tile_mm = 180;
    expect_pointed(&above, &cards_fit, NULL, (sw_table){0}, 0.8);
}

/* Stripes of a cloth along the table, as wide as half a tile. */
static void striped_cloth(drawing *d, const draw_table *t)
{
    for (int i = -12; i <= 12; i++)
        draw_box(d, (sw_point){(i + 0.3) * t->tile_mm / 2, 0}, t->tile_mm / 4, 3000, 0, 0.6);
}

/* A cloth with checks as large as the tiles, in line with them: a larger table for all that the finder can tell. */
static void checked_cloth(drawing *d, const draw_table *t)
{
    for (int i = -6; i <= 6; i++) {
        double at = (i + 0.5 * (t->columns % 2)) * (t->tile_mm + t->upright_mm[0]);
        draw_box(d, (sw_point){at, 0}, 4, 3000, 0, 0.03);
        draw_box(d, (sw_point){0, at}, 3000, 4, 0, 0.03);
    }
}

/* A floor as bright as the tops. */
static void bright_floor(drawing *d, const draw_table *t)
{
    (void)t;
    draw_box(d, (sw_point){0, 0}, 3000, 3000, 0, DRAW_TOP);
}

static void floors_that_lead_astray(void **state)
{
    (void)state;
    draw_view view = draw_above(2200, 2000, 1.9, 1 * DEGREE);
    draw_table t = draw_even_table(3, 3, 250, 1.2);
    assert_false(is_found(&view, &t, checked_cloth, "cut off"));
    expect_pointed(&view, &t, checked_cloth, (sw_table){0}, 0.8);
    expect_pointed(&view, &t, striped_cloth, (sw_table){0}, 0.5);
    expect_pointed(&view, &t, striped_cloth, (sw_table){.columns = 3, .rows = 3, .tile_mm = 250}, 0.5);
}

/* Outer sides that do not show are where the clicks are: as good as these, and not seen. Inner ones are as good as ever. */
static void a_floor_as_bright_as_the_tops(void **state)
{
    (void)state;
    uint32_t seed = 5;
    draw_view view = draw_above(1800, 1400, 1.9, 1 * DEGREE);
    draw_table t = draw_even_table(3, 2, 250, 1.2);
    assert_false(is_found(&view, &t, bright_floor, "no square tiles were found"));
    for (int round = 0; round < 2; round++) {
        drawing d = draw(&view, &t, bright_floor);
        sw_corners told = clicks(&view, &t, &seed);
        found f = look_at_drawing(&d, (sw_table){0}, &told);
        if (f.status)
            fail_msg("%s", f.err.text);
        assert_true(f.table.columns == 3 && f.table.rows == 2);
        expect_sides(&f, &view, &t, NEAR_MM, 0);
        assert_true(f.grid->upright[1][0].seen > 0.8 && f.grid->level[1][1].seen > 0.8);
        assert_true(f.grid->upright[0][0].seen < 0.5 && f.grid->level[1][0].seen < 0.5);
        free(f.grid);
    }
}

/* All clicks off the same way, by nearly twice as much as is promised: still the table's own lines. */
static void clicks_all_off_one_way(void **state)
{
    (void)state;
    draw_view view = draw_above(2000, 2000, 2.1, 2 * DEGREE);
    draw_table t = draw_even_table(3, 3, 250, 1.2);
    for (int way = 0; way < 4; way++) {
        drawing d = draw(&view, &t, NULL);
        double off = way % 2 ? 14 : -14;
        sw_corners told;
        outer_corners(&t, told.shown_px);
        for (int i = 0; i < 4; i++) {
            sw_point at = told.shown_px[i];
            told.shown_px[i] = draw_px(&view, (sw_point){at.x + (way < 2 ? off : 0), at.y + (way < 2 ? 0 : off)});
        }
        found f = look_at_drawing(&d, (sw_table){0}, &told);
        if (f.status)
            fail_msg("way %d: %s", way, f.err.text);
        assert_true(f.table.columns == 3 && f.table.rows == 3);
        expect_sides(&f, &view, &t, NEAR_MM, 0.8);
        free(f.grid);
    }
}

/* A line of seams that do not show is where its neighbours and the corners put it, where the user says how many tiles there are. */
static void a_line_shut(void **state)
{
    (void)state;
    draw_view view = draw_above(2000, 2000, 2.1, 1.5 * DEGREE);
    for (int line = 0; line < 2; line++) {
        draw_table t = draw_even_table(3, 3, 250, 1.2);
        (line ? t.level_mm : t.upright_mm)[line] = 0;
        expect_pointed(&view, &t, NULL, (sw_table){.columns = 3, .rows = 3}, 0);
        expect_pointed(&view, &t, NULL, (sw_table){.tile_mm = 250}, 0);
    }
}

static void refuse(sw_table said, const sw_point *corners_mm, sw_status status, const char *sentence)
{
    const draw_view view = draw_above(2000, 2000, 2.1, 1.5 * DEGREE);
    const draw_table t = draw_even_table(3, 3, 250, 1.2);
    sw_corners told;
    drawing d = draw(&view, &t, NULL);
    for (int i = 0; i < 4; i++)
        told.shown_px[i] = draw_px(&view, corners_mm[i]);
    found f = look_at_drawing(&d, said, &told);
    if (f.status != status || !strstr(f.err.text, sentence) || !strstr(f.err.text, "--"))
        fail_msg("status %d, \"%s\" instead of %d with \"%s\"", f.status, f.err.text, status, sentence);
    free(f.grid);
}

static void what_is_no_table(void **state)
{
    (void)state;
    const draw_table t = draw_even_table(3, 3, 250, 1.2);
    const sw_point askew[4] = {{-376, 376}, {376, 376}, {376, -376}, {-290, -376}},
                   bare[4] = {{-120, 120}, {120, 120}, {120, -120}, {-120, -120}};
    sw_point right[4];
    outer_corners(&t, right);
    refuse((sw_table){0}, askew, SW_BAD_INPUT,
           "not the corners of a rectangle: by the card, the sides between them measure");
    refuse((sw_table){0}, bare, SW_BAD_INPUT, "no reference square lies on the table");
    refuse((sw_table){.columns = 3, .rows = 2}, right, SW_NOT_FOUND, "no seams of these square tiles show");
    refuse((sw_table){.columns = 2, .rows = 2}, right, SW_NOT_FOUND, "leave --table out");
    refuse((sw_table){.tile_mm = 190}, right, SW_NOT_FOUND, "leave --tile out");
    refuse((sw_table){.columns = 3, .rows = 3, .tile_mm = 300}, right, SW_BAD_INPUT, "not 300 mm");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_that_are_found_too),     cmocka_unit_test(floors_that_lead_astray),
        cmocka_unit_test(a_floor_as_bright_as_the_tops), cmocka_unit_test(a_line_shut),
        cmocka_unit_test(clicks_all_off_one_way),        cmocka_unit_test(what_is_no_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
