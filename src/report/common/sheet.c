#include "report/common/sheet.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_ROOM_BYTES = 4096 }; /* most sheets are larger; doubling from here costs few copies */

void sw_sheet_start(sw_sheet *sheet)
{
    memset(sheet, 0, sizeof *sheet);
    sheet->plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    sheet->failed = sheet->plain == (locale_t)0;
}

void sw_sheet_free(sw_sheet *sheet)
{
    if (!sheet)
        return;
    free(sheet->text);
    if (sheet->plain != (locale_t)0)
        freelocale(sheet->plain);
    memset(sheet, 0, sizeof *sheet);
}

char *sw_sheet_take(sw_sheet *sheet)
{
    char *text = sheet->failed ? NULL : sheet->text;
    if (text)
        sheet->text = NULL;
    sw_sheet_free(sheet);
    return text;
}

/* Makes room for `more` bytes and a zero behind them; false when memory is out. */
static bool grow(sw_sheet *sheet, size_t more)
{
    if (sheet->failed)
        return false;
    if (more < sheet->room - sheet->length)
        return true;
    size_t room = sheet->room ? sheet->room : FIRST_ROOM_BYTES;
    while (room - sheet->length <= more && room <= (size_t)-1 / 2)
        room *= 2;
    char *text = room - sheet->length > more ? realloc(sheet->text, room) : NULL;
    if (!text) {
        sheet->failed = true;
        return false;
    }
    sheet->text = text;
    sheet->room = room;
    return true;
}

void sw_sheet_bytes(sw_sheet *sheet, const char *bytes, size_t count)
{
    if (!grow(sheet, count))
        return;
    memcpy(sheet->text + sheet->length, bytes, count);
    sheet->length += count;
    sheet->text[sheet->length] = 0;
}

void sw_sheet_put(sw_sheet *sheet, const char *format, ...)
{
    if (sheet->failed)
        return;
    locale_t before = uselocale(sheet->plain);
    size_t left, wanted;
    do { /* once more where the room was too small */
        va_list arguments;
        left = sheet->room - sheet->length;
        va_start(arguments, format);
        int count = vsnprintf(left ? sheet->text + sheet->length : NULL, left, format, arguments);
        va_end(arguments);
        wanted = (size_t)count;
        sheet->failed |= count < 0;
    } while (grow(sheet, wanted) && wanted >= left);
    sheet->length += sheet->failed ? 0 : wanted;
    uselocale(before);
}

void sw_sheet_number(sw_sheet *sheet, double value, int decimals, const char *missing)
{
    if (!isfinite(value)) {
        sw_sheet_put(sheet, "%s", missing);
        return;
    }
    double unit = pow(10, -decimals);
    sw_sheet_put(sheet, "%.*f", decimals, fabs(value) < unit / 2 ? 0.0 : value);
}

/* What stands for a character in HTML; NULL for itself, "" for a control character, which is left out. */
static const char *html_of(unsigned char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return c < ' ' || c == 0x7F ? "" : NULL;
    }
}

void sw_sheet_html(sw_sheet *sheet, const char *text)
{
    /* The longest that cleaning makes of a byte is U+FFFD, three bytes. */
    size_t room = 3 * strlen(text) + 4;
    char *clean = malloc(room);
    sheet->failed |= !clean;
    if (sheet->failed) {
        free(clean);
        return;
    }
    sw_utf8_clean(text, clean, room);
    for (const char *from = clean, *c = clean;; c++) {
        const char *instead = *c ? html_of((unsigned char)*c) : "";
        if (!instead)
            continue;
        sw_sheet_bytes(sheet, from, (size_t)(c - from));
        sw_sheet_bytes(sheet, instead, strlen(instead));
        if (!*c)
            break;
        from = c + 1;
    }
    free(clean);
}

void sw_sheet_csv(sw_sheet *sheet, const char *text)
{
    char clean[1024];
    sw_utf8_clean(text, clean, sizeof clean);
    if (!strpbrk(clean, ",\"\r\n")) {
        sw_sheet_put(sheet, "%s", clean);
        return;
    }
    sw_sheet_put(sheet, "\"");
    for (const char *c = clean; *c; c++)
        sw_sheet_put(sheet, *c == '"' ? "\"\"" : "%c", *c);
    sw_sheet_put(sheet, "\"");
}

void sw_sheet_base64(sw_sheet *sheet, const unsigned char *bytes, size_t count)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    size_t encoded = (count / 3 + 1) * 4;
    if (count > (size_t)-1 / 2 || !grow(sheet, encoded))
        return;
    char *to = sheet->text + sheet->length;
    for (size_t i = 0; i < count; i += 3) {
        size_t left = count - i;
        unsigned group =
            (unsigned)bytes[i] << 16 | (left > 1 ? (unsigned)bytes[i + 1] << 8 : 0) | (left > 2 ? bytes[i + 2] : 0);
        *to++ = digits[group >> 18];
        *to++ = digits[group >> 12 & 63];
        *to++ = left > 1 ? digits[group >> 6 & 63] : '=';
        *to++ = left > 2 ? digits[group & 63] : '=';
    }
    *to = 0;
    sheet->length = (size_t)(to - sheet->text);
}

void sw_sheet_pad(sw_sheet *sheet, size_t from, size_t columns)
{
    if (sheet->failed)
        return;
    size_t characters = 0;
    for (size_t i = from; i < sheet->length; i++)
        characters += (sheet->text[i] & 0xC0) != 0x80; /* UTF-8 continuation bytes take no column */
    for (; characters < columns; characters++)
        sw_sheet_bytes(sheet, " ", 1);
}

static sw_status save(const sw_sheet *sheet, const char *path, sw_error *err)
{
    if (sheet->failed)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to write it; close other programs and try again",
                       path);
    FILE *file = fopen(path, "wb");
    if (!file)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be made (%s); choose a place that can be written to", path,
                       strerror(errno));
    int wrong = sheet->length && fwrite(sheet->text, 1, sheet->length, file) != sheet->length ? errno : 0;
    if (fclose(file) != 0 && !wrong)
        wrong = errno;
    if (wrong)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: writing failed (%s); is the disk full?", path, strerror(wrong));
    return SW_OK;
}

sw_status sw_sheet_save(sw_sheet *sheet, const char *path, sw_error *err)
{
    sw_status status = save(sheet, path, err);
    sw_sheet_free(sheet);
    return status;
}
