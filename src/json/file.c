/* file.c - the whole of a JSON file that nobody vouches for. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "files/formats.h"
#include "json/fields.h"

enum { FIRST_BYTES = 1 << 20 };

static sw_status too_large(const char *path, const sw_json_kind *kind, sw_error *err)
{
    bool mega = kind->most_bytes >> 20 > 0;
    return sw_fail(err, SW_BAD_INPUT,
                   "%.255s: too large, larger than %zu %s, which no %s is; name the %s that 'seamwright %s' wrote",
                   path, kind->most_bytes >> (mega ? 20 : 10), mega ? "MB" : "kB", kind->what, kind->file,
                   kind->command);
}

/* Everything up to the limit, and one byte more to see that there is more. */
static sw_status read_bytes(FILE *file, const char *path, const sw_json_kind *kind, char **text, size_t *length,
                            sw_error *err)
{
    size_t room = FIRST_BYTES < kind->most_bytes ? FIRST_BYTES : kind->most_bytes + 1;
    *text = malloc(room);
    *length = 0;
    while (*text) {
        *length += fread(*text + *length, 1, room - *length, file);
        if (ferror(file))
            return sw_fail(err, SW_CANNOT_READ, "%.255s: cannot be read (%s)", path, strerror(errno));
        if (*length > kind->most_bytes)
            return too_large(path, kind, err);
        if (*length < room)
            return SW_OK;
        room = room * 2 > kind->most_bytes ? kind->most_bytes + 1 : room * 2;
        char *more = realloc(*text, room);
        if (!more)
            break;
        *text = more;
    }
    return sw_fail(err, SW_NO_MEMORY, "%.255s: not enough memory to read it; close other programs", path);
}

static void check_format(sw_reading *r, const sw_json_kind *kind, const json_t *root)
{
    const char *format = json_string_value(json_object_get(root, "format"));
    const json_t *version = json_object_get(root, "format_version");
    long long number = json_integer_value(version);
    if (!format || strcmp(format, kind->format) != 0)
        r->status = sw_fail(r->err, SW_BAD_INPUT,
                            "%.255s: %s (its format is not \"%s\"); name the %s that 'seamwright %s' wrote", r->path,
                            kind->no, kind->format, kind->file, kind->command);
    else if (!json_is_integer(version))
        sw_read_wrong(r, "it does not say its format version (\"format_version\")");
    else if (number > SW_FORMAT_VERSION)
        r->status = sw_fail(
            r->err, SW_BAD_INPUT,
            "%.255s: has format version %lld, and this program reads version %d; use the newer program that wrote it",
            r->path, number, SW_FORMAT_VERSION);
    else if (number != SW_FORMAT_VERSION)
        sw_read_wrong(r, "has format version %lld, and this program reads version %d", number, SW_FORMAT_VERSION);
}

static sw_status parse(const char *text, size_t length, const sw_json_kind *kind, sw_reading *r, void *to)
{
    const sw_field whole = {.of = kind->of, .lines = kind->lines, .where = ""};
    json_error_t where;
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &where);
    if (!root)
        return sw_fail(r->err, SW_BAD_INPUT,
                       "%.200s: not well-formed JSON, so no %s (line %d: %.120s); name the %s that 'seamwright %s' "
                       "wrote, or make it again",
                       r->path, kind->what, where.line, where.text, kind->file, kind->command);
    check_format(r, kind, root);
    if (!r->status)
        sw_take_object(r, &whole, root, to);
    json_decref(root);
    return r->status;
}

sw_status sw_json_take(const sw_json_kind *kind, const char *path, const char *text, size_t length, const void *context,
                       void *to, sw_error *err)
{
    sw_reading r = {.path = path, .command = kind->command, .context = context, .err = err};
    if (text)
        return parse(text, length, kind, &r, to);
    FILE *file = fopen(path, "rb");
    if (!file)
        return sw_fail(err, SW_CANNOT_READ, "%.255s: cannot be opened (%s); name the %s that 'seamwright %s' wrote",
                       path, strerror(errno), kind->file, kind->command);
    char *bytes = NULL;
    sw_status status = read_bytes(file, path, kind, &bytes, &length, err);
    fclose(file);
    if (!status)
        status = parse(bytes, length, kind, &r, to);
    free(bytes);
    return status;
}
