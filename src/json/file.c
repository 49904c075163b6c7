/* file.c - the whole of a JSON file that nobody vouches for. */
#include <stdlib.h>
#include <string.h>

#include "files/all_or_none.h"
#include "files/formats.h"
#include "files/read.h"
#include "json/fields.h"

static sw_status too_large(const char *path, const sw_json_kind *kind, sw_error *err)
{
    bool mega = kind->most_bytes >> 20 > 0;
    return sw_fail(err, SW_BAD_INPUT,
                   "%.255s: too large, larger than %zu %s, which no %s is; name the %s that 'seamwright %s' wrote",
                   path, kind->most_bytes >> (mega ? 20 : 10), mega ? "MB" : "kB", kind->what, kind->file,
                   kind->command);
}

static sw_status cannot(sw_read_result result, const char *path, const sw_json_kind *kind, sw_error *err)
{
    sw_status status = sw_read_status(result);
    if (result == SW_READ_TOO_LARGE)
        return too_large(path, kind, err);
    if (result == SW_READ_FAILED)
        return sw_fail(err, status, "%.255s: cannot be opened (%s); name the %s that 'seamwright %s' wrote", path,
                       sw_read_words(result), kind->file, kind->command);
    if (result == SW_READ_NO_MEMORY)
        return sw_fail(err, status, "%.255s: %s", path, sw_read_words(result));
    return sw_fail(err, status, "%.255s: %s; name the %s that 'seamwright %s' wrote", path, sw_read_words(result),
                   kind->file, kind->command);
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
    sw_files_recover_beside(path);
    char *bytes = NULL;
    sw_read_result result = sw_read_whole(path, kind->most_bytes, &bytes, &length);
    if (result != SW_READ_OK)
        return cannot(result, path, kind, err);
    sw_status status = parse(bytes, length, kind, &r, to);
    free(bytes);
    return status;
}
