/* take.c - from a JSON object to a struct, as its table says. Nothing in the file is believed before it was looked at. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "json/fields.h"
#include "json/utf8.h"

/* ---- what was wrong, and where ---- */

enum { TEXT_ROOM = 256 };

void sw_read_wrong(sw_reading *r, const char *format, ...)
{
    char what[TEXT_ROOM];
    va_list list;
    if (r->status)
        return;
    va_start(list, format);
    vsnprintf(what, sizeof what, format, list);
    va_end(list);
    r->status = sw_fail(r->err, SW_BAD_INPUT, "%.200s: %s%s%.160s; make it again with 'seamwright %s'", r->path,
                        r->place, r->place[0] ? ": " : "", what, r->command);
}

void sw_read_no_memory(sw_reading *r)
{
    if (!r->status)
        r->status =
            sw_fail(r->err, SW_NO_MEMORY, "%.255s: not enough memory to read it; close other programs", r->path);
}

size_t sw_read_within(sw_reading *r, const char *format, ...)
{
    va_list list;
    size_t was = strlen(r->place), from = was;
    if (was && was + 2 < sizeof r->place)
        from = (size_t)(stpcpy(r->place + was, ", ") - r->place);
    va_start(list, format);
    vsnprintf(r->place + from, sizeof r->place - from, format, list);
    va_end(list);
    return was;
}

void *sw_read_room(sw_reading *r, size_t count, size_t size)
{
    void *room = r->status ? NULL : calloc(count + 1, size);
    if (!room)
        sw_read_no_memory(r);
    return room;
}

static void refuse(sw_reading *r, const sw_field *f, const char *what)
{
    sw_read_wrong(r, "\"%s\" %s", f->key, f->says ? f->says : what);
}

/* ---- single values ---- */

void sw_take_number(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    double number = json_number_value(value);
    if (!json_is_number(value))
        refuse(r, f, "is no number");
    else if (f->least < f->most && !(number >= f->least && number <= f->most))
        refuse(r, f, "is out of range");
    *(double *)at = number;
}

void sw_take_figure(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    if (json_is_null(value))
        *(double *)at = NAN;
    else
        sw_take_number(r, f, value, at);
}

void sw_take_positive(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    sw_take_figure(r, f, value, at);
    if (!(*(double *)at > 0))
        *(double *)at = 0;
}

void sw_take_whole(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    json_int_t whole = json_integer_value(value);
    if (json_is_integer(value) && whole >= (json_int_t)f->least && whole <= (json_int_t)f->most)
        *(int *)at = (int)whole;
    else
        sw_read_wrong(r, "\"%s\" is no whole number from %.0f to %.0f", f->key, f->least, f->most);
}

void sw_take_flag(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    if (!json_is_boolean(value))
        refuse(r, f, "is neither true nor false");
    else if (f->size == sizeof(bool))
        *(bool *)at = json_is_true(value);
    else
        *(int *)at = json_is_true(value);
}

void sw_take_text(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    if (!json_is_string(value) && !json_is_null(value))
        refuse(r, f, "is no text");
    else
        sw_utf8_clean(json_is_null(value) ? "" : json_string_value(value), at, f->size);
}

void sw_take_word(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    const char *word = json_string_value(value);
    for (int i = 0; word && i < f->names; i++) {
        const char *name = f->name(i);
        if (name && strcmp(word, name) == 0) {
            *(int *)at = i;
            return;
        }
    }
    refuse(r, f, "is none of the words it can be");
}

/* ---- objects ---- */

static void take_member(sw_reading *r, const sw_field *f, const json_t *from, void *to)
{
    const json_t *value = f->key ? json_object_get(from, f->key) : from;
    if (!value && f->need == SW_MUST)
        refuse(r, f, "is missing");
    else if (value || f->take == sw_take_list)
        f->take(r, f, value, (char *)to + f->at);
}

/* What is only written must at least be of its kind: a file in which it is not was not written by us. */
static sw_is kind_of(const sw_field *f)
{
    if (f->is)
        return f->is;
    return f->put == sw_put_figure || f->put == sw_put_positive || f->put == sw_put_whole ? SW_IS_NUMBER
           : f->put == sw_put_text || f->put == sw_put_text_or_null || f->put == sw_put_string || f->put == sw_put_word
               ? SW_IS_TEXT
           : f->put == sw_put_flag   ? SW_IS_FLAG
           : f->put == sw_put_list   ? SW_IS_LIST
           : f->put == sw_put_object ? SW_IS_OBJECT
                                     : SW_IS_ANYTHING;
}

static void check_kind(sw_reading *r, const sw_field *f, const json_t *value);

static void check_kinds(sw_reading *r, const sw_field *f, const json_t *object)
{
    if (!json_is_object(object))
        refuse(r, f, "holds what is no object");
    for (const sw_field *line = f->of; !r->status && line < f->of + f->lines; line++)
        if (line->key && line->need == SW_WRITTEN)
            check_kind(r, line, json_object_get(object, line->key));
}

