/* Notes: kinds and their names, places, texts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "inspection/copy.h"
#include "inspection/notes.h"

static void every_kind_has_a_name_of_its_own(void **state)
{
    (void)state;
    for (int kind = 0; kind < SW_NOTE_KINDS; kind++) {
        const char *name = sw_note_kind_name((sw_note_kind)kind);
        assert_non_null(name);
        assert_true(strlen(name) > 2);
        assert_int_equal(sw_note_kind_of(name), kind); /* so no two share a name */
    }
    assert_string_equal(sw_note_kind_name(SW_NOTE_SEAM_UNSEEN), "seam unseen");
}

static void what_is_no_kind_is_other(void **state)
{
    (void)state;
    assert_string_equal(sw_note_kind_name(SW_NOTE_KINDS), "other");
    assert_string_equal(sw_note_kind_name((sw_note_kind)-1), "other");
    assert_int_equal(sw_note_kind_of("too windy"), SW_NOTE_OTHER);
    assert_int_equal(sw_note_kind_of(""), SW_NOTE_OTHER);
}

static void notes_keep_their_order_kind_places_and_text(void **state)
{
    (void)state;
    sw_notes notes = {0};
    sw_note_at(&notes, "A1"); /* of no note */
    assert_int_equal(sw_note_add(&notes, SW_NOTE_ONE_SQUARE, "only %d", 1), SW_OK);
    assert_int_equal(sw_note_add(&notes, SW_NOTE_CHIP, "%s and %s", "A1 east", "B1 west"), SW_OK);
    sw_note_at(&notes, "A1 east");
    sw_note_at(&notes, "B1 west");
    assert_int_equal(notes.count, 2);
    assert_int_equal(notes.list[0].kind, SW_NOTE_ONE_SQUARE);
    assert_int_equal(notes.list[0].place_count, 0);
    assert_string_equal(notes.list[0].text, "only 1");
    assert_int_equal(notes.list[1].kind, SW_NOTE_CHIP);
    assert_int_equal(notes.list[1].place_count, 2);
    assert_string_equal(notes.list[1].places[0], "A1 east");
    assert_string_equal(notes.list[1].places[1], "B1 west");
    assert_string_equal(notes.list[1].text, "A1 east and B1 west");
    sw_notes_free(&notes);
    assert_null(notes.list);
    assert_int_equal(notes.count, 0);
    sw_notes_free(&notes);
    sw_notes_free(NULL);
}

/* One more place than there is room for, a name and a text too long for theirs. */
static void what_has_no_room_is_cut(void **state)
{
    (void)state;
    sw_notes notes = {0};
    char name[16], text[400];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = 0;
    assert_int_equal(sw_note_add(&notes, SW_NOTE_CHIP, "%s", text), SW_OK);
    for (int i = 0; i <= SW_NOTE_PLACES; i++) {
        snprintf(name, sizeof name, "A%d", i + 1);
        sw_note_at(&notes, i ? name : text);
    }
    assert_int_equal(strlen(notes.list[0].text), sizeof notes.list[0].text - 1);
    assert_int_equal(notes.list[0].place_count, SW_NOTE_PLACES);
    assert_int_equal(strlen(notes.list[0].places[0]), SW_PLACE_ROOM - 1);
    assert_string_equal(notes.list[0].places[SW_NOTE_PLACES - 1], "A16");
    assert_int_equal(notes.list[0].kind, SW_NOTE_CHIP);
    sw_notes_free(&notes);
}

static void nobody_need_want_them(void **state)
{
    (void)state;
    assert_int_equal(sw_note_add(NULL, SW_NOTE_CHIP, "a chip"), SW_OK);
    sw_note_at(NULL, "A1 east");
}

static void the_same_is_the_same_in_everything(void **state)
{
    (void)state;
    sw_notes notes = {0};
    for (int i = 0; i < 5; i++) {
        assert_int_equal(sw_note_add(&notes, i == 2 ? SW_NOTE_OTHER : SW_NOTE_CHIP, i == 3 ? "one" : "two"), SW_OK);
        sw_note_at(&notes, i == 4 ? "A1 east" : "A1 west");
    }
    assert_true(sw_note_same(&notes.list[0], &notes.list[1]));
    for (int i = 2; i < 5; i++)
        assert_false(sw_note_same(&notes.list[0], &notes.list[i]));
    sw_notes_free(&notes);
}

static void a_copy_has_notes_of_its_own(void **state)
{
    (void)state;
    sw_inspection first = {0}, second;
    assert_int_equal(sw_note_add(&first.notes, SW_NOTE_BLURRED, "blurred"), SW_OK);
    assert_int_equal(sw_inspection_copy(&first, &second, NULL), SW_OK);
    assert_ptr_not_equal(first.notes.list, second.notes.list);
    assert_int_equal(second.notes.count, 1);
    assert_true(sw_note_same(&first.notes.list[0], &second.notes.list[0]));
    sw_inspection_free(&first);
    assert_string_equal(second.notes.list[0].text, "blurred");
    sw_inspection_free(&second);
}

static void failing_is_said_once(void **state)
{
    (void)state;
    sw_error err = {""};
    assert_int_equal(sw_noted(SW_OK, &err), SW_OK);
    assert_string_equal(err.text, "");
    assert_int_equal(sw_noted(SW_NO_MEMORY, &err), SW_NO_MEMORY);
    assert_non_null(strstr(err.text, "not enough memory"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_has_a_name_of_its_own),
        cmocka_unit_test(what_is_no_kind_is_other),
        cmocka_unit_test(notes_keep_their_order_kind_places_and_text),
        cmocka_unit_test(what_has_no_room_is_cut),
        cmocka_unit_test(nobody_need_want_them),
        cmocka_unit_test(the_same_is_the_same_in_everything),
        cmocka_unit_test(a_copy_has_notes_of_its_own),
        cmocka_unit_test(failing_is_said_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
