/* Columns, rows and sides of drawn tables, and the sentences for what contradicts the user or is cut off. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "support/draw.h"
#include "support/drawn_grid.h"

static const double DEGREE = 3.14159265358979323846 / 180;

static void expect_found(drawing *d, const draw_table *t, sw_table said, double least_seen)
{
    const draw_view view = d->view;
    found f = look_at_drawing(d, said, NULL);
    if (f.status)
        fail_msg("%dx%d: %s", t->columns, t->rows, f.err.text);
    if (f.table.columns != t->columns || f.table.rows != t->rows)
        fail_msg("%dx%d tiles instead of %dx%d", f.table.columns, f.table.rows, t->columns, t->rows);
    assert_int_equal(f.grid->columns, t->columns);
    assert_int_equal(f.grid->rows, t->rows);
    assert_int_equal(f.table.tile_given, said.tile_mm > 0);
    expect_near("pitch", f.grid->tile_mm, t->tile_mm + t->upright_mm[0], 2);
    expect_near("nominal side", f.table.tile_mm, t->tile_mm, said.tile_mm > 0 ? 0 : 2.5);
    /* x along the rows to the east, north-west corner of A1 at the origin. */
    assert_true(hypot(f.grid->upright[0][0].from.x, f.grid->level[0][0].from.y) < 1e-6);
    const sw_grid_side *north = &f.grid->level[0][0];
    assert_true(north->to.x - north->from.x > 0.9 * t->tile_mm && fabs(north->to.y - north->from.y) < 3);
    assert_true(f.grid->upright[0][0].to.y < 0);
    expect_sides(&f, &view, t, 3.5, least_seen);
    free(f.grid);
}

static void expect_table(const draw_view *view, const draw_table *t, sw_table said, double least_seen)
{
    drawing d = draw_start(view, DRAW_FLOOR);
    draw_put_table(&d, t);
    put_cards(&d, t);
    expect_found(&d, t, said, least_seen);
}

static void square_tables(void **state)
{
    (void)state;
    const sw_table nothing = {0};
    draw_view two = draw_above(2600, 2600, 3.6, 1.5 * DEGREE), three = draw_above(3200, 3200, 3, -2 * DEGREE);
    draw_table t = draw_even_table(2, 2, 300, 1.5);
    expect_table(&two, &t, nothing, 0.8);
    t = draw_even_table(3, 3, 300, 1.2);
    expect_table(&three, &t, nothing, 0.8);
}

static void four_by_three(void **state)
{
    (void)state;
    const sw_table nothing = {0}, said = {.columns = 4, .rows = 3, .tile_mm = 200};
    draw_view view = draw_from(3400, 2800, 3300, (double[]){60, -170, 1100}, (sw_point){0, 0});
    draw_table t = draw_even_table(4, 3, 200, 1.5);
    expect_table(&view, &t, nothing, 0.8);
    expect_table(&view, &t, said, 0.8);
}

static void turned_by_20_degrees(void **state)
{
    (void)state;
    const sw_table nothing = {0};
    draw_view view = draw_above(3600, 3600, 2.7, 20 * DEGREE);
    draw_table t = draw_even_table(3, 3, 300, 1.2);
    expect_table(&view, &t, nothing, 0.8);
    view = draw_above(3600, 3000, 2.7, -20 * DEGREE);
    t = draw_even_table(3, 2, 300, 1.2);
    expect_table(&view, &t, nothing, 0.8);
}

/* Closes the gap between a tile and the one east (or south) of it by making both a little larger. */
static void shut(drawing *d, const draw_table *t, int column, int row, int east)
{
    double side = t->tile_mm, gap = east ? t->upright_mm[column] : t->level_mm[row];
    sw_point middle = east ? draw_on_tile(t, column, row, side + gap / 2, side / 2)
                           : draw_on_tile(t, column, row, side / 2, side + gap / 2);
    draw_box(d, middle, east ? gap + 1 : side, east ? side : gap + 1, 0, DRAW_TOP);
}

