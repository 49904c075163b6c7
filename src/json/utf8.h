/* utf8.h - text of unknown origin made fit for files that hold UTF-8. */
#ifndef SW_JSON_UTF8_H
#define SW_JSON_UTF8_H

#include <stddef.h>

/* Copies text into out (of `room` bytes, at least 4), with bytes that are no UTF-8 replaced by U+FFFD. */
void sw_utf8_clean(const char *text, char *out, size_t room);

#endif
