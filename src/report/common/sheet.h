/* sheet.h - a growing piece of text, which every text writer fills and one call puts on disk.
 *
 * Numbers always have a decimal point, whatever the program's locale says. A failure (no memory) is remembered and told
 * by sw_sheet_save and sw_sheet_take, so the writers between need not check every line.
 */
#ifndef SW_REPORT_COMMON_SHEET_H
#define SW_REPORT_COMMON_SHEET_H

#include <locale.h>
#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"
#include "json/utf8.h"

typedef struct sw_sheet {
    char *text; /* always ends with a zero once something was put; NULL before */
    size_t length, room;
    bool failed;
    locale_t plain; /* the "C" locale */
} sw_sheet;

/* Start with this; end with sw_sheet_free or sw_sheet_take. */
void sw_sheet_start(sw_sheet *sheet);
void sw_sheet_free(sw_sheet *sheet);

__attribute__((format(printf, 2, 3))) void sw_sheet_put(sw_sheet *sheet, const char *format, ...);
void sw_sheet_bytes(sw_sheet *sheet, const char *bytes, size_t count);
/* A number with so many decimals, never "-0.0"; `missing` instead of NaN or infinity. */
void sw_sheet_number(sw_sheet *sheet, double value, int decimals, const char *missing);
/* Text for HTML: & < > " ' escaped, control characters dropped, bytes that are no UTF-8 replaced by U+FFFD. */
void sw_sheet_html(sw_sheet *sheet, const char *text);
/* A field of a comma-separated table (RFC 4180): quoted when it must be. */
void sw_sheet_csv(sw_sheet *sheet, const char *text);
/* Bytes in base64 (RFC 4648). */
void sw_sheet_base64(sw_sheet *sheet, const unsigned char *bytes, size_t count);
/* Fills up with blanks until so many characters (not bytes) have been put since `from` (a former sheet->length). */
void sw_sheet_pad(sw_sheet *sheet, size_t from, size_t columns);

/* Writes the sheet to a file at path, and frees it. */
sw_status sw_sheet_save(sw_sheet *sheet, const char *path, sw_error *err);
/* The text itself, for free(); NULL when memory ran out. The sheet is empty afterwards. */
char *sw_sheet_take(sw_sheet *sheet);

#endif
