/* json.h - values for JSON files, and how they are laid out there. */
#ifndef SW_JSON_JSON_H
#define SW_JSON_JSON_H

#include <jansson.h>
#include <stdbool.h>

#include "seamwright/status.h"

enum { SW_EXACT = -1 }; /* decimals: all there are */

/* Each returns a new value, or NULL when memory is out; the setters take the value over and remember what failed. */
json_t *sw_json_number(double value, int decimals); /* rounded; null for NaN and infinity */
json_t *sw_json_text(const char *text);             /* bytes that are no UTF-8 become U+FFFD */
json_t *sw_json_text_or_null(const char *text);     /* "" becomes null */
void sw_json_set(json_t *object, const char *key, json_t *value, bool *failed);
void sw_json_append(json_t *array, json_t *value, bool *failed);

/* Writes the tree to a file: objects and arrays of objects a member a line, arrays of plain values in one line. */
sw_status sw_json_save(const json_t *root, const char *path, sw_error *err);

#endif
