/* take.c - from a JSON object to a struct, as its table says. Nothing in the file is believed before it was looked at. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "json/fields.h"
#include "json/utf8.h"

static void refuse(sw_reading *r, const sw_field *f, const char *what)
{
    sw_read_wrong(r, "\"%s\" %s", f->key, f->says ? f->says : what);
}

static void take_number(sw_reading *r, const sw_field *f, const json_t *value, double *to)
{
    double number = json_number_value(value);
    if (f->as != SW_AS_NUMBER && json_is_null(value))
        number = NAN;
    else if (!json_is_number(value))
        refuse(r, f, "is no number");
    else if (f->least < f->most && !(number >= f->least && number <= f->most))
        refuse(r, f, "is out of range");
    *to = f->as != SW_AS_POSITIVE || number > 0 ? number : 0;
}

static void take_whole(sw_reading *r, const sw_field *f, const json_t *value, int *to)
{
    json_int_t whole = json_integer_value(value);
    if (json_is_integer(value) && whole >= (json_int_t)f->least && whole <= (json_int_t)f->most)
        *to = (int)whole;
    else
        sw_read_wrong(r, "\"%s\" is no whole number from %.0f to %.0f", f->key, f->least, f->most);
}

static void take_flag(sw_reading *r, const sw_field *f, const json_t *value, void *to)
{
    if (!json_is_boolean(value))
        refuse(r, f, "is neither true nor false");
    else if (f->size == sizeof(bool))
        *(bool *)to = json_is_true(value);
    else
        *(int *)to = json_is_true(value);
}

static void take_text(sw_reading *r, const sw_field *f, const json_t *value, char *to)
{
    if (json_is_string(value))
        sw_utf8_clean(json_string_value(value), to, f->size);
    else if (json_is_null(value))
        to[0] = 0;
    else
        refuse(r, f, "is no text");
}

static void take_word(sw_reading *r, const sw_field *f, const json_t *value, int *to)
{
    const char *word = json_string_value(value);
    for (int i = 0; word && i < f->names; i++) {
        const char *name = f->name(i);
        if (name && strcmp(word, name) == 0) {
            *to = i;
            return;
        }
    }
    refuse(r, f, "is none of the words it can be");
}

static void take_object(sw_reading *r, const sw_field *f, const json_t *value, void *to)
{
    if (!json_is_object(value))
        refuse(r, f, "is no object");
    else if (f->key && f->as != f->item)
        sw_read_within(r, "\"%s\"", f->key);
    if (!r->status)
        sw_take_fields(r, value, f->of, to);
}

static void take_named(sw_reading *r, const sw_field *f, const json_t *value, char *to)
{
    sw_reading before = *r;
    if (!json_is_object(value))
        refuse(r, f, "is no object");
    for (int i = 0; !r->status && i < f->names; i++) {
        const char *name = f->name(i);
        const json_t *element = json_object_get(value, name);
        if (!json_is_object(element))
            sw_read_wrong(r, element ? "\"%s\" is no object" : "\"%s\" is missing", name);
        sw_read_within(r, f->where, name);
        if (!r->status)
            sw_take_fields(r, element, f->of, to + (size_t)i * f->size);
        memcpy(r->place, before.place, sizeof r->place);
    }
}

static void take_value(sw_reading *r, const sw_field *f, const json_t *value, void *to)
{
    switch (f->as) {
    case SW_AS_FIGURE:
    case SW_AS_PLACE:
    case SW_AS_POSITIVE:
    case SW_AS_NUMBER:
        take_number(r, f, value, to);
        break;
    case SW_AS_WHOLE:
        take_whole(r, f, value, to);
        break;
    case SW_AS_FLAG:
        take_flag(r, f, value, to);
        break;
    case SW_AS_TEXT:
    case SW_AS_TEXT_OR_NULL:
        take_text(r, f, value, to);
        break;
    case SW_AS_WORD:
        take_word(r, f, value, to);
        break;
    case SW_AS_OBJECT:
        take_object(r, f, value, to);
        break;
    case SW_AS_NAMED:
        take_named(r, f, value, to);
        break;
    default:
        break;
    }
}

/* Room for the elements, which the struct owns from now on. */
static char *make_rows(sw_reading *r, const sw_field *f, size_t count, void *to)
{
    char *rows = sw_read_room(r, count, f->size);
    memcpy((char *)to + f->at, &rows, sizeof rows);
    return rows;
}

