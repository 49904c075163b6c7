#include "inspection/notes.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

sw_status sw_warn(sw_inspection *ins, sw_error *err, const char *format, ...)
{
    char(*more)[320] = realloc(ins->warnings, (ins->warning_count + 1) * sizeof *more);
    if (!more)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory", ins->file);
    ins->warnings = more;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(more[ins->warning_count++], sizeof *more, format, arguments);
    va_end(arguments);
    return SW_OK;
}
