/* Seams of which a part was not seen are told from a fiftieth of their stations on. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspect/unseen.h"
#include "support/fixture.h"

enum { TEXT_ROOM = 512 };

/* How many seams are told of when so many stations of the first seam were not seen, and all others were. */
static size_t told(size_t unseen, char text[TEXT_ROOM])
{
    sw_inspection ins;
    fixture_inspection(&ins);
    sw_notes_free(&ins.notes);
    for (size_t i = 0; i < ins.seam_count; i++)
        for (size_t k = 0; k < ins.seams[i].station_count; k++)
            ins.seams[i].stations[k].state = i == 0 && k < unseen ? SW_STATION_UNSEEN : SW_STATION_OK;
    assert_true(ins.seams[0].station_count >= 100);
    assert_int_equal(sw_note_unseen(&ins), SW_OK);
    size_t count = ins.notes.count;
    text[0] = '\0';
    if (count) {
        assert_int_equal(ins.notes.list[0].kind, SW_NOTE_SEAM_UNSEEN);
        assert_string_equal(ins.notes.list[0].places[0], ins.seams[0].name);
        snprintf(text, TEXT_ROOM, "%s", ins.notes.list[0].text);
    }
    sw_inspection_free(&ins);
    return count;
}

static void from_a_fiftieth_on(void **state)
{
    (void)state;
    char text[TEXT_ROOM];
    sw_inspection ins;
    fixture_inspection(&ins);
    size_t stations = ins.seams[0].station_count;
    sw_inspection_free(&ins);
    assert_int_equal(told(0, text), 0);
    assert_int_equal(told(stations / 50, text), 0);
    assert_int_equal(told(stations / 50 + 1, text), 1);
    assert_int_equal(told(stations / 10, text), 1);
    assert_non_null(strstr(text, ": 10 % of the seam could not be seen"));
}

/* What is said of the fixture's table (3 x 3) with these tiles gone, "A1 B2"; "" where it stays. */
static void said_without(const char *gone, char text[TEXT_ROOM])
{
    enum { SIDE = 3, TRACES = SIDE * (SIDE + 1) };
    sw_trace upright[TRACES] = {{0}}, level[TRACES] = {{0}};
    const sw_traces traces = {.columns = SIDE, .rows = SIDE, .upright = upright, .level = level};
    sw_inspection ins;
    sw_error err = {{0}};
    fixture_inspection(&ins);
    assert_int_equal(ins.tile_count, SIDE * SIDE);
    for (size_t i = 0; i < ins.seam_count; i++) {
        const sw_seam *seam = &ins.seams[i];
        int column = seam->first % SIDE, row = seam->first / SIDE;
        sw_trace *t = seam->upright ? &upright[(column + 1) * SIDE + row] : &level[column * (SIDE + 1) + row + 1];
        t->no_tile[0] = strstr(gone, ins.tiles[seam->first].name) != NULL;
        t->no_tile[1] = strstr(gone, ins.tiles[seam->second].name) != NULL;
    }
    sw_status status = sw_refuse_misread(&ins, &traces, &err);
    assert_int_equal(status, err.text[0] ? SW_NOT_FOUND : SW_OK);
    snprintf(text, TEXT_ROOM, "%s", err.text);
    sw_inspection_free(&ins);
}

static void a_table_goes_as_far_as_its_tiles(void **state)
{
    static const struct {
        const char *gone, *said;
    } cases[] = {
        {"", ""},
        {"B2", ""},
        {"A1 B1 A2", ""},
        {"B1 B2 B3", ""}, /* within, a hole: the tables beside it are there */
        {"A1 A2 A3", "the whole western column"},
        {"C3 C2 C1", "the whole eastern column"},
        {"A1 B1 C1 B2", "the whole northern row"},
        {"A3 B3 C3", "the whole southern row"},
        {"A1 B1 C1 A2 C2 A3 B3 C3", "only one tile is there, where a table of 3 x 3 would have B2"},
    };
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        char text[TEXT_ROOM];
        said_without(cases[k].gone, text);
        if (cases[k].said[0] ? !strstr(text, cases[k].said) : text[0])
            fail_msg("without %s: %s", cases[k].gone, text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(from_a_fiftieth_on),
                                       cmocka_unit_test(a_table_goes_as_far_as_its_tiles)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
