/* What the user types, as numbers: the forms the interface promises, and the slips it must refuse by name. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "cli/parse.h"

/* Exact decimals: strtod rounds correctly, so the literal is the same double. */
static void expect_reference(const char *text, sw_reference want)
{
    sw_reference got = {-1.0, -1.0, -1.0, -1.0};
    sw_error err = {{0}};
    assert_int_equal(parse_reference(text, &got, &err), SW_OK);
    assert_true(got.outer_x_mm == want.outer_x_mm && got.outer_y_mm == want.outer_y_mm);
    assert_true(got.inner_x_mm == want.inner_x_mm && got.inner_y_mm == want.inner_y_mm);
}

/* Refused, the result cleared, and the sentence holds `why`. */
static void refuse_reference(const char *text, const char *why)
{
    sw_reference got = {-1.0, -1.0, -1.0, -1.0};
    sw_error err = {{0}};
    assert_int_equal(parse_reference(text, &got, &err), SW_BAD_INPUT);
    assert_true(got.outer_x_mm == 0.0 && got.outer_y_mm == 0.0 && got.inner_x_mm == 0.0 && got.inner_y_mm == 0.0);
    if (!strstr(err.text, why))
        fail_msg("'%s': \"%s\" does not say \"%s\"", text, err.text, why);
}

static void references_of_the_interface(void **state)
{
    (void)state;
    expect_reference("100/60", (sw_reference){100.0, 100.0, 60.0, 60.0});
    expect_reference("100", (sw_reference){100.0, 100.0, 0.0, 0.0});
    expect_reference("99.6x99.8/59.7x59.9", (sw_reference){99.6, 99.8, 59.7, 59.9});
    expect_reference("99.6x99.8", (sw_reference){99.6, 99.8, 0.0, 0.0});
    expect_reference("99.6X99.8/60", (sw_reference){99.6, 99.8, 60.0, 60.0});
    expect_reference("100./60.0", (sw_reference){100.0, 100.0, 60.0, 60.0});
}

