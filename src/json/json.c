#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "json/json.h"
#include "json/utf8.h"

/* Significant digits of a number: 12 integer and decimal digits hold any length below 100 m at 4 decimals and any angle
 * at 8, and drop the binary tail that 17 digits would show. */
enum { DIGITS = 12, DEEPEST = 16, INDENT_BLANKS = 1, LONGEST_TEXT = 1024 };

json_t *sw_json_number(double value, int decimals)
{
    if (!isfinite(value))
        return json_null();
    if (decimals == SW_EXACT)
        return json_real(value);
    double scale = 1;
    for (int i = 0; i < decimals; i++)
        scale *= 10;
    return json_real(round(value * scale) / scale + 0.0); /* + 0.0 turns -0 into 0 */
}

json_t *sw_json_text(const char *text)
{
    char clean[LONGEST_TEXT];
    sw_utf8_clean(text, clean, sizeof clean);
    return json_string(clean);
}

json_t *sw_json_text_or_null(const char *text)
{
    return text[0] ? sw_json_text(text) : json_null();
}

void sw_json_set(json_t *object, const char *key, json_t *value, bool *failed)
{
    *failed |= json_object_set_new(object, key, value) != 0; /* NULL object or value is a failure there too */
}

void sw_json_append(json_t *array, json_t *value, bool *failed)
{
    *failed |= json_array_append_new(array, value) != 0;
}

static bool is_plain(const json_t *value)
{
    if (json_is_object(value))
        return 0;
    for (size_t i = 0; i < json_array_size(value); i++)
        if (json_is_object(json_array_get(value, i)) || json_is_array(json_array_get(value, i)))
            return 0;
    return 1;
}

/* Objects that hold nothing but plain values and are small (a corner, a chip, an advice) take one line. */
static bool is_short(const json_t *value)
{
    const char *key;
    json_t *member;
    if (!json_is_object(value))
        return is_plain(value);
    json_object_foreach((json_t *)value, key, member) if (json_is_object(member) || json_is_array(member)) return 0;
    return 1;
}

static bool put_line(FILE *file, int depth)
{
    return fprintf(file, "\n%*s", depth * INDENT_BLANKS, "") < 0;
}

static bool put_value(FILE *file, const json_t *value, int depth);

static bool put_object(FILE *file, const json_t *object, int depth)
{
    const char *key, *before = "";
    json_t *member;
    bool wrong = fputs("{", file) < 0;
    json_object_foreach((json_t *)object, key, member)
    {
        wrong |= fputs(before, file) < 0 || put_line(file, depth + 1);
        wrong |= fprintf(file, "\"%s\": ", key) < 0; /* keys are ours: no escapes needed */
        wrong |= put_value(file, member, depth + 1);
        before = ",";
    }
    return wrong || put_line(file, depth) || fputs("}", file) < 0;
}

static bool put_array(FILE *file, const json_t *array, int depth)
{
    bool wrong = fputs("[", file) < 0;
    for (size_t i = 0; i < json_array_size(array); i++) {
        wrong |= fputs(i ? "," : "", file) < 0 || put_line(file, depth + 1);
        wrong |= put_value(file, json_array_get(array, i), depth + 1);
    }
    return wrong || put_line(file, depth) || fputs("]", file) < 0;
}

/* A number of at most FAST_DECIMALS decimals, which nearly all are, as an integer with a point set into it: the
 * shortest text that reads back as the same number, since the division below rounds just as reading the text does.
 * Returns its length, 0: not such a number. */
enum { FAST_DECIMALS = 4, FAST_ROOM = 32 };
static int fast_number(double value, char *out)
{
    const double scale = 1e4, most = 1e8;
    if (!(fabs(value) < most) || round(value * scale) / scale != value)
        return 0;
    long long whole = llround(fabs(value) * scale);
    char digits[FAST_ROOM], *at = digits;
    int places = 0, n = 0, cut = FAST_DECIMALS;
    for (; whole > 0 || places <= FAST_DECIMALS; whole /= 10, places++)
        *at++ = (char)('0' + whole % 10);
    if (value < 0)
        out[n++] = '-';
    while (cut > 1 && digits[FAST_DECIMALS - cut] == '0')
        cut--;
    for (int k = places - 1; k >= FAST_DECIMALS; k--)
        out[n++] = digits[k];
    out[n++] = '.';
    for (int k = FAST_DECIMALS - 1; k >= FAST_DECIMALS - cut; k--)
        out[n++] = digits[k];
    return n;
}

/* Texts of these need no escapes. */
#define LETTERS "abcdefghijklmnopqrstuvwxyz"

static bool put_plain(FILE *file, const json_t *value)
{
    char text[FAST_ROOM];
    int n = json_is_real(value) ? fast_number(json_real_value(value), text) : 0;
    if (n == 0 && json_is_string(value) && strspn(json_string_value(value), LETTERS) == json_string_length(value))
        return fputc('"', file) == EOF || fputs(json_string_value(value), file) < 0 || fputc('"', file) == EOF;
    if (n)
        return fwrite(text, 1, (size_t)n, file) != (size_t)n;
    return json_dumpf(value, file, JSON_ENCODE_ANY | JSON_REAL_PRECISION(DIGITS)) != 0;
}

static bool put_list(FILE *file, const json_t *array)
{
    bool wrong = fputs("[", file) < 0;
    for (size_t i = 0; i < json_array_size(array); i++)
        wrong |= fputs(i ? ", " : "", file) < 0 || put_plain(file, json_array_get(array, i));
    return wrong | (fputs("]", file) < 0);
}

static bool put_value(FILE *file, const json_t *value, int depth)
{
    if (depth <= DEEPEST && json_is_array(value) && is_plain(value))
        return put_list(file, value);
    if (depth > DEEPEST || is_short(value))
        return put_plain(file, value);
    return json_is_object(value) ? put_object(file, value, depth) : put_array(file, value, depth);
}

sw_status sw_json_save(const json_t *root, const char *path, sw_error *err)
{
    FILE *file = fopen(path, "wb");
    if (!file)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be made (%s); choose a place that can be written to", path,
                       strerror(errno));
    errno = 0;
    bool wrong = put_value(file, root, 0) || fputs("\n", file) < 0;
    wrong |= ferror(file) != 0;
    wrong |= fclose(file) != 0;
    if (wrong)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: writing failed (%s); is the disk full?", path,
                       errno ? strerror(errno) : "out of memory");
    return SW_OK;
}