static bool is_list(sw_reading *r, const sw_field *f, const json_t *value)
{
    bool good = !value || json_is_array(value) || json_is_null(value);
    if (!good)
        refuse(r, f, "is no list");
    return good;
}

void sw_take_list(sw_reading *r, const sw_field *f, const json_t *value, void *to)
{
    if (!is_list(r, f, value))
        return;
    size_t *count = (size_t *)((char *)to + f->beside);
    char *rows = make_rows(r, f, json_array_size(value), to);
    sw_field item = *f;
    item.as = f->item;
    for (size_t i = 0; !r->status && i < json_array_size(value); i++) {
        sw_reading before = *r;
        const json_t *element = json_array_get(value, i);
        sw_read_within(r, "line %zu of \"%s\"", i + 1, f->key);
        *count = i + 1;
        if (json_is_null(element))
            sw_read_wrong(r, "it is null");
        else
            take_value(r, &item, element, rows + i * f->size);
        memcpy(r->place, before.place, sizeof r->place);
    }
}

static void take_column(sw_reading *r, const sw_field *f, const json_t *list, char *at, size_t count, size_t size)
{
    for (size_t i = 0; !r->status && i < count; i++, at += size) {
        take_value(r, f, json_array_get(list, i), at);
        if (f->as == SW_AS_PLACE && !(*(double *)at > (i ? *(double *)(at - size) : -INFINITY)))
            sw_read_wrong(r, "the places in \"%s\" do not rise", f->key);
    }
}

static void take_columns(sw_reading *r, const sw_field *f, const json_t *from, void *to)
{
    const sw_field *first = f->of->field;
    size_t count = json_array_size(json_object_get(from, first->key));
    char *rows = make_rows(r, f, count, to);
    *(size_t *)((char *)to + f->beside) = rows ? count : 0;
    for (const sw_field *c = first; !r->status && c < first + f->of->count; c++) {
        const json_t *list = json_object_get(from, c->key);
        if (c->need == SW_MAY && (!list || json_is_null(list)))
            continue;
        if (!list)
            refuse(r, c, "is missing");
        else if (is_list(r, c, list) && json_array_size(list) != count)
            sw_read_wrong(r, "the lists \"%s\" and \"%s\" are not of one length", first->key, c->key);
        take_column(r, c, list, rows + c->at, count, f->size);
    }
    for (size_t i = 0; !r->status && f->of->check && i < count; i++)
        f->of->check(r, NULL, rows + i * f->size);
}

static void take_member(sw_reading *r, const sw_field *f, const json_t *from, void *to)
{
    const json_t *value = f->key ? json_object_get(from, f->key) : from;
    if (!value && f->need == SW_MUST)
        refuse(r, f, "is missing");
    else if (f->as == SW_AS_COLUMNS)
        take_columns(r, f, from, to);
    else if (f->take && value)
        f->take(r, f, value, to);
    else if (f->as == SW_AS_LIST)
        sw_take_list(r, f, value, to);
    else if (value)
        take_value(r, f, value, (char *)to + f->at);
}

void sw_take_fields(sw_reading *r, const json_t *from, const sw_fields *fields, void *to)
{
    if (fields->start)
        fields->start(r, from, to);
    sw_reading before = *r;
    for (const sw_field *f = fields->field; !r->status && f < fields->field + fields->count; f++) {
        if (f->need == SW_WRITTEN)
            continue;
        take_member(r, f, from, to);
        if (!r->status)
            memcpy(r->place, before.place, sizeof r->place);
    }
    if (!r->status && fields->check)
        fields->check(r, from, to);
}
