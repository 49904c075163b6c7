#include <string.h>

#include "json/utf8.h"

/* Length in bytes of the well-formed UTF-8 character at text (RFC 3629: no overlong forms, no surrogates, nothing above
 * U+10FFFF), 0 when there is none. The terminating zero ends every sequence, so nothing is read past it. */
static size_t character_length(const unsigned char *text)
{
    unsigned char first = text[0];
    if (first < 0x80)
        return 1;
    size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                    : first >= 0xE0 && first <= 0xEF ? 3
                    : first >= 0xF0 && first <= 0xF4 ? 4
                                                     : 0;
    for (size_t i = 1; i < length; i++)
        if ((text[i] & 0xC0) != 0x80)
            return 0;
    if ((first == 0xE0 && text[1] < 0xA0) || (first == 0xED && text[1] > 0x9F) || (first == 0xF0 && text[1] < 0x90) ||
        (first == 0xF4 && text[1] > 0x8F))
        return 0;
    return length;
}

void sw_utf8_clean(const char *text, char *out, size_t room)
{
    static const char replacement[] = "\xEF\xBF\xBD";
    size_t used = 0;
    while (*text) {
        size_t taken = character_length((const unsigned char *)text);
        size_t written = taken ? taken : sizeof replacement - 1;
        if (used + written >= room)
            break;
        memcpy(out + used, taken ? text : replacement, written);
        used += written;
        text += taken ? taken : 1;
    }
    out[used] = 0;
}