static void references_with_units(void **state)
{
    (void)state;
    const char *texts[] = {"100mm/60mm",     "100/60mm",  "10cm",         "100 mm",   "4in", "4\"",
                           "100mmx100mm/60", "100x100mm", "100\xc2\xb5m", "100x60cm", "100%"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        refuse_reference(texts[i], "leave the unit out");
}

static void references_with_slips(void **state)
{
    (void)state;
    refuse_reference("", "empty");
    refuse_reference("99,6x99,8/59,7x59,9", "not a comma");
    refuse_reference("-100", "greater than zero");
    const char *texts[] = {
        "100/", "/60",         "100/60/20", "100x",
        "x100", "100x100x100", "100/60x",   "abc",
        "1e2",  "0x64",        "nan",       "inf",
        "+100", " 100",        "100 ",      "1.2.3",
        ".",    "100//60",     "10.0.0",    "1000000000000000000000000000000000000000000000000000000000000000000000"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        refuse_reference(texts[i], "");
}

static void references_out_of_range(void **state)
{
    (void)state;
    refuse_reference("19.9", "from 20 to 1000");
    refuse_reference("1000.1", "from 20 to 1000");
    refuse_reference("100x94", "no square");
    refuse_reference("100/60x50", "no square");
    refuse_reference("100/9", "inner");
    refuse_reference("100/0", "like 100/60");
    refuse_reference("60/100", "outer side first");
    refuse_reference("100/96.1", "band");
    expect_reference("20", (sw_reference){20.0, 20.0, 0.0, 0.0});
    expect_reference("1000", (sw_reference){1000.0, 1000.0, 0.0, 0.0});
    expect_reference("100x95", (sw_reference){100.0, 95.0, 0.0, 0.0});
    expect_reference("100/96", (sw_reference){100.0, 100.0, 96.0, 96.0});
    expect_reference("100/10", (sw_reference){100.0, 100.0, 10.0, 10.0});
}

static void refuse_mm(const char *text, sw_range range, const char *why)
{
    double got = -1.0;
    sw_error err = {{0}};
    assert_int_equal(parse_mm(text, range, "45", &got, &err), SW_BAD_INPUT);
    assert_true(got == 0.0);
    if (!strstr(err.text, why))
        fail_msg("'%s': \"%s\" does not say \"%s\"", text, err.text, why);
}

static void lengths(void **state)
{
    (void)state;
    const sw_range ranges[] = {SW_TILE_MM, SW_TOLERANCE_MM, SW_HEIGHT_MM, SW_STEP_MM, SW_CUT_MM, SW_BOARD_SQUARE_MM};
    double got;
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
        assert_true(ranges[i].least > 0 && ranges[i].least < ranges[i].most);
        refuse_mm("0", ranges[i], "must be from");
        refuse_mm("99999", ranges[i], "must be from");
        refuse_mm("-1", ranges[i], "greater than zero");
        refuse_mm("5mm", ranges[i], "unit");
        refuse_mm("nan", ranges[i], "like 45");
    }
    assert_int_equal(parse_mm("20", SW_TILE_MM, "300", &got, NULL), SW_OK);
    assert_true(got == 20.0);
    assert_int_equal(parse_mm("2000.0", SW_TILE_MM, "300", &got, NULL), SW_OK);
    assert_true(got == 2000.0);
    assert_int_equal(parse_mm(".25", SW_TOLERANCE_MM, "0.5", &got, NULL), SW_OK);
    assert_true(got == 0.25);
}

static void expect_heights(const char *text, double want_usual, size_t want_count, const char *last, double last_mm)
{
    double usual = -1;
    sw_tile_height *heights = NULL;
    size_t count = 99;
    assert_int_equal(parse_heights(text, &usual, &heights, &count, NULL), SW_OK);
    assert_true(usual == want_usual && count == want_count);
    if (count) {
        assert_string_equal(heights[count - 1].tile, last);
        assert_true(heights[count - 1].height_mm == last_mm);
    }
    free(heights);
}

static void refuse_heights(const char *text, const char *why)
{
    double usual = -1;
    sw_tile_height *heights = NULL;
    size_t count = 99;
    sw_error err = {{0}};
    assert_int_equal(parse_heights(text, &usual, &heights, &count, &err), SW_BAD_INPUT);
    assert_true(usual == 0 && count == 0 && !heights);
    if (!strstr(err.text, why))
        fail_msg("'%s': \"%s\" does not say \"%s\"", text, err.text, why);
}

static void heights(void **state)
{
    (void)state;
    expect_heights("45", 45, 0, NULL, 0);
    expect_heights("0.5", 0.5, 0, NULL, 0);
    expect_heights("A1=55,B2=45", 0, 2, "B2", 45);
    expect_heights("45,A1=55", 45, 1, "A1", 55);
    expect_heights("a1=55.5,45,z99=44.2", 45, 2, "Z99", 44.2);
    refuse_heights("", "empty");
    refuse_heights("0", "must be from 0.5 to 500");
    refuse_heights("45,A1=501", "must be from 0.5 to 500");
    refuse_heights("-45", "greater than zero");
    refuse_heights("45mm", "unit");
    refuse_heights("A1=55mm", "unit");
    refuse_heights("nan", "like 45");
    refuse_heights("45,5", "not a comma");
    refuse_heights("A1=45,5,5", "only one height");
    refuse_heights("A1=55,A1=45", "A1 is named twice");
    refuse_heights("A1=55,a1=45", "A1 is named twice");
    const char *slips[] = {"A1",           "A1=",    "A=55",   "1A=55",  "A0=55",       "A01=55",
                           "A100=55",      "AA1=55", "A1=55,", ",A1=55", "A1=55;B1=45", "A1 =55",
                           "A1=55, B1=45", "A1==55", "=55",    "A1=B1",  "45,,A1=55",   "A1:55"};
    for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++)
        refuse_heights(slips[i], "like 45, or 45,A1=55");
}

typedef sw_status counts(const char *text, int *columns, int *rows, sw_error *err);

static void expect_counts(counts *parse, const char *text, int want_columns, int want_rows)
{
    int columns = -1, rows = -1;
    sw_status want = want_columns ? SW_OK : SW_BAD_INPUT;
    assert_int_equal(parse(text, &columns, &rows, NULL), want);
    assert_int_equal(columns, want_columns);
    assert_int_equal(rows, want_rows);
}