/* A seam that shows nothing at all is where its neighbours and the tile size put it. */
static void one_shut_seam(void **state)
{
    (void)state;
    static const struct {
        int column, row, east;
    } seams[] = {{1, 0, 1}, {0, 1, 0}, {1, 1, 0}};
    draw_view view = draw_above(2400, 2400, 2.2, 1.5 * DEGREE);
    draw_table t = draw_even_table(3, 3, 300, 1.2);
    for (int i = 0; i < 3; i++)
        for (int said = 0; said < 2; said++) {
            drawing d = draw_start(&view, DRAW_FLOOR);
            draw_put_table(&d, &t);
            shut(&d, &t, seams[i].column, seams[i].row, seams[i].east);
            put_cards(&d, &t);
            expect_found(&d, &t, (sw_table){.tile_mm = said ? 300 : 0}, 0);
        }
}

/* So is a whole line of shut seams: the table's other lines and its outline say where, with the tile size or without.
 */
static void a_whole_line_shut(void **state)
{
    (void)state;
    draw_view view = draw_above(2400, 2400, 2.2, 1.5 * DEGREE);
    for (int said = 1; said >= 0; said--)
        for (int line = 0; line < 5; line++) {
            draw_table t = draw_even_table(line < 4 ? 3 : 2, line < 4 ? 3 : 2, 300, 1.2);
            (line % 2 ? t.level_mm : t.upright_mm)[line / 2 % 2] = 0;
            expect_table(&view, &t, (sw_table){.tile_mm = said ? 300 : 0}, 0);
        }
}

/* What the user said against what the picture shows. */
static void expect_refusal(const draw_view *view, const draw_table *t, sw_table said, sw_status status,
                           const char *sentence)
{
    drawing d = draw_start(view, DRAW_FLOOR);
    draw_put_table(&d, t);
    put_cards(&d, t);
    found f = look_at_drawing(&d, said, NULL);
    if (f.status != status || !strstr(f.err.text, sentence))
        fail_msg("status %d, \"%s\" instead of %d with \"%s\"", f.status, f.err.text, status, sentence);
    assert_true(strncmp(f.err.text, "drawing: ", 9) == 0);
    assert_null(strchr(f.err.text, '\n'));
    free(f.grid);
}

static void what_contradicts_the_user(void **state)
{
    (void)state;
    draw_view view = draw_above(2600, 2600, 3.6, 1.5 * DEGREE);
    draw_table t = draw_even_table(2, 2, 300, 1.5);
    expect_refusal(&view, &t, (sw_table){.columns = 3, .rows = 3}, SW_BAD_INPUT,
                   "2 x 2 tiles (across x down), not 3 x 3");
    expect_refusal(&view, &t, (sw_table){.columns = 2, .rows = 1}, SW_BAD_INPUT,
                   "2 x 2 tiles (across x down), not 2 x 1");
    /* A tile of another size, or a reference of another size than said: both read as tiles of the wrong size. */
    expect_refusal(&view, &t, (sw_table){.tile_mm = 250}, SW_BAD_INPUT, "300 mm, not 250 mm");
    expect_refusal(&view, &t, (sw_table){.tile_mm = 400}, SW_BAD_INPUT, "300 mm, not 400 mm");
    expect_refusal(&view, &t, (sw_table){.tile_mm = 180}, SW_BAD_INPUT, "300 mm, not 180 mm");
}

