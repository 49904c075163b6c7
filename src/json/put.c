/* put.c - from a struct to a JSON object, as its table says. */
#include <string.h>

#include "files/formats.h"
#include "json/fields.h"

json_t *sw_put_figure(const sw_field *f, const void *at, sw_putting *p)
{
    (void)p;
    return sw_json_number(*(const double *)at, f->decimals);
}

json_t *sw_put_positive(const sw_field *f, const void *at, sw_putting *p)
{
    return *(const double *)at > 0 ? sw_put_figure(f, at, p) : json_null();
}

json_t *sw_put_whole(const sw_field *f, const void *at, sw_putting *p)
{
    (void)p;
    return json_integer(f->size == sizeof(int) ? *(const int *)at : (json_int_t) * (const size_t *)at);
}

json_t *sw_put_flag(const sw_field *f, const void *at, sw_putting *p)
{
    (void)p;
    return json_boolean(f->size == sizeof(bool) ? *(const bool *)at : *(const int *)at != 0);
}

json_t *sw_put_text(const sw_field *f, const void *at, sw_putting *p)
{
    (void)f, (void)p;
    return sw_json_text(at);
}

json_t *sw_put_text_or_null(const sw_field *f, const void *at, sw_putting *p)
{
    (void)f, (void)p;
    return sw_json_text_or_null(at);
}

json_t *sw_put_string(const sw_field *f, const void *at, sw_putting *p)
{
    const char *text;
    (void)f, (void)p;
    memcpy(&text, at, sizeof text);
    return text ? sw_json_text(text) : json_null();
}

json_t *sw_put_word(const sw_field *f, const void *at, sw_putting *p)
{
    const char *name = f->name(*(const int *)at);
    (void)p;
    return name ? sw_json_text(name) : json_null();
}

json_t *sw_put_named(const sw_field *f, const void *at, sw_putting *p)
{
    json_t *object = json_object();
    for (int i = 0; i < f->names; i++)
        sw_json_set(object, f->name(i), sw_put_object(f, (const char *)at + (size_t)i * f->size, p), &p->failed);
    return object;
}

/* The elements of a list, and how many. */
static const char *rows_of(const sw_field *f, const void *at, size_t *count)
{
    const char *rows = at;
    *count = *(const size_t *)(rows - f->at + f->beside);
    if (!f->inside)
        memcpy(&rows, at, sizeof rows);
    if (!rows)
        *count = 0;
    return rows;
}

json_t *sw_put_list(const sw_field *f, const void *at, sw_putting *p)
{
    size_t count;
    const char *rows = rows_of(f, at, &count);
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        sw_json_append(array, f->put_item(f, rows + i * f->size, p), &p->failed);
    return array;
}

/* Thousands of stations share the few values that their states' names are. */
static json_t *put_column(const sw_field *f, const char *at, size_t count, size_t size, sw_putting *p)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++, at += size) {
        bool again = i > 0 && f->put == sw_put_word && *(const int *)at == *(const int *)(at - size);
        json_t *value = again ? json_incref(json_array_get(array, i - 1)) : f->put(f, at, p);
        sw_json_append(array, value, &p->failed);
    }
    return array;
}

static void put_columns(const sw_field *f, const void *at, json_t *object, sw_putting *p)
{
    size_t count;
    const char *rows = rows_of(f, at, &count);
    for (const sw_field *c = f->of; c < f->of + f->lines; c++)
        if (c->key)
            sw_json_set(object, c->key, put_column(c, rows ? rows + c->at : NULL, count, f->size, p), &p->failed);
}

static void put_members(const sw_field *table, size_t lines, const void *from, json_t *object, sw_putting *p)
{
    for (size_t i = 0; i < lines; i++) {
        const sw_field *f = &table[i];
        const void *at = (const char *)from + f->at;
        if (f->when && !f->when(from))
            continue;
        if (f->key)
            sw_json_set(object, f->key, f->put(f, at, p), &p->failed);
        else if (f->take == sw_take_columns)
            put_columns(f, at, object, p);
        else
            put_members(f->of, f->lines, at, object, p);
    }
}

json_t *sw_put_object(const sw_field *f, const void *at, sw_putting *p)
{
    json_t *object = json_object();
    put_members(f->of, f->lines, at, object, p);
    return object;
}

json_t *sw_json_tree(const sw_json_kind *kind, const void *from, const void *context)
{
    sw_putting p = {.context = context};
    json_t *root = json_object();
    sw_json_set(root, "format", sw_json_text(kind->format), &p.failed);
    sw_json_set(root, "format_version", json_integer(SW_FORMAT_VERSION), &p.failed);
    put_members(kind->of, kind->lines, from, root, &p);
    if (!p.failed)
        return root;
    json_decref(root);
    return NULL;
}

sw_status sw_json_write(const sw_json_kind *kind, const void *from, const void *context, const char *path,
                        sw_error *err)
{
    json_t *root = sw_json_tree(kind, from, context);
    if (!root)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to write it; close other programs and try again",
                       path);
    sw_status status = sw_json_save(root, path, err);
    json_decref(root);
    return status;
}
