/* The sheet that every text writer fills. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/common/sheet.h"

/* RFC 4648, section 10. */
static void base64_of_the_standard(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {{"", ""},
                                           {"f", "Zg=="},
                                           {"fo", "Zm8="},
                                           {"foo", "Zm9v"},
                                           {"foob", "Zm9vYg=="},
                                           {"fooba", "Zm9vYmE="},
                                           {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        sw_sheet sheet;
        sw_sheet_start(&sheet);
        sw_sheet_put(&sheet, ">");
        sw_sheet_base64(&sheet, (const unsigned char *)pairs[i][0], strlen(pairs[i][0]));
        char *text = sw_sheet_take(&sheet);
        assert_non_null(text);
        assert_string_equal(text + 1, pairs[i][1]);
        free(text);
    }
}

/* Well-formed and ill-formed sequences by the table of RFC 3629, section 4. */
static void bytes_that_are_no_utf8_are_replaced(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"plain", "plain"},
        {"\xC3\xA4\xE2\x82\xAC\xF0\x9F\x99\x82", "\xC3\xA4\xE2\x82\xAC\xF0\x9F\x99\x82"},
        {"\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD"},                                 /* overlong "/" */
        {"\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},                 /* a surrogate */
        {"\xF4\x90\x80\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"}, /* above U+10FFFF */
        {"cut \xE2\x82", "cut \xEF\xBF\xBD\xEF\xBF\xBD"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        char out[64];
        sw_utf8_clean(pairs[i][0], out, sizeof out);
        assert_string_equal(out, pairs[i][1]);
    }
    char tight[5];
    sw_utf8_clean("abc\xE2\x82\xAC", tight, sizeof tight); /* never half a character */
    assert_string_equal(tight, "abc");
}

static void numbers_have_points_in_every_locale(void **state)
{
    (void)state;
    static const char *const commas[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_NL.UTF-8", "de_DE"};
    for (size_t i = 0; i < sizeof commas / sizeof commas[0] && !setlocale(LC_NUMERIC, commas[i]); i++)
        ; /* none on this machine: the test then holds the plain locale only */
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_sheet_number(&sheet, 1234.56, 1, "?");
    sw_sheet_put(&sheet, " %.2f ", 0.5);
    sw_sheet_number(&sheet, -0.004, 2, "?");
    sw_sheet_put(&sheet, " ");
    sw_sheet_number(&sheet, NAN, 2, "none");
    char *text = sw_sheet_take(&sheet);
    setlocale(LC_NUMERIC, "C");
    assert_non_null(text);
    assert_string_equal(text, "1234.6 0.50 0.00 none");
    free(text);
}

static void long_texts_grow(void **state)
{
    (void)state;
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    for (int i = 0; i < 20000; i++)
        sw_sheet_put(&sheet, "%05d", i);
    assert_int_equal(sheet.length, 100000);
    char *text = sw_sheet_take(&sheet);
    assert_non_null(text);
    for (int i = 0; i < 20000; i += 777) {
        char expected[16];
        snprintf(expected, sizeof expected, "%05d", i);
        assert_memory_equal(text + (size_t)i * 5, expected, 5);
    }
    free(text);
}

static void padding_counts_characters(void **state)
{
    (void)state;
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_sheet_put(&sheet, "3.16 ± 0.06");
    sw_sheet_pad(&sheet, 0, 14);
    sw_sheet_put(&sheet, "|");
    char *text = sw_sheet_take(&sheet);
    assert_string_equal(text, "3.16 ± 0.06   |");
    free(text);
    sw_sheet_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(base64_of_the_standard),
        cmocka_unit_test(bytes_that_are_no_utf8_are_replaced),
        cmocka_unit_test(numbers_have_points_in_every_locale),
        cmocka_unit_test(long_texts_grow),
        cmocka_unit_test(padding_counts_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