/* Half of a tile's size, or twice: seams that nothing shows, or lines through every tile. */
static void what_the_lines_contradict(void **state)
{
    (void)state;
    draw_view view = draw_above(1500, 1500, 2.1, 1.5 * DEGREE);
    draw_table t = draw_even_table(2, 2, 300, 1.5), wide = draw_even_table(3, 2, 180, 1);
    expect_refusal(&view, &t, (sw_table){.tile_mm = 150}, SW_BAD_INPUT,
                   "shows 2 x 2 tiles (across x down) of about 30");
    expect_refusal(&view, &t, (sw_table){.columns = 4, .rows = 4, .tile_mm = 150}, SW_BAD_INPUT,
                   "no line where tiles of 150 mm would meet");
    expect_refusal(&view, &t, (sw_table){.tile_mm = 100}, SW_BAD_INPUT, "no line where tiles of 100 mm would meet");
    expect_refusal(&view, &t, (sw_table){.tile_mm = 600}, SW_BAD_INPUT,
                   "lines like seams run through the tiles of 600 mm");
    expect_refusal(&view, &t, (sw_table){.columns = 1, .rows = 1, .tile_mm = 600}, SW_BAD_INPUT, "shows 2 x 2 tiles");
    expect_refusal(&view, &wide, (sw_table){.tile_mm = 90}, SW_BAD_INPUT, "shows 3 x 2 tiles");
    wide.upright_mm[1] = 0; /* one line shut of three */
    expect_refusal(&view, &wide, (sw_table){.tile_mm = 90}, SW_BAD_INPUT, "shows 3 x 2 tiles");
}

/* Where no seam shows there may be none. */
static void all_seams_shut(void **state)
{
    (void)state;
    draw_view view = draw_above(1500, 1500, 2.1, 1.5 * DEGREE);
    draw_table t = draw_even_table(2, 2, 300, 0);
    expect_refusal(&view, &t, (sw_table){.tile_mm = 300}, SW_BAD_INPUT, "no line shows where tiles of 300 mm");
    expect_refusal(&view, &t, (sw_table){.columns = 2, .rows = 2, .tile_mm = 300}, SW_BAD_INPUT,
                   "no line shows where tiles of 300 mm");
    expect_refusal(&view, &t, (sw_table){.columns = 2, .rows = 2}, SW_BAD_INPUT, "tell the tiles' size (--tile)");
}

static void one_tile(void **state)
{
    (void)state;
    draw_view view = draw_above(1200, 1200, 2.1, 1.5 * DEGREE);
    draw_table t = draw_even_table(1, 1, 300, 0);
    expect_refusal(&view, &t, (sw_table){0}, SW_BAD_INPUT, "tell --table 1x1");
    expect_refusal(&view, &t, (sw_table){.tile_mm = 300}, SW_BAD_INPUT, "only one tile was found");
    expect_table(&view, &t, (sw_table){.columns = 1, .rows = 1}, 0.8);
}

/* Print through the middle of every tile is no seam: not as dark. */
static void print_through_the_tiles(void **state)
{
    (void)state;
    const double faint = 0.8 * DRAW_TOP;
    draw_view view = draw_above(1500, 1500, 2.1, 1.5 * DEGREE);
    draw_table t = draw_even_table(2, 2, 300, 1.5);
    drawing d = draw_start(&view, DRAW_FLOOR);
    draw_put_table(&d, &t);
    for (int i = 0; i < 4; i++) {
        draw_box(&d, draw_on_tile(&t, i % 2, i / 2, 150, 150), 1.5, 299, 0, faint);
        draw_box(&d, draw_on_tile(&t, i % 2, i / 2, 150, 150), 299, 1.5, 0, faint);
    }
    draw_card card = {draw_on_tile(&t, 0, 0, 75, 75), 0.1, 100, 60, 12, 0};
    draw_put_card(&d, &card);
    expect_found(&d, &t, (sw_table){.tile_mm = 300}, 0.8);
}

/* Lines that show for 0.4 of their length, as seams that are closed but for some places do, halve every tile of a table whose own seams hardly show:
 * nobody knows which it is but the user. */
