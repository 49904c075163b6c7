/* How far any two faces may hold tops apart, from one inspection of a made-up table of known leans, and which is most
 * worth a touch. */
#include "support/maths_check.h"

#include "lean/faces.h"
#include "support/made/made_table.h"

enum { A1_EAST = 1, B1_EAST = 5, B1_WEST = 7, C1_EAST = 9, C1_WEST = 11, A1_WEST = 3 };

/* Three square tiles in a row, pushed tight; only A1's east face leans, by 1.2 mm. */
static sw_faces row(const sw_lean_answer *answers, size_t count)
{
    static const made_quality TIGHT = {.touching = 1};
    sw_inspection ins;
    sw_faces faces;
    sw_error err = {""};
    made_table table = made_new(3, 1, 300);
    table.tiles[0].edges[SW_EAST].lean_mm = 1.2;
    made_lay(&table, &TIGHT, 1);
    made_inspect(&table, &made_exact, 0.5, 1, &ins);
    const sw_lean_sources from = {&ins, 1, NULL, NULL, NULL, answers, count};
    if (sw_faces_make(&from, &faces, &err))
        fail_msg("%s", err.text);
    sw_inspection_free(&ins);
    made_free(&table);
    return faces;
}

static void apart(const sw_faces *faces, const char *what, int a, int b, double least_mm, double most_mm)
{
    sw_apart one = sw_faces_apart(faces, a, b), other = sw_faces_apart(faces, b, a);
    expect_near(what, one.least_mm, least_mm, 0.05);
    expect_near(what, one.most_mm, most_mm, 0.05);
    assert_true(one.least_mm == other.least_mm && one.most_mm == other.most_mm);
}

/* Tight is 0.1 mm. Together A1 east and B1 west hold 1.2 mm; which of the two does is open, so against others each may. */
static void one_photo(void **state)
{
    (void)state;
    sw_faces faces = row(NULL, 0);
    assert_true(faces.known[A1_EAST] && faces.known[C1_WEST] && !faces.known[A1_WEST] && !faces.known[C1_EAST]);
    expect_near("as much as any", faces.likely_mm, 1.2, 0.05);
    apart(&faces, "they met", A1_EAST, B1_WEST, 1.1, 1.2);
    apart(&faces, "they met, closed", B1_EAST, C1_WEST, 0, 0.01);
    apart(&faces, "one may lean", A1_EAST, C1_WEST, 0, 1.2);
    apart(&faces, "one unknown", C1_WEST, C1_EAST, 0, 1.2);
    apart(&faces, "both may", A1_EAST, C1_EAST, 0, 2.4);
    sw_faces_free(&faces);
}

static void a_touch(void **state)
{
    (void)state;
    static const sw_lean_answer SQUARE = {1, SW_WEST, 0};
    sw_faces faces = row(NULL, 0);
    assert_int_equal(sw_faces_ask(&faces, A1_EAST, C1_WEST), A1_EAST);
    assert_int_equal(sw_faces_ask(&faces, C1_WEST, A1_EAST), A1_EAST);
    assert_int_equal(sw_faces_ask(&faces, A1_WEST, A1_EAST), A1_EAST); /* a seam tells of it, so it tells of another */
    assert_int_equal(sw_faces_ask(&faces, B1_EAST, C1_WEST), -1);
    sw_faces_free(&faces);
    faces = row(&SQUARE, 1);
    apart(&faces, "now it is known to", A1_EAST, C1_WEST, 1.0, 1.2);
    apart(&faces, "and this not to", B1_WEST, C1_WEST, 0, 0.1);
    assert_int_equal(sw_faces_ask(&faces, A1_EAST, B1_WEST), -1);
    assert_int_equal(sw_faces_ask(&faces, B1_WEST, C1_EAST), C1_EAST);
    sw_faces_free(&faces);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(one_photo), cmocka_unit_test(a_touch)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
