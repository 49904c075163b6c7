/* put.c - from a struct to a JSON object, as its table says. */
#include <string.h>

#include "files/formats.h"
#include "json/fields.h"

static json_t *put_string(const void *at)
{
    const char *text;
    memcpy(&text, at, sizeof text);
    return text ? sw_json_text(text) : json_null();
}

static json_t *put_word(const sw_field *f, const void *at)
{
    const char *name = f->name(*(const int *)at);
    return name ? sw_json_text(name) : json_null();
}

static json_t *put_positive(const sw_field *f, double value)
{
    return value > 0 ? sw_json_number(value, f->decimals) : json_null();
}

static json_t *put_whole(const sw_field *f, const void *at)
{
    return json_integer(f->size == sizeof(int) ? *(const int *)at : (json_int_t) * (const size_t *)at);
}

static bool flag_at(const sw_field *f, const void *at)
{
    return f->size == sizeof(bool) ? *(const bool *)at : *(const int *)at != 0;
}

static json_t *put_value(const sw_field *f, const void *at, sw_putting *p);

static json_t *put_named(const sw_field *f, const char *at, sw_putting *p)
{
    json_t *object = json_object();
    for (int i = 0; i < f->names; i++)
        sw_json_set(object, f->name(i), sw_put_fields(f->of, at + (size_t)i * f->size, p), &p->failed);
    return object;
}

/* The elements of a list, and how many. */
static const char *rows_of(const sw_field *f, const void *from, size_t *count)
{
    const char *rows = (const char *)from + f->at;
    if (!f->inside)
        memcpy(&rows, rows, sizeof rows);
    *count = rows ? *(const size_t *)((const char *)from + f->beside) : 0;
    return rows;
}

static json_t *put_list(const sw_field *f, const void *from, sw_putting *p)
{
    size_t count;
    const char *rows = rows_of(f, from, &count);
    json_t *array = json_array();
    sw_field item = *f;
    item.as = f->item;
    for (size_t i = 0; i < count; i++)
        sw_json_append(array, put_value(&item, rows + i * f->size, p), &p->failed);
    return array;
}

/* Thousands of stations share the few values that their states' names are. */
static json_t *put_column(const sw_field *f, const char *at, size_t count, size_t size, sw_putting *p)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++, at += size) {
        bool again = i > 0 && f->as == SW_AS_WORD && *(const int *)at == *(const int *)(at - size);
        json_t *value = again ? json_incref(json_array_get(array, i - 1)) : put_value(f, at, p);
        sw_json_append(array, value, &p->failed);
    }
    return array;
}

static void put_columns(const sw_field *f, const void *from, json_t *object, sw_putting *p)
{
    size_t count;
    const char *rows = rows_of(f, from, &count);
    for (const sw_field *c = f->of->field; c < f->of->field + f->of->count; c++)
        sw_json_set(object, c->key, put_column(c, rows + c->at, count, f->size, p), &p->failed);
}

static json_t *put_value(const sw_field *f, const void *at, sw_putting *p)
{
    switch (f->as) {
    case SW_AS_FIGURE:
    case SW_AS_PLACE:
    case SW_AS_NUMBER:
        return sw_json_number(*(const double *)at, f->decimals);
    case SW_AS_POSITIVE:
        return put_positive(f, *(const double *)at);
    case SW_AS_WHOLE:
        return put_whole(f, at);
    case SW_AS_FLAG:
        return json_boolean(flag_at(f, at));
    case SW_AS_TEXT:
        return sw_json_text(at);
    case SW_AS_TEXT_OR_NULL:
        return sw_json_text_or_null(at);
    case SW_AS_STRING:
        return put_string(at);
    case SW_AS_WORD:
        return put_word(f, at);
    case SW_AS_OBJECT:
        return sw_put_fields(f->of, at, p);
    case SW_AS_NAMED:
        return put_named(f, at, p);
    default:
        return NULL;
    }
}

static void put_members(const sw_fields *fields, const void *from, json_t *object, sw_putting *p)
{
    for (const sw_field *f = fields->field; f < fields->field + fields->count; f++) {
        if (f->when && !f->when(from))
            continue;
        if (f->as == SW_AS_COLUMNS)
            put_columns(f, from, object, p);
        else if (!f->key)
            put_members(f->of, (const char *)from + f->at, object, p);
        else
            sw_json_set(object, f->key,
                        f->put                ? f->put(f, from, p)
                        : f->as == SW_AS_LIST ? put_list(f, from, p)
                                              : put_value(f, (const char *)from + f->at, p),
                        &p->failed);
    }
}

json_t *sw_put_fields(const sw_fields *fields, const void *from, sw_putting *p)
{
    json_t *object = json_object();
    put_members(fields, from, object, p);
    return object;
}

json_t *sw_put_file(const char *format, const sw_fields *fields, const void *from, const void *context)
{
    sw_putting p = {.context = context};
    json_t *root = json_object();
    sw_json_set(root, "format", sw_json_text(format), &p.failed);
    sw_json_set(root, "format_version", json_integer(SW_FORMAT_VERSION), &p.failed);
    put_members(fields, from, root, &p);
    if (!p.failed)
        return root;
    json_decref(root);
    return NULL;
}

sw_status sw_json_write(const char *format, const sw_fields *fields, const void *from, const void *context,
                        const char *path, sw_error *err)
{
    json_t *root = sw_put_file(format, fields, from, context);
    if (!root)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to write it; close other programs and try again",
                       path);
    sw_status status = sw_json_save(root, path, err);
    json_decref(root);
    return status;
}
