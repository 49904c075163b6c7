/* Which faces lean, from equations between facing edges. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "lean/lean.h"

static const double U95 = 0.06;
/* What an answer is good to: that a face is square, and how far a base stands proud. */
static const double SQUARE_U95 = 0.1, READ_U95 = 0.2;

static const sw_lean *lean_of(const sw_lean *leans, size_t count, int edge)
{
    for (size_t i = 0; i < count; i++)
        if (4 * leans[i].tile + (int)leans[i].side == edge)
            return &leans[i];
    fail_msg("no lean for edge %d", edge);
    return NULL;
}

enum { MOST = 4 };

static size_t make(const sw_lean_equation *equations, size_t count, sw_lean **leans)
{
    sw_lean_equation copy[MOST];
    size_t n = 0;
    sw_error err = {{0}};
    assert_true(count <= MOST);
    if (count)
        memcpy(copy, equations, count * sizeof *copy);
    if (sw_leans_make(copy, count, leans, &n, &err))
        fail_msg("%s", err.text);
    return n;
}

/* One equation for two faces: either may have all of it; least squares shares it. */
static void one_equation(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 0.8, 0.8, U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 1, &leans);
    assert_int_equal(n, 2);
    for (size_t i = 0; i < n; i++) {
        expect_near("shared", leans[i].lean_mm, 0.4, 1e-3);
        expect_near("least", leans[i].least_mm, 0, 1e-6);
        expect_near("most", leans[i].most_mm, 0.8 + U95, 1e-6);
        assert_int_equal(sw_lean_judge(&leans[0], &leans[1], (int)i, 0.8), SW_LEAN_OPEN);
    }
    free(leans);
}

/* A face that closes against another does not lean, so the one it stood off from does. */
static void a_closed_seam_tells(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 0.8, 0.8, U95, 0}, {{7, 10}, 0, 0, U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 2, &leans);
    assert_int_equal(n, 3);
    const sw_lean *one = lean_of(leans, n, 1), *seven = lean_of(leans, n, 7);
    expect_near("leans", one->lean_mm, 0.8, 0.02);
    expect_near("upright", seven->lean_mm, 0, 0.02);
    assert_true(one->least_mm > 0.5 && one->most_mm < 0.9);
    assert_int_equal(sw_lean_judge(one, seven, 0, 0.8), SW_LEAN_KNOWN);
    assert_int_equal(sw_lean_judge(one, seven, 1, 0.8), SW_LEAN_NONE);
    free(leans);
}

/* Both lean: three faces, three pairs, one answer: (s12 + s13 - s23) / 2. */
static void three_faces(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{0, 4}, 0.9, 0.9, U95, 0}, {{4, 8}, 1.3, 1.3, U95, 0}, {{0, 8}, 1.0, 1.0, U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 3, &leans);
    assert_int_equal(n, 3);
    expect_near("first", lean_of(leans, n, 0)->lean_mm, 0.3, 0.01);
    expect_near("second", lean_of(leans, n, 4)->lean_mm, 0.6, 0.01);
    expect_near("third", lean_of(leans, n, 8)->lean_mm, 0.7, 0.01);
    for (size_t i = 0; i < n; i++)
        assert_true(leans[i].least_mm <= leans[i].lean_mm && leans[i].lean_mm <= leans[i].most_mm);
    assert_int_equal(sw_lean_judge(lean_of(leans, n, 4), lean_of(leans, n, 8), 0, 1.3), SW_LEAN_KNOWN);
    assert_int_equal(sw_lean_judge(lean_of(leans, n, 4), lean_of(leans, n, 8), 1, 1.3), SW_LEAN_KNOWN);
    free(leans);
}

/* The same pair twice, 0.5 mm apart: as bases cannot overlap, the tiles were not pushed tight where they lay further
 * apart, and the nearer ones tell. */
static void contradiction(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 0.8, 0.8, U95, 0}, {{1, 7}, 0.3, 0.3, U95, 0}, {{7, 10}, 0, 0, U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 3, &leans);
    const sw_lean *one = lean_of(leans, n, 1);
    expect_near("leans", one->lean_mm, 0.3, 0.02);
    expect_near("most", one->most_mm, 0.3 + U95, 1e-5);
    assert_true(one->least_mm > 0 && one->least_mm < 0.3);
    free(leans);
}

