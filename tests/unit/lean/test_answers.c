/* What a try square said: read as a person writes it, and left out where the photo shows that it cannot be. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "lean/answers.h"

enum { COLUMNS = 2, ROWS = 2, TILES = COLUMNS * ROWS };

static sw_inspection table_of(sw_tile tiles[TILES], sw_seam *seam)
{
    static const char *const names[TILES] = {"A1", "B1", "A2", "B2"};
    sw_inspection ins = {.tiles = tiles, .tile_count = TILES, .seams = seam, .seam_count = 1};
    ins.table.columns = COLUMNS;
    ins.table.rows = ROWS;
    for (int i = 0; i < TILES; i++) {
        tiles[i] = (sw_tile){.column = i % COLUMNS, .row = i / COLUMNS};
        strcpy(tiles[i].name, names[i]);
    }
    *seam = (sw_seam){.first = 0, .second = 1, .upright = true};
    return ins;
}

static void reads(const sw_inspection *first, const char *text, size_t count, sw_lean_answer last)
{
    sw_lean_answer *answers;
    size_t n;
    sw_error err = {{0}};
    if (sw_lean_answers_read(text, first, &answers, &n, &err) != SW_OK)
        fail_msg("'%s': %s", text, err.text);
    assert_int_equal(n, count);
    assert_true(answers[n - 1].tile == last.tile && answers[n - 1].side == last.side &&
                answers[n - 1].lean_mm == last.lean_mm);
    free(answers);
}

static void refuses(const sw_inspection *first, const char *text, const char *why)
{
    sw_lean_answer *answers = (sw_lean_answer *)1;
    size_t n = 9;
    sw_error err = {{0}};
    assert_int_equal(sw_lean_answers_read(text, first, &answers, &n, &err), SW_BAD_INPUT);
    assert_true(!answers && n == 0);
    if (!strstr(err.text, why))
        fail_msg("'%s': \"%s\" does not say \"%s\"", text, err.text, why);
}

static void from_text(void **state)
{
    (void)state;
    sw_tile tiles[TILES];
    sw_seam seam;
    const sw_inspection first = table_of(tiles, &seam);
    reads(&first, "B1 west=1.9", 1, (sw_lean_answer){1, SW_WEST, 1.9});
    reads(&first, "B1 east=1.9,A2 north=0", 2, (sw_lean_answer){2, SW_NORTH, 0});
    reads(&first, " b1 EAST = 20 , A1\tsouth=SQUARE ", 2, (sw_lean_answer){0, SW_SOUTH, 0});
    reads(&first, "A1 east=.5", 1, (sw_lean_answer){0, SW_EAST, 0.5});
    refuses(&first, "A1east=.5", "no edge");
    refuses(&first, "", "is no edge of this table, which has A1 to B2");
    refuses(&first, "A1", "'A1' is no edge");
    refuses(&first, "A1 up=1", "'A1 up' is no edge");
    refuses(&first, "A11 west=1", "no edge");
    refuses(&first, "A1 westward=1", "no edge");
    refuses(&first, "C1 west=1", "no edge");
    refuses(&first, "A1 west=1,", "no edge");
    refuses(&first, "A1 west=1,5", "'5' is no edge");
    refuses(&first, "A1 west", "joined by =");
    refuses(&first, "A1 west 1", "joined by =");
    refuses(&first, "A1 west=", "behind the =");
    refuses(&first, "A1 west=-1", "behind the =");
    refuses(&first, "A1 west=squares", "behind the =");
    refuses(&first, "A1 west=nan", "behind the =");
    refuses(&first, "A1 west=1mm", "bare numbers");
    refuses(&first, "A1 west=1.2.3", "bare numbers");
    refuses(&first, "A1 west=1e1", "bare numbers");
    refuses(&first, "A1 west=1 B1 west=1", "a comma between");
    refuses(&first, "A1 west=20.01", "from 0 to 20 mm");
    refuses(&first, "A1 west=0,B1 west=0,a1 West=1", "A1 west is answered for twice");
}

static size_t use(const sw_inspection *first, double least_mm, const sw_lean_answer *given, size_t count,
                  sw_notes *notes)
{
    double u95_mm = 0.1, seen = 1;
    const sw_openings e = {.count = 1, .least_mm = &least_mm, .least_u95_mm = &u95_mm, .seen = &seen};
    sw_lean_answer *used;
    size_t n;
    sw_error err = {{0}};
    if (sw_answers_used(given, count, first, &e, &used, &n, notes, &err))
        fail_msg("%s", err.text);
    free(used);
    return n;
}

/* The base of A1 east stands 1.5 mm proud, give or take 0.2 mm; the seam's ± is 0.1 mm. */
static void bases_cannot_overlap(void **state)
{
    (void)state;
    sw_tile tiles[TILES];
    sw_seam seam;
    sw_notes notes = {0};
    const sw_inspection first = table_of(tiles, &seam);
    const sw_lean_answer given[] = {{0, SW_EAST, 1.5}, {1, SW_EAST, 9}, {1, SW_WEST, 0}}; /* B1 east: at the rim */
    assert_int_equal(use(&first, 1.21, given, 3, &notes), 3);
    assert_int_equal(notes.count, 0);
    assert_int_equal(use(&first, 1.19, given, 3, &notes), 2);
    assert_int_equal(notes.count, 1);
    assert_int_equal(notes.list[0].kind, SW_NOTE_ANSWER_LEFT_OUT);
    assert_string_equal(notes.list[0].places[0], "A1 east");
    sw_notes_free(&notes);
}

static void what_is_no_answer(void **state)
{
    (void)state;
    static const sw_lean_answer WRONG[][2] = {
        {{0, SW_EAST, 1}, {0, SW_EAST, 1}}, {{0, SW_EAST, 0}, {TILES, SW_EAST, 0}}, {{0, SW_EAST, 0}, {-1, SW_EAST, 0}},
        {{0, SW_EAST, 0}, {1, 4, 0}},       {{0, SW_EAST, 0}, {1, SW_EAST, 20.1}},  {{0, SW_EAST, 0}, {1, 0, NAN}}};
    sw_tile tiles[TILES];
    sw_seam seam;
    const sw_inspection first = table_of(tiles, &seam);
    const sw_openings e = {.count = 0};
    for (size_t i = 0; i < sizeof WRONG / sizeof *WRONG; i++) {
        sw_lean_answer *used;
        size_t n;
        sw_error err;
        assert_int_equal(sw_answers_used(WRONG[i], 2, &first, &e, &used, &n, NULL, &err), SW_BAD_INPUT);
        assert_true(!used && n == 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(from_text), cmocka_unit_test(bases_cannot_overlap),
                                       cmocka_unit_test(what_is_no_answer)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
