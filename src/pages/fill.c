#include "pages/fill.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum { LONGEST_NAME = 64, DEEPEST = 8 };

/* Where names are looked up: the innermost first. */
typedef struct scope {
    const json_t *in;
    const struct scope *outer;
    int depth;
} scope;

typedef struct filling {
    const sw_raw *raw;
    sw_sheet *to;
    sw_error *err;
} filling;

typedef struct tag {
    char kind; /* 0: a name; '{' raw; '#', '^', '/' */
    char name[LONGEST_NAME];
    const char *begin, *end; /* of the whole tag */
} tag;

static sw_status wrong(const filling *f, const char *what, const char *name)
{
    return sw_fail(f->err, SW_BAD_INPUT, "the page's template: %s \"%s\"; this program was built wrongly", what, name);
}

/* The next tag at or behind text; begin is NULL where there is none. */
static sw_status next_tag(const filling *f, const char *text, tag *out)
{
    *out = (tag){.begin = strstr(text, "{{")};
    if (!out->begin)
        return SW_OK;
    const char *at = out->begin + 2;
    if (*at == '{' || *at == '#' || *at == '^' || *at == '/')
        out->kind = *at++;
    size_t length = strcspn(at, "}{\n");
    const char *close = out->kind == '{' ? "}}}" : "}}";
    if (length == 0 || length >= LONGEST_NAME || strncmp(at + length, close, strlen(close)) != 0)
        return wrong(f, "no end of the tag", out->begin + strlen(out->begin) > out->begin + 20 ? "{{..." : out->begin);
    snprintf(out->name, sizeof out->name, "%.*s", (int)length, at);
    out->end = at + length + strlen(close);
    return SW_OK;
}

/* "a.b" in one object; NULL: absent. */
static const json_t *member(const json_t *in, const char *name)
{
    char part[LONGEST_NAME];
    while (in && *name) {
        size_t length = strcspn(name, ".");
        snprintf(part, sizeof part, "%.*s", (int)length, name);
        in = json_object_get(in, part);
        name += length + (name[length] == '.');
    }
    return in;
}

static const json_t *look_up(const scope *from, const char *name)
{
    if (strcmp(name, ".") == 0)
        return from->in;
    for (const json_t *found; from; from = from->outer)
        if ((found = member(from->in, name)))
            return found;
    return NULL;
}

static bool is_something(const json_t *value)
{
    switch (value ? json_typeof(value) : JSON_NULL) {
    case JSON_OBJECT:
    case JSON_TRUE:
        return true;
    case JSON_ARRAY:
        return json_array_size(value) > 0;
    case JSON_STRING:
        return json_string_length(value) > 0;
    case JSON_INTEGER:
    case JSON_REAL:
        return json_number_value(value) != 0;
    default:
        return false;
    }
}

static sw_status put_value(const filling *f, const json_t *value, const char *name)
{
    if (json_is_string(value))
        sw_sheet_html(f->to, json_string_value(value));
    else if (json_is_integer(value))
        sw_sheet_put(f->to, "%lld", (long long)json_integer_value(value));
    else if (json_is_real(value))
        sw_sheet_put(f->to, "%g", json_real_value(value));
    else if (!json_is_null(value))
        return wrong(f, value ? "neither text nor number:" : "no such name:", name);
    return SW_OK;
}

static sw_status put_raw(const filling *f, const char *name)
{
    for (const sw_raw *raw = f->raw; raw->name; raw++)
        if (strcmp(raw->name, name) == 0) {
            sw_sheet_bytes(f->to, raw->text, strlen(raw->text));
            return SW_OK;
        }
    return wrong(f, "no such raw text:", name);
}

/* The tag that closes a section, whose body begins at text. */
static sw_status find_end(const filling *f, const char *text, const char *name, tag *end)
{
    for (int open = 1; open;) {
        sw_status status = next_tag(f, text, end);
        if (status)
            return status;
        if (!end->begin)
            return wrong(f, "no end of the section", name);
        if (strcmp(end->name, name) == 0)
            open += end->kind == '/' ? -1 : end->kind == '#' || end->kind == '^';
        text = end->end;
    }
    return SW_OK;
}

static sw_status fill(const filling *f, const char *text, const char *end, const scope *from);

static sw_status fill_section(const filling *f, const tag *open, const tag *close, const scope *from)
{
    const json_t *value = look_up(from, open->name);
    scope inner = {value, from, from->depth + 1};
    sw_status status = SW_OK;
    if (inner.depth > DEEPEST)
        return wrong(f, "sections within each other, too deep:", open->name);
    if (is_something(value) != (open->kind == '#'))
        return SW_OK;
    if (!json_is_array(value) || open->kind == '^')
        return fill(f, open->end, close->begin, json_is_object(value) ? &inner : from);
    for (size_t i = 0; !status && i < json_array_size(value); i++) {
        inner.in = json_array_get(value, i);
        status = fill(f, open->end, close->begin, &inner);
    }
    return status;
}

static sw_status fill(const filling *f, const char *text, const char *end, const scope *from)
{
    tag at, close;
    for (sw_status status; (status = next_tag(f, text, &at)) == SW_OK; text = at.end) {
        const char *plain_end = at.begin && at.begin < end ? at.begin : end;
        sw_sheet_bytes(f->to, text, (size_t)(plain_end - text));
        if (plain_end == end)
            return SW_OK;
        if (at.kind == '/')
            return wrong(f, "the end of no section:", at.name);
        if (at.kind == '{')
            status = put_raw(f, at.name);
        else if (!at.kind)
            status = put_value(f, look_up(from, at.name), at.name);
        else if (!(status = find_end(f, at.end, at.name, &close))) {
            status = fill_section(f, &at, &close, from);
            at.end = close.end;
        }
        if (status)
            return status;
    }
    return SW_BAD_INPUT;
}

sw_status sw_fill(const char *template, const json_t *with, const sw_raw *raw, sw_sheet *to, sw_error *err)
{
    const filling f = {raw, to, err};
    const scope whole = {with, NULL, 0};
    return fill(&f, template, template + strlen(template), &whole);
}