/* What tops leave open when pushed is no lean for sure, but may be: the tiles lay further apart. */
static void tops_in_the_way(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 0.5, 0.9, U95, 0}, {{7, 10}, 0, 0, U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 2, &leans);
    const sw_lean *one = lean_of(leans, n, 1);
    expect_near("most", one->most_mm, 0.9 + U95, 1e-5);
    expect_near("least", one->least_mm, 0.5 - U95 - 0.1 - U95, 1e-5); /* 0.1: how tight hands push */
    free(leans);
}

/* Something else may hold the seam open: its other face is known not to lean, and still nothing is known of this one
 * but the most it can lean. */
static void held_open(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 2, 2, U95, 1}, {{7, 10}, 0, 0, U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 2, &leans);
    const sw_lean *one = lean_of(leans, n, 1), *seven = lean_of(leans, n, 7);
    expect_near("least", one->least_mm, 0, 1e-6);
    expect_near("most", one->most_mm, 2 + U95, 1e-5);
    assert_int_equal(sw_lean_judge(one, seven, 0, 2), SW_LEAN_OPEN);
    assert_int_equal(sw_lean_judge(one, seven, 1, 2), SW_LEAN_NONE);
    free(leans);
}

static void nothing_known(void **state)
{
    (void)state;
    sw_lean *leans;
    assert_int_equal(make(NULL, 0, &leans), 0);
    assert_int_equal(sw_lean_judge(NULL, NULL, 0, 1), SW_LEAN_OPEN);
    free(leans);
}

/* A try square held to one face tells of both: a square one clears it and blames the other. */
static void square(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 0.3, 0.3, U95, 0}, {{7, SW_LEAN_ONE_FACE}, 0, 0, SQUARE_U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 2, &leans);
    assert_int_equal(n, 2);
    const sw_lean *one = lean_of(leans, n, 1), *seven = lean_of(leans, n, 7);
    expect_near("leans", one->lean_mm, 0.3, 0.05);
    expect_near("upright", seven->most_mm, SQUARE_U95, 1e-5);
    assert_int_equal(sw_lean_judge(one, seven, 0, 0.3), SW_LEAN_KNOWN);
    assert_int_equal(sw_lean_judge(one, seven, 1, 0.3), SW_LEAN_NONE);
    free(leans);
}

/* How far a base stands proud, by a feeler gauge, leaves the rest to the other face; an edge at the table's rim, which
 * no seam tells of, is known by its answer alone. */
static void proud(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 2, 2, U95, 0},
                                  {{1, SW_LEAN_ONE_FACE}, 1.5, 1.5, READ_U95, 0},
                                  {{20, SW_LEAN_ONE_FACE}, 3, 3, READ_U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 3, &leans);
    assert_int_equal(n, 3);
    const sw_lean *one = lean_of(leans, n, 1), *seven = lean_of(leans, n, 7), *rim = lean_of(leans, n, 20);
    expect_near("answered", one->lean_mm, 1.5, 1e-3);
    expect_near("least", one->least_mm, 1.5 - READ_U95, 1e-5);
    expect_near("most", one->most_mm, 1.5 + READ_U95, 1e-5);
    expect_near("the rest", seven->lean_mm, 0.5, 1e-3);
    expect_near("least of the rest", seven->least_mm, 2 - U95 - 0.1 - 1.5 - READ_U95, 1e-5);
    expect_near("most of the rest", seven->most_mm, 2 + U95 - 1.5 + READ_U95, 1e-5);
    expect_near("rim, least", rim->least_mm, 3 - READ_U95, 1e-5);
    expect_near("rim, most", rim->most_mm, 3 + READ_U95, 1e-5);
    free(leans);
}

/* A face that was bevelled after it was answered for: the photo shows less room than the answer needs. */
static void bevelled_since(void **state)
{
    (void)state;
    const sw_lean_equation q[] = {{{1, 7}, 0.2, 0.2, U95, 0}, {{1, SW_LEAN_ONE_FACE}, 2, 2, READ_U95, 0}};
    sw_lean *leans;
    size_t n = make(q, 2, &leans);
    const sw_lean *one = lean_of(leans, n, 1);
    expect_near("least", one->least_mm, 0, 1e-5);
    expect_near("most", one->most_mm, 0.2 + U95, 1e-5);
    free(leans);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(one_equation),    cmocka_unit_test(a_closed_seam_tells),
                                       cmocka_unit_test(three_faces),     cmocka_unit_test(contradiction),
                                       cmocka_unit_test(tops_in_the_way), cmocka_unit_test(held_open),
                                       cmocka_unit_test(nothing_known),   cmocka_unit_test(square),
                                       cmocka_unit_test(proud),           cmocka_unit_test(bevelled_since)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
