/* What is said when the table reaches the photo's rim, and when the tiles are not of the size told. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/table_doubts.h"
#include "inspection/tiles_size.h"
#include "support/fixture.h"

/* The notes on a fixture's table whose tiles all measure `size_mm`, with 300 mm told or not. Free with sw_inspection_free. */
static sw_inspection looked_at(double size_mm, bool told, const bool touches[SW_GRID_SIDES])
{
    sw_inspection ins;
    sw_grid *grid = calloc(1, sizeof *grid);
    assert_non_null(grid);
    fixture_inspection(&ins);
    sw_notes_free(&ins.notes);
    ins.table.tile_mm = 300;
    ins.table.tile_given = told;
    for (size_t i = 0; i < ins.tile_count; i++)
        for (int k = 0; k < 4; k++) {
            ins.tiles[i].edges[k].length_mm = size_mm;
            ins.tiles[i].edges[k].length_u95_mm = 0.3;
        }
    ins.tiles[0].edges[0].length_mm = NAN; /* one was not seen, and one is odd */
    ins.tiles[0].edges[1].length_mm = size_mm + 20;
    memcpy(grid->touches, touches, sizeof grid->touches);
    assert_int_equal(sw_note_table(grid, sw_tiles_size_off(&ins), &ins), SW_OK);
    free(grid);
    return ins;
}

static void of_another_size(void **state)
{
    (void)state;
    const bool none[SW_GRID_SIDES] = {false};
    static const struct {
        double size_mm;
        bool told, doubted;
    } cases[] = {{300, true, false},  {297, true, false}, {303, true, false}, {291, true, true}, {310, true, true},
                 {291, false, false}, {90, false, true},  {90, true, true},   {700, false, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        sw_inspection ins = looked_at(cases[i].size_mm, cases[i].told, none);
        assert_true(fabs(sw_tiles_size(&ins, NULL) - cases[i].size_mm) < 1e-9);
        assert_int_equal(ins.notes.count, cases[i].doubted);
        if (cases[i].doubted)
            assert_int_equal(ins.notes.list[0].kind, SW_NOTE_SIZE_DOUBTFUL);
        sw_inspection_free(&ins);
    }
    /* Cards of 100 mm that make tiles of 300 mm look 291 mm wide are told 3 % too small. */
    sw_inspection ins = looked_at(291, true, none);
    double outer = (ins.scale.reference.outer_x_mm + ins.scale.reference.outer_y_mm) / 2;
    char want[64];
    snprintf(want, sizeof want, "the cards' outer side is %.1f mm and not %g mm", outer * 300 / 291, outer);
    assert_non_null(strstr(ins.notes.list[0].text, "291.0 mm where 300 mm were told, 3.0 % less"));
    assert_non_null(strstr(ins.notes.list[0].text, want));
    sw_inspection_free(&ins);
}

static void at_the_frame(void **state)
{
    (void)state;
    const bool top[SW_GRID_SIDES] = {false, false, true, false}, three[SW_GRID_SIDES] = {true, true, false, true};
    sw_inspection ins = looked_at(300, true, top);
    assert_int_equal(ins.notes.count, 1);
    assert_int_equal(ins.notes.list[0].kind, SW_NOTE_TABLE_AT_FRAME);
    assert_non_null(strstr(ins.notes.list[0].text, "edge at the top: "));
    sw_inspection_free(&ins);
    ins = looked_at(300, true, three);
    assert_non_null(strstr(ins.notes.list[0].text, "edge at the left, right and bottom: "));
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_another_size),
        cmocka_unit_test(at_the_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
