#include "json/read.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_ROOM = 256 };

void sw_read_wrong(sw_reading *r, const char *format, ...)
{
    char what[TEXT_ROOM];
    va_list list;
    if (r->status)
        return;
    va_start(list, format);
    vsnprintf(what, sizeof what, format, list);
    va_end(list);
    r->status = sw_fail(r->err, SW_BAD_INPUT, "%.200s: %s%s%.160s; make it again with 'seamwright %s'", r->path,
                        r->place, r->place[0] ? ": " : "", what, r->command);
}

void sw_read_no_memory(sw_reading *r)
{
    if (!r->status)
        r->status =
            sw_fail(r->err, SW_NO_MEMORY, "%.255s: not enough memory to read it; close other programs", r->path);
}

size_t sw_read_within(sw_reading *r, const char *format, ...)
{
    va_list list;
    size_t was = strlen(r->place), from = was;
    if (was && was + 2 < sizeof r->place)
        from = (size_t)(stpcpy(r->place + was, ", ") - r->place);
    va_start(list, format);
    vsnprintf(r->place + from, sizeof r->place - from, format, list);
    va_end(list);
    return was;
}

void *sw_read_room(sw_reading *r, size_t count, size_t size)
{
    void *room = r->status ? NULL : calloc(count + 1, size);
    if (!room)
        sw_read_no_memory(r);
    return room;
}