static void tables(void **state)
{
    (void)state;
    expect_counts(parse_table, "3x2", 3, 2);
    expect_counts(parse_table, "3X3", 3, 3);
    expect_counts(parse_table, "1x1", 1, 1);
    expect_counts(parse_table, "26x26", 26, 26);
    const char *wrong[] = {"27x1", "1x27",  "0x3",   "3x0",  "3",     "3x", "x3",          "3x3x3",
                           "3,3",  "3.0x3", "3 x 3", "-3x3", "3x3mm", "",   "3x4294967297"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        expect_counts(parse_table, wrong[i], 0, 0);
}

static sw_status read_board(const char *text, int *columns, int *rows, sw_error *err)
{
    sw_checkerboard board = {-1, -1, 0};
    sw_status status = parse_board(text, &board, err);
    *columns = board.columns;
    *rows = board.rows;
    return status;
}

static void boards(void **state)
{
    (void)state;
    expect_counts(read_board, "10x7", 10, 7);
    expect_counts(read_board, "4x4", 4, 4);
    expect_counts(read_board, "40x40", 40, 40);
    const char *wrong[] = {"3x7", "10x3", "41x7", "10x41", "10", "10x7x25", "10x7mm"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        expect_counts(read_board, wrong[i], 0, 0);
}

static void numbers_of_cards(void **state)
{
    static const char *const WRONG[] = {"", "0", "101", "9.5", "9x", " 9", "-3", "+3", "nine", "0009"};
    (void)state;
    sw_error err;
    int count;
    assert_int_equal(parse_count("9", 100, &count, &err), SW_OK);
    assert_int_equal(count, 9);
    assert_int_equal(parse_count("100", 100, &count, &err), SW_OK);
    for (size_t i = 0; i < sizeof WRONG / sizeof *WRONG; i++) {
        assert_int_equal(parse_count(WRONG[i], 100, &count, &err), SW_BAD_INPUT);
        assert_int_equal(count, 0);
        assert_non_null(strstr(err.text, "from 1 to 100"));
    }
}

static void expect_corners(const char *text)
{
    static const double want[8] = {210, 180, 1400.5, 190, 1390, 1300, 0, 1290};
    sw_corners got;
    sw_error err = {{0}};
    if (parse_corners(text, &got, &err) != SW_OK)
        fail_msg("'%s': %s", text, err.text);
    for (int i = 0; i < 4; i++)
        assert_true(got.shown_px[i].x == want[2 * i] && got.shown_px[i].y == want[2 * i + 1]);
}

static void corners(void **state)
{
    (void)state;
    static const char *const slips[] = {"",
                                        "210",
                                        "210,180,1400,190,1390,1300,200",
                                        "210,180,1400,190,1390,1300,200,1290,5",
                                        "210,180,1400,190,1390,1300,200,",
                                        "210,180,1400,190,1390,1300,200,1290,",
                                        "210,180,1400,190,1390,1300,,1290",
                                        "210 180 1400 190 1390 1300 200 1290",
                                        "210px,180,1400,190,1390,1300,200,1290",
                                        "210,180,1400,190,1390,1300,200,1290px",
                                        "210,180,1400,190,1390,1300,200,nan",
                                        "210,180,1400,190,1390,1300,200,1e3",
                                        "210,180,1400,190,1390,1300,200,--5",
                                        "210,180,1400,190,1390,1300,200,1.2.3",
                                        "2101234567890,180,1400,190,1390,1300,200,1290"};
    expect_corners("210,180,1400.5,190,1390,1300,0,1290");
    expect_corners("210, 180,  1400.5,190 ,1390,1300,0.0,1290 ");
    for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
        sw_corners got = {{{1, 1}}};
        sw_error err = {{0}};
        if (parse_corners(slips[i], &got, &err) != SW_BAD_INPUT || !strstr(err.text, "eight numbers with commas"))
            fail_msg("'%s': \"%s\"", slips[i], err.text);
        assert_true(got.shown_px[0].x == 0);
    }
    /* Whether a place lies in the picture is not for the parser to say. */
    sw_corners left;
    assert_int_equal(parse_corners("-5,180,1400,190,1390,1300,200,1290", &left, NULL), SW_OK);
    assert_true(left.shown_px[0].x == -5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners),
        cmocka_unit_test(references_of_the_interface),
        cmocka_unit_test(references_with_units),
        cmocka_unit_test(references_with_slips),
        cmocka_unit_test(references_out_of_range),
        cmocka_unit_test(lengths),
        cmocka_unit_test(heights),
        cmocka_unit_test(tables),
        cmocka_unit_test(boards),
        cmocka_unit_test(numbers_of_cards),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
