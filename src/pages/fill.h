/* fill.h - a template filled with the members of an object.
 *
 *   {{name}}  {{a.b}}          text or number, escaped for HTML; null: nothing
 *   {{.}}                      the element itself
 *   {{#name}}...{{/name}}      for a list, once an element; else once, unless it is absent, null, false, 0 or "";
 *                              within, names are looked up in the element or object first, then outside
 *   {{^name}}...{{/name}}      where the one above gives nothing
 *   {{{name}}}                 one of the raw texts
 */
#ifndef SW_PAGES_FILL_H
#define SW_PAGES_FILL_H

#include <jansson.h>

#include "report/common/sheet.h"

typedef struct sw_raw {
    const char *name, *text;
} sw_raw;

/* raw: up to one without a name. SW_BAD_INPUT: a name that is nowhere, or a template that is none. */
sw_status sw_fill(const char *template, const json_t *with, const sw_raw *raw, sw_sheet *to, sw_error *err);

#endif