static void check_kind(sw_reading *r, const sw_field *f, const json_t *value)
{
    sw_is is = kind_of(f);
    if (!value || json_is_null(value))
        return;
    if (is == SW_IS_NUMBER && !json_is_number(value))
        refuse(r, f, "is no number");
    else if (is == SW_IS_TEXT && !json_is_string(value))
        refuse(r, f, "is no text");
    else if (is == SW_IS_FLAG && !json_is_boolean(value))
        refuse(r, f, "is neither true nor false");
    else if (is == SW_IS_LIST && !json_is_array(value))
        refuse(r, f, "is no list");
    else if (is == SW_IS_OBJECT && !json_is_object(value))
        refuse(r, f, "is no object");
    else if (is == SW_IS_OBJECT && f->of)
        check_kinds(r, f, value);
    for (size_t i = 0; is == SW_IS_LIST && f->of && !r->status && i < json_array_size(value); i++)
        check_kinds(r, f, json_array_get(value, i));
}

static void take_members(sw_reading *r, const sw_field *f, const json_t *from, void *to)
{
    for (const sw_field *line = f->of; !r->status && line < f->of + f->lines; line++)
        if (line->need != SW_WRITTEN)
            take_member(r, line, from, to);
        else if (line->key)
            check_kind(r, line, json_object_get(from, line->key));
}

void sw_take_object(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    if (!json_is_object(value)) {
        refuse(r, f, "is no object");
        return;
    }
    size_t was = f->where ? strlen(r->place) : sw_read_within(r, "\"%s\"", f->key);
    take_members(r, f, value, at);
    r->place[was] = 0;
}

void sw_take_named(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    for (int i = 0; !r->status && i < f->names; i++) {
        const json_t *element = json_object_get(value, f->name(i));
        if (!json_is_object(value))
            refuse(r, f, "is no object");
        else if (!json_is_object(element))
            sw_read_wrong(r, "\"%s\" is %s", f->name(i), element ? "no object" : "missing");
        size_t was = sw_read_within(r, f->where, f->name(i));
        take_members(r, f, element, (char *)at + (size_t)i * f->size);
        r->place[was] = 0;
    }
}

/* ---- lists ---- */

static bool is_list(sw_reading *r, const sw_field *f, const json_t *value)
{
    bool good = !value || json_is_array(value) || json_is_null(value);
    if (!good)
        refuse(r, f, "is no list");
    return good;
}

/* Room for the elements, which the struct owns from now on. */
static char *make_rows(sw_reading *r, const sw_field *f, size_t count, void *at)
{
    char *rows = sw_read_room(r, count, f->size);
    memcpy(at, &rows, sizeof rows);
    return rows;
}

/* "seam A1-B1", "edge 3 (A1 east)", "line 2": by its name if it has one. */
static size_t enter_row(sw_reading *r, const sw_field *f, const json_t *element, size_t number)
{
    const char *what = f->where ? f->where : "line", *name = json_string_value(json_object_get(element, "name")),
               *edge = json_string_value(json_object_get(element, "edge"));
    if (name)
        return sw_read_within(r, "%s %.15s", what, name);
    return edge ? sw_read_within(r, "%s %zu (%.20s)", what, number, edge) : sw_read_within(r, "%s %zu", what, number);
}

void sw_take_list(sw_reading *r, const sw_field *f, const json_t *value, void *at)
{
    if (!is_list(r, f, value))
        return;
    size_t *count = (size_t *)((char *)at - f->at + f->beside);
    char *rows = make_rows(r, f, json_array_size(value), at);
    for (size_t i = 0; !r->status && i < json_array_size(value); i++) {
        const json_t *element = json_array_get(value, i);
        size_t was = enter_row(r, f, element, i + 1);
        *count = i + 1;
        if (json_is_null(element))
            sw_read_wrong(r, "it is null");
        else
            f->take_item(r, f, element, rows + i * f->size);
        r->place[was] = 0;
    }
}

static void take_column(sw_reading *r, const sw_field *f, const json_t *list, char *at, size_t count, size_t size)
{
    for (size_t i = 0; !r->status && i < count; i++, at += size) {
        f->take(r, f, f->key ? json_array_get(list, i) : NULL, at);
        if (f->rises && !(*(double *)at > (i ? *(double *)(at - size) : -INFINITY)))
            sw_read_wrong(r, "the places in \"%s\" do not rise", f->key);
    }
}

void sw_take_columns(sw_reading *r, const sw_field *f, const json_t *from, void *at)
{
    const sw_field *first = f->of;
    size_t count = json_array_size(json_object_get(from, first->key));
    char *rows = make_rows(r, f, count, at);
    *(size_t *)((char *)at - f->at + f->beside) = rows ? count : 0;
    for (const sw_field *c = first; !r->status && c < first + f->lines; c++) {
        const json_t *list = c->key ? json_object_get(from, c->key) : NULL;
        if (c->key && c->need == SW_MAY && (!list || json_is_null(list)))
            continue;
        if (c->key && !list)
            refuse(r, c, "is missing");
        else if (c->key && is_list(r, c, list) && json_array_size(list) != count)
            sw_read_wrong(r, "the lists \"%s\" and \"%s\" are not of one length", first->key, c->key);
        take_column(r, c, list, rows + c->at, count, f->size);
    }
}