static void faint_lines_through_the_tiles(void **state)
{
    (void)state;
    enum { LONG_MM = 110, SEAM_MM = 200 };
    draw_view view = draw_above(1600, 1000, 2.1, 1.5 * DEGREE);
    static const sw_table said[] = {{0}, {.tile_mm = 300}, {.columns = 2, .rows = 1}};
    for (int i = 0; i < 3; i++) {
        const draw_table t = draw_even_table(2, 1, 300, 0);
        drawing d = draw_start(&view, DRAW_FLOOR);
        draw_put_table(&d, &t);
        for (int tile = 0; tile < 2; tile++) {
            draw_box(&d, draw_on_tile(&t, tile, 0, 150, 200), 0.3, LONG_MM, 0, DRAW_FLOOR);
            draw_box(&d, draw_on_tile(&t, tile, 0, 200, 150), LONG_MM, 0.3, 0, DRAW_FLOOR);
        }
        draw_box(&d, draw_on_tile(&t, 0, 0, 300, 150), 0.3, SEAM_MM, 0, DRAW_FLOOR);
        draw_card card = {draw_on_tile(&t, 0, 0, 75, 75), 0.1, 100, 60, 12, 0};
        draw_put_card(&d, &card);
        if (i > 0) {
            expect_found(&d, &t, said[i], 0);
            continue;
        }
        found f = look_at_drawing(&d, said[i], NULL);
        if (f.status != SW_BAD_INPUT || !strstr(f.err.text, "2 x 1 tiles") || !strstr(f.err.text, "4 x 2, of about 15"))
            fail_msg("status %d, \"%s\" %dx%d", f.status, f.err.text, f.table.columns, f.table.rows);
        free(f.grid);
    }
}

/* The picture's middle moves over the table, so that one side of it leaves the picture: by a part of a tile, or by a
 * whole one and a part. */
static void check_cut_off(double part_mm, const char *side, double east, double north)
{
    draw_table t = draw_even_table(3, 3, 300, 1.5);
    draw_view view = draw_above(2700, 2700, 2.7, 1 * DEGREE);
    double cut = part_mm + 500 - 1.5 * 300; /* half the picture is 500 mm, half the table 450 mm */
    sw_point middle = draw_px(&view, (sw_point){-cut * east, -cut * north});
    double dx = middle.x - (view.width_px - 1) / 2.0, dy = middle.y - (view.height_px - 1) / 2.0;
    for (int k = 0; k < 3; k++) {
        view.h[0][k] -= dx * view.h[2][k];
        view.h[1][k] -= dy * view.h[2][k];
    }
    drawing d = draw_start(&view, DRAW_FLOOR);
    draw_card card = {draw_on_tile(&t, 1, 1, 150, 160), 0.1, 100, 60, 12, 0};
    draw_put_table(&d, &t);
    draw_put_card(&d, &card);
    found f = look_at_drawing(&d, (sw_table){0}, NULL);
    char want[64] = "cut off at the ";
    strcat(want, side);
    if (f.status != SW_BAD_INPUT || !strstr(f.err.text, want))
        fail_msg("%g mm cut off at the %s: status %d, %d x %d, \"%s\"", part_mm, side, f.status, f.table.columns,
                 f.table.rows, f.err.text);
    free(f.grid);
}

static void half_a_tile_cut_off(void **state)
{
    (void)state;
    check_cut_off(150, "left", -1, 0);
    check_cut_off(150, "right", 1, 0);
    check_cut_off(150, "top", 0, 1);
    check_cut_off(150, "bottom", 0, -1);
}

static void a_hand_cut_off(void **state)
{
    (void)state;
    check_cut_off(60, "left", -1, 0);
    check_cut_off(60, "right", 1, 0);
    check_cut_off(60, "top", 0, 1);
    check_cut_off(60, "bottom", 0, -1);
}

static void most_of_a_tile_cut_off(void **state)
{
    (void)state;
    check_cut_off(280, "left", -1, 0);
    check_cut_off(280, "top", 0, 1);
    check_cut_off(288, "right", 1, 0);
    check_cut_off(288, "bottom", 0, -1);
    check_cut_off(230, "left", -1, 0);
    check_cut_off(230, "bottom", 0, -1);
}

