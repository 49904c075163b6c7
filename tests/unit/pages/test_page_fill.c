/* The filler of templates: what it puts in, what it escapes, and what it refuses. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "pages/fill.h"

static const char DATA[] =
    "{\"name\": \"<B&1>\", \"count\": 8, \"mm\": 0.5, \"nothing\": null, \"empty\": \"\", \"zero\": 0, \"off\": false,"
    " \"on\": true, \"none\": [], \"says\": {\"title\": \"it's \\\"x\\\"\", \"name\": \"inner\"},"
    " \"texts\": [\"a\", \"<b>\"], \"rows\": [{\"name\": \"one\", \"sub\": [1, 2]}, {\"other\": \"two\", \"sub\": "
    "[]}]}";

static sw_status fill(const char *template, char **text, sw_error *err)
{
    const sw_raw raw[] = {{"style", "a<b{{name}}"}, {NULL, NULL}};
    json_t *data = json_loads(DATA, 0, NULL);
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    assert_non_null(data);
    sw_status status = sw_fill(template, data, raw, &sheet, err);
    json_decref(data);
    *text = sw_sheet_take(&sheet);
    return status;
}

static void gives(const char *template, const char *expected)
{
    sw_error err = {""};
    char *text;
    if (fill(template, &text, &err))
        fail_msg("%s: %s", template, err.text);
    assert_string_equal(text ? text : "", expected);
    free(text);
}

static void refuses(const char *template, const char *words)
{
    sw_error err = {""};
    char *text;
    assert_int_equal(fill(template, &text, &err), SW_BAD_INPUT);
    if (!strstr(err.text, words))
        fail_msg("%s: \"%s\" lacks \"%s\"", template, err.text, words);
    free(text);
}

static void values_are_escaped(void **state)
{
    (void)state;
    gives("plain { } text", "plain { } text");
    gives("<{{name}}>", "<&lt;B&amp;1&gt;>");
    gives("{{says.title}}", "it&#39;s &quot;x&quot;");
    gives("{{count}} {{mm}}{{nothing}}{{empty}}", "8 0.5");
    gives("{{{style}}}", "a<b{{name}}"); /* raw, and not looked through again */
}

static void sections_come_as_often_as_they_hold(void **state)
{
    (void)state;
    gives("{{#texts}}[{{.}}]{{/texts}}", "[a][&lt;b&gt;]");
    gives("{{#nothing}}x{{/nothing}}{{#empty}}x{{/empty}}{{#zero}}x{{/zero}}{{#off}}x{{/off}}{{#none}}x{{/none}}", "");
    gives("{{#absent}}x{{/absent}}{{#says.absent}}x{{/says.absent}}", "");
    gives("{{^nothing}}1{{/nothing}}{{^empty}}2{{/empty}}{{^none}}3{{/none}}{{^absent}}4{{/absent}}", "1234");
    gives("{{^on}}x{{/on}}{{^texts}}x{{/texts}}{{#on}}once{{/on}}{{#mm}} {{mm}}{{/mm}}", "once 0.5");
    gives("{{#says}}{{name}}{{count}}{{/says}}", "inner8");
    gives("{{#rows}}{{#sub}}{{.}}{{name}} {{/sub}}{{/rows}}", "1one 2one ");
    gives("{{#rows}}{{#other}}{{name}}{{other}}{{/other}}{{/rows}}",
          "&lt;B&amp;1&gt;two"); /* outside, where it lacks one */
    gives("{{#on}}{{#on}}twice{{/on}}{{/on}}", "twice");
}

static void what_is_no_template_is_refused(void **state)
{
    (void)state;
    refuses("{{absent}}", "no such name: \"absent\"");
    refuses("{{says.absent}}", "no such name: \"says.absent\"");
    refuses("{{#rows}}{{other}}{{/rows}}", "no such name: \"other\"");
    refuses("{{says}}", "neither text nor number: \"says\"");
    refuses("{{{name}}}", "no such raw text: \"name\"");
    refuses("{{#texts}}", "no end of the section \"texts\"");
    refuses("{{#texts}}{{/on}}", "no end of the section \"texts\"");
    refuses("{{/texts}}", "the end of no section: \"texts\"");
    refuses("{{name", "no end of the tag");
    refuses("{{}}", "no end of the tag");
    refuses("{{{style}}", "no end of the tag");
    refuses("{{#on}}{{#on}}{{/on}}", "no end of the section");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_are_escaped),
        cmocka_unit_test(sections_come_as_often_as_they_hold),
        cmocka_unit_test(what_is_no_template_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
