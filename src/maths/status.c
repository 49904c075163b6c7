#include "seamwright/status.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>

sw_status sw_fail(sw_error *err, sw_status status, const char *format, ...)
{
    if (err) {
        va_list arguments;
        va_start(arguments, format);
        vsnprintf(err->text, sizeof err->text, format, arguments);
        va_end(arguments);
        for (char *c = err->text; *c; c++) /* names and texts of files come into sentences */
            if (iscntrl((unsigned char)*c))
                *c = '?';
    }
    return status;
}