/* The picture's upper end lies so far above the table's northern side, on a floor of boards that go on the tiles' lines. */
static found look_near_the_frame(double room_mm, double floor)
{
    draw_table t = draw_even_table(2, 2, 300, 1.5);
    draw_view view = draw_above(1500, 1500, 2.1, 0);
    double down = 1500 / 2.1 / 2 - 300.75 - room_mm;
    sw_point middle = draw_px(&view, (sw_point){0, -down});
    double dy = middle.y - (view.height_px - 1) / 2.0;
    for (int k = 0; k < 3; k++)
        view.h[1][k] -= dy * view.h[2][k];
    drawing d = draw_start(&view, floor);
    for (int i = -1; i <= 1; i++)
        draw_box(&d, (sw_point){i * 300, 0}, 1.5, 2000, 0, DRAW_BLACK);
    draw_card card = {draw_on_tile(&t, 0, 1, 150, 160), 0.1, 100, 60, 12, 0};
    draw_put_table(&d, &t);
    draw_put_card(&d, &card);
    return look_at_drawing(&d, (sw_table){0}, NULL);
}

/* It is said when the table reaches the picture's edge, and when it does only nearly so nothing is; boards of a floor are no tiles. */
static void near_the_frame(void **state)
{
    (void)state;
    static const struct {
        double room_mm;
        bool touches;
    } rooms[] = {{1, true}, {8, false}, {30, false}, {100, false}};
    for (int i = 0; i < 4; i++) {
        found f = look_near_the_frame(rooms[i].room_mm, DRAW_FLOOR);
        if (f.status)
            fail_msg("%g mm: %s", rooms[i].room_mm, f.err.text);
        assert_int_equal(f.table.rows, 2);
        for (int side = 0; side < SW_GRID_SIDES; side++)
            if (f.grid->touches[side] != (side == 2 && rooms[i].touches))
                fail_msg("%g mm, side %d: %d", rooms[i].room_mm, side, f.grid->touches[side]);
        free(f.grid);
    }
    /* Nearly as light as the tiles, it may be tiles. */
    found f = look_near_the_frame(30, 0.93 * DRAW_TOP);
    if (f.status != SW_BAD_INPUT || !strstr(f.err.text, "cut off at the top"))
        fail_msg("status %d, %d x %d, \"%s\"", f.status, f.table.columns, f.table.rows, f.err.text);
    free(f.grid);
}

/* A card on a bare floor, and one on a single large sheet that is no square tile. */
static void no_tiles(void **state)
{
    (void)state;
    draw_view view = draw_above(2600, 2200, 3, 0);
    for (int sheet = 0; sheet < 2; sheet++) {
        drawing d = draw_start(&view, DRAW_FLOOR);
        draw_card card = {{10, 0}, 0.1, 100, 60, 12, 0};
        if (sheet)
            draw_box(&d, (sw_point){0, 0}, 700, 250, 0.05, DRAW_TOP);
        draw_put_card(&d, &card);
        found f = look_at_drawing(&d, (sw_table){0}, NULL);
        if (f.status != SW_NOT_FOUND || !strstr(f.err.text, "no square tiles were found"))
            fail_msg("sheet %d: status %d, %dx%d of %g, \"%s\"", sheet, f.status, f.table.columns, f.table.rows,
                     f.table.tile_mm, f.err.text);
        free(f.grid);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(square_tables),
        cmocka_unit_test(four_by_three),
        cmocka_unit_test(turned_by_20_degrees),
        cmocka_unit_test(one_shut_seam),
        cmocka_unit_test(a_whole_line_shut),
        cmocka_unit_test(what_contradicts_the_user),
        cmocka_unit_test(what_the_lines_contradict),
        cmocka_unit_test(all_seams_shut),
        cmocka_unit_test(one_tile),
        cmocka_unit_test(near_the_frame),
        cmocka_unit_test(print_through_the_tiles),
        cmocka_unit_test(faint_lines_through_the_tiles),
        cmocka_unit_test(a_hand_cut_off),
        cmocka_unit_test(half_a_tile_cut_off),
        cmocka_unit_test(most_of_a_tile_cut_off),
        cmocka_unit_test(no_tiles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
