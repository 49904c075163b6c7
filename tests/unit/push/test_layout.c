/* Layouts: from text and back, and what is refused. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/layout.h"

/* A table of named tiles, nothing measured. Free with sw_inspection_free. */
static sw_inspection table_of(int columns, int rows)
{
    sw_inspection ins = {.table = {.columns = columns, .rows = rows}, .tile_count = (size_t)columns * (size_t)rows};
    ins.tiles = calloc(ins.tile_count, sizeof *ins.tiles);
    assert_non_null(ins.tiles);
    for (int i = 0; i < columns * rows; i++)
        snprintf(ins.tiles[i].name, sizeof ins.tiles[i].name, "%c%u", (char)('A' + i % columns),
                 (unsigned)(i / columns + 1) % 1000u);
    return ins;
}

static void as_is(void **state)
{
    (void)state;
    sw_inspection ins = table_of(3, 2);
    sw_layout layout;
    assert_int_equal(sw_layout_as_is(&ins, &layout, NULL), SW_OK);
    assert_int_equal(layout.columns, 3);
    assert_int_equal(layout.rows, 2);
    char *text = sw_layout_text(&layout, &ins);
    assert_string_equal(text, "A1 B1 C1 / A2 B2 C2");
    free(text);
    sw_layout_free(&layout);
    assert_null(layout.places);
    sw_layout_free(NULL);
    ins.table.rows = 3; /* a file that contradicts itself */
    assert_int_equal(sw_layout_as_is(&ins, &layout, NULL), SW_BAD_INPUT);
    assert_null(layout.places);
    ins.table.rows = 2;
    sw_inspection_free(&ins);
}

static void round_trip(void **state)
{
    (void)state;
    sw_inspection ins = table_of(2, 2);
    static const struct {
        const char *in, *out;
        int columns, rows;
    } cases[] = {{"A1 B1r / B2h A2", "A1 B1r / B2h A2", 2, 2},
                 {"  a2L/b1   /\tA1R\n/ b2 ", "A2l / B1 / A1r / B2", 1, 4},
                 {"B2 A2 A1l B1h", "B2 A2 A1l B1h", 4, 1}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        sw_layout layout;
        sw_error err = {{0}};
        if (sw_layout_read(cases[i].in, &ins, &layout, &err))
            fail_msg("%s: %s", cases[i].in, err.text);
        assert_int_equal(layout.columns, cases[i].columns);
        assert_int_equal(layout.rows, cases[i].rows);
        char *text = sw_layout_text(&layout, &ins);
        assert_string_equal(text, cases[i].out);
        free(text);
        sw_layout_free(&layout);
    }
    sw_layout layout;
    assert_int_equal(sw_layout_read("A1 B1r / B2h A2l", &ins, &layout, NULL), SW_OK);
    static const sw_place places[4] = {{0, 0}, {1, 1}, {3, 2}, {2, 3}};
    for (int i = 0; i < 4; i++) {
        assert_int_equal(layout.places[i].tile, places[i].tile);
        assert_int_equal(layout.places[i].turns, places[i].turns);
    }
    sw_layout_free(&layout);
    sw_inspection_free(&ins);
}

static void refused(void **state)
{
    (void)state;
    sw_inspection ins = table_of(2, 2);
    static const struct {
        const char *text, *says;
    } cases[] = {{"A1 B1 / C1 A2", "C1 is no tile"},
                 {"A1 B1 / A1r A2", "A1 comes twice"},
                 {"A1 B1q / B2 A2", "ends with 'q'"},
                 {"A1 B1 B2 / A2", "equally long"},
                 {"A1 B1 / B2", "equally long"},
                 {"A1 / B1", "names 2 tiles"},
                 {"A1 B1 / A2 B2 / A1 B1", "more tiles"},
                 {"", "row 1 is empty"},
                 {"A1 B1 // A2 B2", "row 2 is empty"},
                 {"A1 B1 / A2 B2 /", "row 3 is empty"},
                 {"r B1 / A2 B2", "no tile"},
                 {"A1rr B1 / A2 B2", "no tile"},
                 {"A11111111111111111111111111111111111111111111111111111111x", "ends with 'x'"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        sw_layout layout;
        sw_error err = {{0}};
        assert_int_equal(sw_layout_read(cases[i].text, &ins, &layout, &err), SW_BAD_INPUT);
        assert_null(layout.places);
        assert_int_equal(layout.columns, 0);
        if (!strstr(err.text, cases[i].says))
            fail_msg("\"%s\": \"%s\" does not say \"%s\"", cases[i].text, err.text, cases[i].says);
    }
    sw_inspection_free(&ins);
}

static void sides(void **state)
{
    (void)state;
    assert_int_equal(sw_side_turned(SW_NORTH, 1), SW_EAST);
    assert_int_equal(sw_side_turned(SW_WEST, 1), SW_NORTH);
    assert_int_equal(sw_side_turned(SW_EAST, 2), SW_WEST);
    assert_int_equal(sw_side_turned(SW_NORTH, -1), SW_WEST);
    assert_int_equal(sw_side_turned(SW_SOUTH, -7), SW_WEST);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(as_is), cmocka_unit_test(round_trip), cmocka_unit_test(refused),
                                       cmocka_unit_test(sides)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
