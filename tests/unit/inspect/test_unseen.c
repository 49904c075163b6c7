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

enum { TEXT_ROOM = 320 };

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

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(from_a_fiftieth_on)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
